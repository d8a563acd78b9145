/* SPDX-License-Identifier: MIT */
/* Strict reading of CGATS.17 text (ISO 28178) with one table, one sample a line.
 *
 * Little-CMS reads this format too, and tests compare with it; it is not used here because it opens files that
 * the text names (.INCLUDE), splits "4.2x" into two cells, and hands back 0 for whatever is missing. Here every
 * fault is named with its line. */
#ifndef TAWNY_CARD_CGATS_H
#define TAWNY_CARD_CGATS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

enum { CGATS_COLUMNS_MAX = 512, CGATS_ROWS_MAX = 400, CGATS_LENGTH_MAX = 1 << 20 };

/* A word of the text: points into it, quotes left off. */
struct cgats_word {
  const char *start;
  size_t length;
  int line; /* of the text, from 1 */
};

struct cgats_keyword {
  struct cgats_word name, value; /* value of length 0 when nothing follows the name */
};

/* Borrows the text, which must outlive it. */
struct cgats {
  struct cgats_keyword *keyword; /* owned, as are the next two                          */
  size_t keywords;
  struct cgats_word *column; /* the data format                                     */
  size_t columns;
  struct cgats_word *cell; /* rows x columns, row after row                       */
  size_t rows;
};

/* ERROR_FILE "bad-card" names line and fault. */
bool cgats_read(const char *text, size_t length, struct cgats *cgats, struct error *error);
void cgats_clear(struct cgats *cgats);

/* The value of the `nth` (from 0) keyword of this name; false when there is none. */
bool cgats_keyword_value(const struct cgats *cgats, const char *name, size_t nth, struct cgats_word *value);

/* Index of a column, or -1. */
int cgats_column(const struct cgats *cgats, const char *name);

const struct cgats_word *cgats_cell(const struct cgats *cgats, size_t row, size_t column);

/* The number in a cell, or an error that names line, row and column. */
bool cgats_number(const struct cgats *cgats, size_t row, size_t column, double *value, struct error *error);

bool cgats_word_is(const struct cgats_word *word, const char *text);

#endif
