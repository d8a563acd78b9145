/* SPDX-License-Identifier: MIT */
/* With S_a (3 x READING_SHARED) what reading a shares and O_a = L_a L_a' its own covariance, directions q are taken in turn along the
 * longest row that is left of all L_a^-1 S_a (pivoted Gram-Schmidt). Let E_aa be what is left of S_a S_a'; directions are added until
 * the trace of L_a^-1 E_aa L_a^-T is at most t = COMPACT_LOST for all a, so that E_aa <= t O_a in any direction. The difference
 * of a and b then misses E_ab + E_ba, at most E_aa + E_bb <= t (O_a + O_b), and O_a + O_b is part of its covariance. */
#include "measure/compact.h"

#include <math.h>
#include <stdlib.h>

struct rest {
  double row[3][READING_SHARED]; /* of L^-1 S, without the directions taken so far */
};

/* L^-1 S by substitution in the lower triangle L; a zero pivot (nothing of its own there) counts as small. */
static void whiten(const struct reading *reading, struct rest *rest)
{
  struct mat3 l = mat3_cholesky(reading->own);

  for (int k = 0; k < READING_SHARED; k++) {
    for (int i = 0; i < 3; i++) {
      double left = reading->shared[i][k];
      for (int j = 0; j < i; j++) {
        left -= l.m[i][j] * rest->row[j][k];
      }
      rest->row[i][k] = left / fmax(l.m[i][i], 1e-3);
    }
  }
}

static double dot(const double *a, const double *b)
{
  double sum = 0;

  for (int k = 0; k < READING_SHARED; k++) {
    sum += a[k] * b[k];
  }
  return sum;
}

/* The longest row of the reading that has most left; NULL where all have little enough. */
static const double *longest(const struct rest *rest, size_t count)
{
  const double *best = NULL;
  double most = COMPACT_LOST;

  for (size_t a = 0; a < count; a++) {
    double length[3], sum = 0;
    int long_one = 0;
    for (int i = 0; i < 3; i++) {
      length[i] = dot(rest[a].row[i], rest[a].row[i]);
      sum += length[i];
      long_one = length[i] > length[long_one] ? i : long_one;
    }
    if (sum > most) {
      most = sum;
      best = rest[a].row[long_one];
    }
  }
  return best;
}

static void take_out(struct rest *rest, size_t count, const double *direction)
{
  for (size_t a = 0; a < count; a++) {
    for (int i = 0; i < 3; i++) {
      double along = dot(rest[a].row[i], direction);
      for (int k = 0; k < READING_SHARED; k++) {
        rest[a].row[i][k] -= along * direction[k];
      }
    }
  }
}

bool compact_find(const struct reading *reading, size_t count, struct compact_basis *basis,
                  struct error *error)
{
  struct rest *rest = calloc(count ? count : 1, sizeof *rest);
  const double *row;

  basis->columns = 0;
  if (!rest) {
    return error_no_memory(error, "what the readings share");
  }
  for (size_t a = 0; a < count; a++) {
    if (reading[a].measured) {
      whiten(&reading[a], &rest[a]);
    }
  }
  while (basis->columns < READING_SHARED && (row = longest(rest, count))) {
    double *direction = basis->direction[basis->columns++], length = sqrt(dot(row, row));
    for (int k = 0; k < READING_SHARED; k++) {
      direction[k] = row[k] / length;
    }
    take_out(rest, count, direction);
  }
  free(rest);
  return true;
}

void compact_columns(const struct compact_basis *basis, const struct reading *reading,
                     double columns[3][READING_SHARED])
{
  for (int i = 0; i < 3; i++) {
    for (size_t k = 0; k < basis->columns; k++) {
      columns[i][k] = dot(reading->shared[i], basis->direction[k]);
    }
  }
}
