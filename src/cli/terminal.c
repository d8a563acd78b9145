/* SPDX-License-Identifier: MIT */
#include "cli/terminal.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "report/plain.h"

bool terminal_put(struct text *text, struct error *error)
{
  bool complete = !text->failed;

  if (text->length > 0) {
    fwrite(text->data, 1, text->length, stdout);
  }
  text_clear(text);
  if (!complete) {
    return error_no_memory(error, "the report");
  }
  if (fflush(stdout) != 0 || ferror(stdout)) {
    return error_set(error, ERROR_FILE, "unwritable",
                     "standard output can't be written: %s; make room or choose another place",
                     strerror(errno));
  }
  return true;
}

/* A photo may be called "no", and "no colour card" begin alike. */
static bool begins_with_name(const char *text, const char *name)
{
  size_t length = strlen(name);

  return strncmp(text, name, length) == 0 && (text[length] == ':' || text[length] == ' ');
}

int terminal_failure(const char *name, const struct error *error)
{
  struct text line = {0};

  text_add(&line, "tawny: ");
  if (name && !begins_with_name(error->text, name)) {
    plain_add(&line, name);
    text_add(&line, ": ");
  }
  plain_add(&line, error->text);
  fprintf(stderr, "%s\n", line.data ? line.data : "tawny: no memory left; close other programs");
  text_clear(&line);
  return error_exit_status(error->kind);
}

int terminal_graver(int a, int b)
{
  return a > b ? a : b;
}

bool terminal_shows_colour(void)
{
  const char *depth = getenv("COLORTERM"), *refused = getenv("NO_COLOR");

  return isatty(STDOUT_FILENO) && depth && (strcmp(depth, "truecolor") == 0 || strcmp(depth, "24bit") == 0) &&
         !(refused && refused[0]);
}

void terminal_progress(size_t done, size_t count, const char *name)
{
  struct text line = {0};

  if (count < 2 || !isatty(STDERR_FILENO)) {
    return;
  }
  text_format(&line, "\r\x1b[K%zu of %zu: ", done + 1, count);
  plain_add(&line, name);
  fputs(line.data ? line.data : "", stderr);
  text_clear(&line);
}

void terminal_progress_end(size_t count)
{
  if (count > 1 && isatty(STDERR_FILENO)) {
    fputs("\r\x1b[K", stderr);
  }
}
