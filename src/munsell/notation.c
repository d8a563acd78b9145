/* SPDX-License-Identifier: MIT */
#include "munsell/notation.h"

#include <math.h>
#include <string.h>

#include "base/text.h"

static const char *const FAMILIES[10] = {"R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"};

static bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

static bool is_digit_or_point(char c)
{
  return (c >= '0' && c <= '9') || c == '.';
}

static char upper(char c)
{
  return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

/* Numbers are cut to what a notation can hold, so that the text fits whatever the caller hands in. */
static double printable(double x, double most)
{
  return isfinite(x) ? fmin(fmax(x, 0), most) : 0;
}

/* The hue rounded first, so that 9.996YR becomes 10.00YR and 10.004YR 0.00Y, which is written 10.00YR. */
static size_t format_hue(double hue, int decimals, char *text)
{
  double unit = pow(10, decimals), turn = 100 * unit;
  double steps = fmod(floor(printable(hue, 1e6) * unit + 0.5), turn);
  int family = 9;

  if (steps == 0) {
    steps = turn;
  } else {
    family = (int)((steps - 1) / (10 * unit));
  }
  size_t length = text_fixed(text, (steps - family * 10 * unit) / unit, decimals);
  size_t letters = strlen(FAMILIES[family]);
  memcpy(text + length, FAMILIES[family], letters);
  return length + letters;
}

void munsell_format(struct munsell m, int decimals, char text[MUNSELL_NOTATION_SIZE])
{
  bool neutral = munsell_is_neutral(m);
  size_t length = 1;

  text[0] = 'N';
  if (!neutral) {
    length = format_hue(m.hue, decimals, text);
  }
  text[length++] = ' ';
  length += text_fixed(text + length, printable(m.value, 10), decimals);
  text[length++] = '/';
  if (!neutral) {
    length += text_fixed(text + length, printable(m.chroma, 999), decimals);
  }
  text[length] = '\0';
}

/* What is left to read, and the whole for messages. */
struct reader {
  const char *at, *whole;
  struct error *error;
};

static void skip_blanks(struct reader *reader)
{
  while (is_blank(*reader->at)) {
    reader->at++;
  }
}

/* The text is quoted in plain ASCII, whatever it holds. */
static bool refuse(const struct reader *reader, const char *reason)
{
  char quoted[61];
  size_t length = strnlen(reader->whole, sizeof quoted - 1);

  for (size_t i = 0; i < length; i++) {
    char c = reader->whole[i];
    quoted[i] = c >= 0x20 && c < 0x7f ? c : '?';
  }
  quoted[length] = '\0';
  return error_set(reader->error, ERROR_USAGE, "notation", "'%s' is no Munsell notation: %s", quoted, reason);
}

/* A number of digits and a point, in 0..most. */
static bool read_number(struct reader *reader, double most, const char *reason, double *number)
{
  const char *begin = reader->at;

  while (is_digit_or_point(*reader->at)) {
    reader->at++;
  }
  if (!text_number_bytes(begin, (size_t)(reader->at - begin), number) || *number > most) {
    return refuse(reader, reason);
  }
  return true;
}

/* The longest family that the text goes on with, -1 if none. */
static int read_family(struct reader *reader)
{
  char letters[3] = {upper(reader->at[0]), '\0', '\0'};
  int found = -1;

  if (letters[0]) {
    letters[1] = upper(reader->at[1]);
  }
  for (int i = 0; i < 10; i++) {
    size_t length = strlen(FAMILIES[i]);
    if (strncmp(letters, FAMILIES[i], length) == 0 && (found < 0 || length > strlen(FAMILIES[found]))) {
      found = i;
    }
  }
  if (found >= 0) {
    reader->at += strlen(FAMILIES[found]);
  }
  return found;
}

static bool read_hue(struct reader *reader, struct munsell *m)
{
  if (!read_number(reader, 10, "it must begin with a hue from 0 to 10 such as 7.5YR, or with N", &m->hue)) {
    return false;
  }
  skip_blanks(reader);
  int family = read_family(reader);
  if (family < 0) {
    return refuse(reader, "after the number must stand R, YR, Y, GY, G, BG, B, PB, P or RP");
  }
  m->hue += 10 * family;
  if (m->hue == 0) {
    m->hue = 100;
  }
  return true;
}

static bool read_value(struct reader *reader, struct munsell *m)
{
  skip_blanks(reader);
  if (!read_number(reader, 10, "after the hue must stand a value from 0 to 10, as in 10YR 4/3", &m->value)) {
    return false;
  }
  skip_blanks(reader);
  if (*reader->at != '/') {
    return refuse(reader, "after the value must stand a slash, as in 10YR 4/3 or N 5/");
  }
  reader->at++;
  skip_blanks(reader);
  return true;
}

static bool read_end(struct reader *reader)
{
  skip_blanks(reader);
  return *reader->at == '\0' || refuse(reader, "nothing may follow the chroma");
}

static bool read_neutral(struct reader *reader, struct munsell *m)
{
  reader->at++;
  if (!read_value(reader, m)) {
    return false;
  }
  if (is_digit_or_point(*reader->at) &&
      (!read_number(reader, 0, "a neutral has no chroma: write N 5/", &m->chroma))) {
    return false;
  }
  return read_end(reader);
}

static bool read_hue_page(struct reader *reader, struct munsell *m)
{
  if (!read_hue(reader, m) || !read_value(reader, m) ||
      !read_number(reader, 50, "after the slash must stand a chroma from 0 to 50, as in 10YR 4/3",
                   &m->chroma) ||
      !read_end(reader)) {
    return false;
  }
  if (m->chroma == 0) {
    m->hue = 0; /* an old way to write a neutral */
  }
  return true;
}

bool munsell_parse(const char *text, struct munsell *m, struct error *error)
{
  struct reader reader = {text, text, error};
  struct munsell read = {0, 0, 0};

  skip_blanks(&reader);
  if (*reader.at == '\0') {
    return refuse(&reader, "nothing is there; write 10YR 4/3 or N 5/");
  }
  if (!(upper(*reader.at) == 'N' ? read_neutral(&reader, &read) : read_hue_page(&reader, &read))) {
    return false;
  }
  *m = read;
  return true;
}
