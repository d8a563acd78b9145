/* SPDX-License-Identifier: MIT */
/* Colours on standard input, one a line, to notation, chip, name, Lab and xyY on standard output. Output keeps up with input, so that
 * another program can wait for an answer. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/error.h"
#include "cli/commands.h"
#include "cli/convert_line.h"
#include "cli/terminal.h"

/* Standard input in pieces. Bytes begin..end of the buffer are read but not yet used. */
struct input {
  char buffer[16 * CONVERT_LINE_MOST];
  size_t begin, end;
  size_t dropped; /* bytes of the current line that were thrown away because it is too long */
  bool precise;
  bool all_done; /* no line failed so far */
};

static void convert_one(struct input *input, const char *line, size_t length)
{
  char text[CONVERT_TEXT_SIZE];

  if (length > 0 && line[length - 1] == '\r') {
    length--;
  }
  input->all_done &= convert_line(line, length + input->dropped, input->precise, text);
  input->dropped = 0;
  fputs(text, stdout);
  putc('\n', stdout);
}

/* Converts the lines that are complete, then makes room behind what is left. */
static void convert_lines(struct input *input)
{
  char *newline;

  while ((newline = memchr(input->buffer + input->begin, '\n', input->end - input->begin))) {
    char *line = input->buffer + input->begin;
    convert_one(input, line, (size_t)(newline - line));
    input->begin = (size_t)(newline + 1 - input->buffer);
  }
  size_t left = input->end - input->begin;
  if (left > CONVERT_LINE_MOST + 1) { /* with a carriage return */
    input->dropped += left;
    left = 0;
  }
  memmove(input->buffer, input->buffer + input->end - left, left);
  input->begin = 0;
  input->end = left;
}

/* A last line without a line end. */
static void convert_last(struct input *input)
{
  if (input->end > 0 || input->dropped > 0) {
    convert_one(input, input->buffer, input->end);
  }
}

static bool check_output(struct error *error)
{
  if (fflush(stdout) != 0 || ferror(stdout)) {
    return error_set(error, ERROR_FILE, "unwritable",
                     "standard output can't be written: %s; is the disk full?", strerror(errno));
  }
  return true;
}

static bool convert_input(struct input *input, struct error *error)
{
  while (check_output(error)) { /* nothing is held back while waiting for more */
    ssize_t got = read(STDIN_FILENO, input->buffer + input->end, sizeof input->buffer - input->end);
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      return error_set(error, ERROR_FILE, "unreadable",
                       "standard input can't be read: %s; give it a file or a pipe", strerror(errno));
    }
    if (got == 0) {
      convert_last(input);
      return check_output(error);
    }
    input->end += (size_t)got;
    convert_lines(input);
  }
  return false;
}

enum { OPTION_PRECISE };

static const struct option_entry OPTION[] = {[OPTION_PRECISE] = {"precise", NULL, "print six more decimals"},
                                             {0}};

static int convert_words(const struct words *words);

const struct command CONVERT_COMMAND = {
    "convert",
    "",
    "converts colours on standard input, one a line, to notation, nearest soil chip, name, L*a*b* and xyY",
    "A line is one of: xyY x y Y (under illuminant C), lab L a b (under D50), srgb #rrggbb, or a Munsell "
    "notation such as "
    "10YR 4/3, N 5/ or 7.9YR 4.25/3.4. Out come, parted by tabs, the notation, the nearest soil chip, its "
    "name, L a b and "
    "x y Y. A line that can't be converted gives ?, a tab and the reason, and the exit status is 1 at the "
    "end.",
    OPTION,
    convert_words};

static int convert_words(const struct words *words)
{
  struct input input = {.all_done = true, .precise = words->value[OPTION_PRECISE] != NULL};
  struct error error;

  if (words->operands > 0) {
    error_set(&error, ERROR_USAGE, "operand",
              "convert takes no names, and %.200s is given; put colours on standard input",
              words->operand[0]);
    return terminal_failure(NULL, &error);
  }
  if (!convert_input(&input, &error)) {
    return terminal_failure(NULL, &error);
  }
  return input.all_done ? 0 : error_exit_status(ERROR_UNMEASURABLE);
}
