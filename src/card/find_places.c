/* SPDX-License-Identifier: MIT */
/* Where a card too small for the first picture may be.
 *
 * Nothing is as colourful on so small a piece of a photo as a card, even where its patches have run together: chroma spreads
 * in every direction. So a place is ranked by the smaller principal variance of (R - G, G - B) round it. */
#include <math.h>
#include <stdlib.h>

#include "card/find_parts.h"

enum { SUMS = 5 /* a, b, aa, ab, bb */ };
#define RANK_MIN 4.0 /* squared bytes: less is noise */

static double *sums_at(const struct find_places *places, int column, int row)
{
  return places->sum + SUMS * ((size_t)row * (size_t)(places->columns + 1) + (size_t)column);
}

static void cell_sum(const struct find_picture *picture, int column, int row, double sum[SUMS])
{
  for (int y = row * FIND_CELL; y < (row + 1) * FIND_CELL; y++)
    for (int x = column * FIND_CELL; x < (column + 1) * FIND_CELL; x++) {
      const uint8_t *byte = picture->byte + 3 * ((size_t)y * (size_t)picture->width + (size_t)x);
      double a = byte[0] - byte[1], b = byte[1] - byte[2];

      sum[0] += a;
      sum[1] += b;
      sum[2] += a * a;
      sum[3] += a * b;
      sum[4] += b * b;
    }
}

bool find_places_make(const struct find_picture *picture, struct find_places *places, struct error *error)
{
  *places = (struct find_places){.columns = picture->width / FIND_CELL, .rows = picture->height / FIND_CELL};
  places->sum =
      calloc(SUMS * (size_t)(places->columns + 1) * (size_t)(places->rows + 1), sizeof *places->sum);
  places->rank = calloc((size_t)places->columns * (size_t)places->rows + 1, sizeof *places->rank);
  if (places->sum == NULL || places->rank == NULL)
    return error_no_memory(error, "the search for the card");
  for (int row = 0; row < places->rows; row++)
    for (int column = 0; column < places->columns; column++) {
      double *sum = sums_at(places, column + 1, row + 1);
      const double *left = sums_at(places, column, row + 1), *above = sums_at(places, column + 1, row);
      const double *both = sums_at(places, column, row);

      cell_sum(picture, column, row, sum);
      for (int i = 0; i < SUMS; i++)
        sum[i] += left[i] + above[i] - both[i];
    }
  return true;
}

void find_places_clear(struct find_places *places)
{
  free(places->sum);
  free(places->rank);
  *places = (struct find_places){0};
}

/* The smaller principal variance of chroma in a rectangle of cells. */
static double variance_in(const struct find_places *places, int left, int top, int right, int bottom)
{
  const double *a = sums_at(places, left, top), *b = sums_at(places, right, top),
               *c = sums_at(places, left, bottom), *d = sums_at(places, right, bottom);
  double mean[SUMS], count = (double)FIND_CELL * FIND_CELL * (right - left) * (bottom - top), aa, ab, bb;

  for (int i = 0; i < SUMS; i++)
    mean[i] = (d[i] - b[i] - c[i] + a[i]) / count;
  aa = mean[2] - mean[0] * mean[0];
  ab = mean[3] - mean[0] * mean[1];
  bb = mean[4] - mean[1] * mean[1];
  return (aa + bb) / 2 - hypot((aa - bb) / 2, ab);
}

void find_places_rank(struct find_places *places, int pool)
{
  for (int row = 0; row < places->rows; row++)
    for (int column = 0; column < places->columns; column++) {
      int left = column - pool / 2, top = row - pool / 2, right = left + pool, bottom = top + pool;

      left = left < 0 ? 0 : left;
      top = top < 0 ? 0 : top;
      right = right > places->columns ? places->columns : right;
      bottom = bottom > places->rows ? places->rows : bottom;
      places->rank[row * places->columns + column] = variance_in(places, left, top, right, bottom);
    }
}

bool find_places_take(struct find_places *places, int reach, int *column, int *row)
{
  int cells = places->columns * places->rows, best = 0;

  for (int i = 1; i < cells; i++)
    if (places->rank[i] > places->rank[best])
      best = i;
  if (cells == 0 || places->rank[best] < RANK_MIN)
    return false;
  *column = best % places->columns;
  *row = best / places->columns;
  for (int y = *row - reach; y <= *row + reach; y++)
    for (int x = *column - reach; x <= *column + reach; x++)
      if (x >= 0 && y >= 0 && x < places->columns && y < places->rows)
        places->rank[y * places->columns + x] = 0;
  return true;
}
