/* SPDX-License-Identifier: MIT */
#include "cli/convert.h"

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/error.h"
#include "base/text.h"
#include "cli/commands.h"
#include "cli/terminal.h"
#include "colour/adapt.h"
#include "colour/srgb.h"
#include "munsell/chip.h"
#include "munsell/notation.h"

/* A colour on its way from one form to the others. */
struct converted {
  struct munsell notation;
  struct xyY xyY_c;
};

struct word {
  const char *at;
  size_t length;
};

enum { WORDS_MOST = 5 };

static bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

/* Splits a line at its blanks; counts up to WORDS_MOST words, in which lines that are too long all fall. */
static size_t split(const char *line, size_t length, struct word words[WORDS_MOST])
{
  size_t count = 0, i = 0;

  while (count < WORDS_MOST) {
    while (i < length && is_blank(line[i])) {
      i++;
    }
    if (i == length) {
      break;
    }
    words[count].at = line + i;
    while (i < length && !is_blank(line[i])) {
      i++;
    }
    words[count].length = (size_t)(line + i - words[count].at);
    count++;
  }
  return count;
}

static bool word_is(struct word word, const char *text)
{
  return word.length == strlen(text) && memcmp(word.at, text, word.length) == 0;
}

static bool refuse(struct error *error, const char *reason)
{
  return error_set(error, ERROR_UNMEASURABLE, "colour", "%s", reason);
}

static bool read_numbers(const struct word *words, size_t count, const char *usage, double numbers[3],
                         struct error *error)
{
  if (count != 4) {
    return refuse(error, usage);
  }
  for (int i = 0; i < 3; i++) {
    if (!text_number_bytes(words[i + 1].at, words[i + 1].length, &numbers[i])) {
      return error_set(error, ERROR_UNMEASURABLE, "colour", "number %d is no plain decimal number; %s", i + 1,
                       usage);
    }
  }
  return true;
}

/* Refuses notations that lie beyond the rows of the renotation. */
static bool within_rows(struct munsell m, struct error *error)
{
  if (munsell_place_in_rows(m) == MUNSELL_OUTSIDE) {
    return error_set(error, ERROR_UNMEASURABLE, "colour",
                     "chroma %.1f at value %.2f is beyond the Munsell renotation; give a less vivid colour",
                     m.chroma, m.value);
  }
  return true;
}

static bool from_xyY(struct xyY c, struct converted *colour, struct error *error)
{
  colour->xyY_c = c;
  if (!munsell_from_xyY(c, &colour->notation, NULL)) {
    return refuse(error, "no surface has this colour: y must be above 0 and Y from 0 to 100 under C");
  }
  return within_rows(colour->notation, error);
}

static bool from_xyz_d50(struct xyz c, struct converted *colour, struct error *error)
{
  return from_xyY(colour_xyY_from_xyz(colour_object_c_from_d50(c), COLOUR_WHITE_C), colour, error);
}

static bool read_xyY(const struct word *words, size_t count, struct converted *colour, struct error *error)
{
  double n[3];

  return read_numbers(words, count, "write xyY x y Y, as in xyY 0.3838 0.3582 11.7", n, error) &&
         from_xyY((struct xyY){n[0], n[1], n[2]}, colour, error);
}

static bool read_lab(const struct word *words, size_t count, struct converted *colour, struct error *error)
{
  double n[3];

  if (!read_numbers(words, count, "write lab L a b, as in lab 41.2 8.5 16.1", n, error)) {
    return false;
  }
  if (n[0] < 0 || n[0] > 100) {
    return refuse(error, "L must be from 0 to 100");
  }
  return from_xyz_d50(colour_xyz_from_lab((struct lab){n[0], n[1], n[2]}, COLOUR_WHITE_D50), colour, error);
}

static int hex_digit(char c)
{
  if (c >= '0' && c <= '9') {
    return c - '0';
  }
  c = (char)tolower((unsigned char)c);
  return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

static bool read_srgb(const struct word *words, size_t count, struct converted *colour, struct error *error)
{
  uint8_t code[3];

  if (count != 2 || words[1].length != 7 || words[1].at[0] != '#') {
    return refuse(error, "write srgb #rrggbb, as in srgb #7a5c43");
  }
  for (int i = 0; i < 3; i++) {
    int high = hex_digit(words[1].at[1 + 2 * i]), low = hex_digit(words[1].at[2 + 2 * i]);
    if (high < 0 || low < 0) {
      return refuse(error, "the six digits behind # must be 0 to 9 or a to f, as in srgb #7a5c43");
    }
    code[i] = (uint8_t)(16 * high + low);
  }
  return from_xyz_d50(colour_xyz_d50_from_srgb((struct srgb){code[0], code[1], code[2], true}), colour,
                      error);
}

static bool read_notation(const char *line, size_t length, struct converted *colour, struct error *error)
{
  char text[CONVERT_LINE_MOST + 1];

  if (memchr(line, '\0', length)) {
    return refuse(error, "the line holds a NUL byte; give plain text");
  }
  memcpy(text, line, length);
  text[length] = '\0';
  if (!munsell_parse(text, &colour->notation, error) || !within_rows(colour->notation, error)) {
    return false;
  }
  colour->xyY_c = munsell_to_xyY(colour->notation);
  return true;
}

static bool read_colour(const char *line, size_t length, struct converted *colour, struct error *error)
{
  struct word words[WORDS_MOST];
  size_t count = split(line, length, words);

  if (count == 0) {
    return refuse(error, "the line is empty; write xyY x y Y, lab L a b, srgb #rrggbb or a notation");
  }
  if (word_is(words[0], "xyY")) {
    return read_xyY(words, count, colour, error);
  }
  if (word_is(words[0], "lab")) {
    return read_lab(words, count, colour, error);
  }
  if (word_is(words[0], "srgb")) {
    return read_srgb(words, count, colour, error);
  }
  return read_notation(line, length, colour, error);
}

static char *put_text(char *at, const char *text)
{
  size_t length = strlen(text);

  memcpy(at, text, length + 1);
  return at + length;
}

/* A tab and three numbers. */
static char *put_three(char *at, const double numbers[3], const int decimals[3])
{
  for (int i = 0; i < 3; i++) {
    *at++ = i == 0 ? '\t' : ' ';
    at += text_fixed(at, numbers[i], decimals[i]);
  }
  return at;
}

static void write_colour(const struct converted *colour, int more, char *text)
{
  struct xyz c = colour_xyz_from_xyY(colour->xyY_c);
  struct lab lab = colour_lab_from_xyz(colour_object_d50_from_c(c), COLOUR_WHITE_D50);
  const struct munsell_chip *chip = munsell_nearest_soil_chip(colour_lab_from_xyz(c, COLOUR_WHITE_C), NULL);

  munsell_format(colour->notation, 2 + more, text);
  text = put_text(text + strlen(text), "\t");
  text = put_text(text, chip->notation);
  text = put_text(text, "\t");
  text = put_text(text, chip->name);
  text = put_three(text, (double[]){lab.L, lab.a, lab.b}, (int[]){3 + more, 3 + more, 3 + more});
  put_three(text, (double[]){colour->xyY_c.x, colour->xyY_c.y, colour->xyY_c.Y},
            (int[]){4 + more, 4 + more, 3 + more});
}

bool convert_line(const char *line, size_t length, bool precise, char text[CONVERT_TEXT_SIZE])
{
  struct converted colour;
  struct error error;
  bool done = length <= CONVERT_LINE_MOST
                  ? read_colour(line, length, &colour, &error)
                  : refuse(&error, "the line is longer than 4096 bytes; give one colour a line");

  if (done) {
    write_colour(&colour, precise ? 6 : 0, text);
  } else {
    put_text(put_text(text, "?\t"), error.text);
  }
  return done;
}

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

static bool convert_input(struct input *input, struct error *error)
{
  for (;;) {
    fflush(stdout); /* before waiting for more */
    ssize_t got = read(STDIN_FILENO, input->buffer + input->end, sizeof input->buffer - input->end);
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      return error_set(error, ERROR_FILE, "unreadable",
                       "standard input can't be read: %s; give it a file or a pipe", strerror(errno));
    }
    if (got == 0) {
      break;
    }
    input->end += (size_t)got;
    convert_lines(input);
  }
  if (input->end > 0 || input->dropped > 0) { /* a last line without a line end */
    convert_one(input, input->buffer, input->end);
  }
  return true;
}

static bool check_output(struct error *error)
{
  if (fflush(stdout) != 0 || ferror(stdout)) {
    return error_set(error, ERROR_FILE, "unwritable",
                     "standard output can't be written: %s; is the disk full?", strerror(errno));
  }
  return true;
}

enum { OPTION_PRECISE };

static const struct option_entry OPTION[] = {[OPTION_PRECISE] = {"precise", NULL, "print six more decimals"},
                                             {0}};

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
    convert_run};

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
  if (!convert_input(&input, &error) || !check_output(&error)) {
    return terminal_failure(NULL, &error);
  }
  return input.all_done ? 0 : error_exit_status(ERROR_UNMEASURABLE);
}

int convert_run(int argc, char **argv)
{
  struct words words;
  struct error error;

  if (!options_parse(&CONVERT_COMMAND, argc, argv, &words, &error)) {
    return terminal_failure(NULL, &error);
  }
  int status = words.help ? commands_help(&CONVERT_COMMAND) : convert_words(&words);
  words_clear(&words);
  return status;
}
