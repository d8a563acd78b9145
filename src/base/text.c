/* SPDX-License-Identifier: MIT */
#include "base/text.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool reserve(struct text *text, size_t more)
{
  size_t capacity = text->capacity ? text->capacity : 64;

  if (text->failed || more >= PTRDIFF_MAX - text->length) {
    text->failed = true;
    return false;
  }
  size_t needed = text->length + more + 1;
  while (capacity < needed) {
    capacity *= 2;
  }
  if (capacity != text->capacity) {
    char *data = realloc(text->data, capacity);
    if (!data) {
      text->failed = true;
      return false;
    }
    text->data = data;
    text->capacity = capacity;
  }
  return true;
}

void text_add_bytes(struct text *text, const char *bytes, size_t length)
{
  if (reserve(text, length)) {
    memcpy(text->data + text->length, bytes, length);
    text->length += length;
    text->data[text->length] = '\0';
  }
}

void text_add(struct text *text, const char *string)
{
  text_add_bytes(text, string, strlen(string));
}

void text_format(struct text *text, const char *format, ...)
{
  va_list arguments, again;

  va_start(arguments, format);
  va_copy(again, arguments);
  int length = vsnprintf(NULL, 0, format, arguments);
  if (length < 0) {
    text->failed = true;
  } else if (reserve(text, (size_t)length)) {
    vsnprintf(text->data + text->length, (size_t)length + 1, format, again);
    text->length += (size_t)length;
  }
  va_end(again);
  va_end(arguments);
}

void text_cut(struct text *text, size_t length)
{
  if (text->data) {
    text->length = length;
    text->data[length] = '\0';
  }
}

void text_clear(struct text *text)
{
  free(text->data);
  *text = (struct text){0};
}

/* The digits of a number below 1e15, with a point before the last `decimals` of them. */
static size_t put_digits(char *text, unsigned long long scaled, int decimals)
{
  char reversed[TEXT_FIXED_SIZE];
  size_t count = 0, length = 0;

  for (int i = 0; scaled > 0 || i <= decimals; i++) {
    if (i == decimals && decimals > 0) {
      reversed[count++] = '.';
    }
    reversed[count++] = (char)('0' + scaled % 10);
    scaled /= 10;
  }
  while (count > 0) {
    text[length++] = reversed[--count];
  }
  return length;
}

size_t text_fixed(char text[TEXT_FIXED_SIZE], double value, int decimals)
{
  static const double UNITS[] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10};
  double scaled = floor(fabs(value) * UNITS[decimals] + 0.5);
  size_t length = 0;

  if (!(scaled < 1e15)) {
    return (size_t)snprintf(text, TEXT_FIXED_SIZE, "%.9e", value);
  }
  if (value < 0 && scaled > 0) {
    text[length++] = '-';
  }
  length += put_digits(text + length, (unsigned long long)scaled, decimals);
  text[length] = '\0';
  return length;
}

bool text_number_bytes(const char *word, size_t length, double *value)
{
  char copy[64];

  if (length == 0 || length >= sizeof copy) {
    return false;
  }
  for (size_t i = 0; i < length; i++) {
    if (!isdigit((unsigned char)word[i]) && !strchr("+-.eE", word[i])) {
      return false; /* blanks, hex, nan and inf, and the NUL that strchr would find */
    }
    if (word[i] == '\0') {
      return false;
    }
    copy[i] = word[i];
  }
  copy[length] = '\0';
  char *end;
  double parsed = strtod(copy, &end);
  if (end == copy || *end != '\0' || !isfinite(parsed)) {
    return false;
  }
  *value = parsed;
  return true;
}

bool text_number(const char *word, double *value)
{
  return text_number_bytes(word, strlen(word), value);
}
