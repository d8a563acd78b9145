/* SPDX-License-Identifier: MIT */
#include "cli/convert_line.h"

#include <ctype.h>
#include <string.h>

#include "base/error.h"
#include "base/text.h"
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
  double n[3] = {0};

  return read_numbers(words, count, "write xyY x y Y, as in xyY 0.3838 0.3582 11.7", n, error) &&
         from_xyY((struct xyY){n[0], n[1], n[2]}, colour, error);
}

static bool read_lab(const struct word *words, size_t count, struct converted *colour, struct error *error)
{
  double n[3] = {0};

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
  struct converted colour = {0};
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
