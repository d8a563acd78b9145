/* SPDX-License-Identifier: MIT */
/* Text: a growing buffer, and numbers. The program never calls setlocale(), so printf and our own parsing see the
 * "C" locale whatever the user's environment says. */
#ifndef TAWNY_BASE_TEXT_H
#define TAWNY_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

/* A string that grows. All zero is a valid empty one. `data` is NUL-terminated once anything was added,
 * NULL before. When memory runs out `failed` is set, the buffer keeps what it had and later additions do
 * nothing: check once at the end. */
struct text {
  char *data;
  size_t length, capacity;
  bool failed;
};

void text_add(struct text *text, const char *string);
void text_add_bytes(struct text *text, const char *bytes, size_t length);
void text_format(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Cuts back to a length that it had. `failed` stays. */
void text_cut(struct text *text, size_t length);

/* Frees the contents and leaves an empty text. */
void text_clear(struct text *text);

/* Writes `value` with `decimals` (0..10) places and a NUL, halves rounded away from zero, never "-0", and returns the length
 * without the NUL. Made for many numbers in a row: several times as fast as printf. What needs more than 15 digits is
 * written as printf's %.9e does, so that the text always fits. */
enum { TEXT_FIXED_SIZE = 24 };
size_t text_fixed(char text[TEXT_FIXED_SIZE], double value, int decimals);

/* Reads the whole of `word` as one finite decimal number ("4", "-.5", "1e3"); no blanks, no hex, no "nan",
 * no "inf", nothing behind. False, and *value untouched, otherwise. */
bool text_number(const char *word, double *value);

/* The same for the bytes [word, word + length), which need no NUL. */
bool text_number_bytes(const char *word, size_t length, double *value);

#endif
