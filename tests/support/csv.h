/* SPDX-License-Identifier: MIT */
/* Small CSV tables for tests: lines that begin with '#' and the header line are passed over; cells may stand in double
 * quotes, in which commas count as text. */
#ifndef TAWNY_SUPPORT_CSV_H
#define TAWNY_SUPPORT_CSV_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"

enum { CSV_COLUMNS = 20 };

struct csv {
  struct file_bytes bytes; /* owned; cells point into it */
  size_t rows;
  char *(*cells)[CSV_COLUMNS]; /* owned; cells[row][column], NULL beyond the last of a row */
};

bool csv_read(const char *path, struct csv *csv, struct error *error);
void csv_clear(struct csv *csv);

/* The cell as a number; 0 if it is empty. */
double csv_number(const struct csv *csv, size_t row, size_t column);

#endif
