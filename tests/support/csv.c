/* SPDX-License-Identifier: MIT */
#include "csv.h"

#include <stdlib.h>
#include <string.h>

/* Ends the cell that begins at `at` and returns where the next one begins, NULL at the end of the line. */
static char *end_cell(char **at)
{
  bool quoted = **at == '"';
  char *end = strchr(*at + quoted, quoted ? '"' : ',');

  *at += quoted;
  if (!end) {
    return NULL;
  }
  *end = '\0';
  if (quoted) {
    return end[1] == ',' ? end + 2 : NULL;
  }
  return end + 1;
}

static void split_row(char *line, char *cells[CSV_COLUMNS])
{
  for (size_t column = 0; line && column < CSV_COLUMNS; column++) {
    char *next = end_cell(&line);
    cells[column] = line;
    line = next;
  }
}

bool csv_read(const char *path, struct csv *csv, struct error *error)
{
  bool header = true;

  *csv = (struct csv){{0}, 0, NULL};
  if (!file_read(path, 1 << 24, &csv->bytes, error)) {
    return false;
  }
  for (char *line = (char *)csv->bytes.data, *next; *line; line = next) {
    next = line + strcspn(line, "\n");
    if (*next) {
      *next++ = '\0';
    }
    if (*line == '#' || header) {
      header = *line == '#';
      continue;
    }
    void *grown = realloc(csv->cells, (csv->rows + 1) * sizeof *csv->cells);
    if (!grown) {
      csv_clear(csv);
      return error_no_memory(error, "a table");
    }
    csv->cells = grown;
    memset(csv->cells[csv->rows], 0, sizeof *csv->cells);
    split_row(line, csv->cells[csv->rows++]);
  }
  return true;
}

void csv_clear(struct csv *csv)
{
  free(csv->cells);
  file_bytes_clear(&csv->bytes);
  *csv = (struct csv){{0}, 0, NULL};
}

double csv_number(const struct csv *csv, size_t row, size_t column)
{
  const char *cell = csv->cells[row][column];

  return cell ? strtod(cell, NULL) : 0;
}
