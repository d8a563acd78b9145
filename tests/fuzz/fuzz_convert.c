/* SPDX-License-Identifier: MIT */
/* Lines of colours, and notations by themselves. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/convert_line.h"
#include "fuzz.h"
#include "munsell/notation.h"

/* One line comes out of one line in: 5 fields, or `?` and the reason. */
static void check_line(const char *line, size_t length, bool precise)
{
  char text[CONVERT_TEXT_SIZE];
  bool done = convert_line(line, length, precise, text);
  size_t tabs = 0;

  for (const char *c = text; *c; c++) {
    tabs += *c == '\t';
    if ((*c < ' ' && *c != '\t') || *c == 0x7f) {
      abort();
    }
  }
  if (tabs != (done ? 4 : 1) || (text[0] == '?') == done ||
      (done && (strstr(text, "nan") || strstr(text, "inf")))) {
    abort();
  }
}

static void check_notation(const char *text)
{
  struct munsell m = {0, 0, 0};
  struct error error = {ERROR_NONE, "", ""};

  if (!munsell_parse(text, &m, &error)) {
    if (error.kind != ERROR_USAGE || !*error.text) {
      abort();
    }
  } else if (!(m.hue >= 0 && m.hue <= 100 && m.value >= 0 && m.value <= 10 && m.chroma >= 0 &&
               m.chroma <= 50)) {
    abort();
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  const char *bytes = (const char *)data, *end;
  size_t left = size;
  char text[256];

  for (; (end = memchr(bytes, '\n', left)); left -= (size_t)(end + 1 - bytes), bytes = end + 1) {
    check_line(bytes, (size_t)(end - bytes), left % 2);
  }
  check_line(bytes, left, left % 2);
  size_t length = size < sizeof text ? size : sizeof text - 1;
  if (size > 0) {
    memcpy(text, data, length);
  }
  text[length] = '\0';
  check_notation(text);
  return 0;
}
