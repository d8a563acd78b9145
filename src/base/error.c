/* SPDX-License-Identifier: MIT */
#include "base/error.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void keep_one_line(char *text)
{
  for (unsigned char *c = (unsigned char *)text; *c; c++) {
    if (*c < 0x20 || *c == 0x7f) {
      *c = '?';
    }
  }
}

bool error_set(struct error *error, enum error_kind kind, const char *code, const char *format, ...)
{
  va_list arguments;

  error->kind = kind;
  snprintf(error->code, sizeof error->code, "%s", code);
  va_start(arguments, format);
  vsnprintf(error->text, sizeof error->text, format, arguments);
  va_end(arguments);
  keep_one_line(error->text);
  return false;
}

bool error_no_memory(struct error *error, const char *what)
{
  return error_set(error, ERROR_INTERNAL, "no-memory",
                   "no memory left for %s; close other programs or use a smaller photo", what);
}

bool error_prefix(struct error *error, const char *name)
{
  char text[sizeof error->text];

  memcpy(text, error->text, sizeof text);
  int name_length = snprintf(error->text, sizeof error->text, "%s: ", name);
  if (name_length > 0 && (size_t)name_length < sizeof error->text) {
    snprintf(error->text + name_length, sizeof error->text - (size_t)name_length, "%s", text);
  }
  keep_one_line(error->text);
  return false;
}

int error_exit_status(enum error_kind kind)
{
  switch (kind) {
  case ERROR_NONE:
    return 0;
  case ERROR_UNMEASURABLE:
    return 1;
  case ERROR_USAGE:
    return 2;
  case ERROR_FILE:
    return 3;
  case ERROR_INTERNAL:
    break;
  }
  return 4;
}
