/* SPDX-License-Identifier: MIT */
/* A patch of a mottled deposit differs from the whole surely and means nothing: among many patches some stand out. What counts is
 * how far means of squares of the patch's size scatter inside both. */
#include <math.h>
#include <stdlib.h>

#include "measure/division.h"

enum { SQUARES_LEAST = 12, SIDE_LEAST = 3 };

/* Squares hold at least this share of cells of a set. */
static const double FULL = 0.6;
/* Standard deviations of log green and of the log ratios below which no difference counts. */
static const double FLOOR[3] = {0.006, 0.003, 0.003};

struct set {
  double cells;
  struct vec3 mean;
};

struct square {
  double cells;
  struct vec3 sum;
};

static struct set set_of(const struct division *d, const int *set, int which)
{
  struct set s = {0};

  for (size_t i = 0; i < d->cells.count; i++) {
    if (d->cells.cell[i].segment > 0 && d->thing[i] != DIVISION_BOARD &&
        set[d->cells.cell[i].segment] == which) {
      s.mean = vec3_add(s.mean, d->cells.cell[i].even);
      s.cells++;
    }
  }
  s.mean = vec3_scale(s.mean, 1 / fmax(s.cells, 1));
  return s;
}

/* Adds the outer products of what squares of one set are off its mean by; returns how many squares. */
static int add_squares(const struct division *d, const int *set, int which, const struct set *s, int side,
                       struct square *square, struct mat3 *sum)
{
  int across = d->cells.columns / side + 1, down = d->cells.rows / side + 1, count = 0;

  for (int i = 0; i < across * down; i++) {
    square[i] = (struct square){0};
  }
  for (size_t i = 0; i < d->cells.count; i++) {
    if (d->cells.cell[i].segment > 0 && d->thing[i] != DIVISION_BOARD &&
        set[d->cells.cell[i].segment] == which) {
      int column = (int)i % d->cells.columns / side, row = (int)i / d->cells.columns / side;
      square[row * across + column].sum = vec3_add(square[row * across + column].sum, d->cells.cell[i].even);
      square[row * across + column].cells++;
    }
  }
  for (int i = 0; i < across * down; i++) {
    if (square[i].cells >= FULL * side * side) {
      struct vec3 off = vec3_subtract(vec3_scale(square[i].sum, 1 / square[i].cells), s->mean);
      *sum = mat3_add(*sum, mat3_outer(off, off));
      count++;
    }
  }
  return count;
}

double division_contrast(const struct division *d, const int *set, int a, int b)
{
  struct set first = set_of(d, set, a), second = set_of(d, set, b);
  struct square *square = calloc(
      (size_t)(d->cells.columns / SIDE_LEAST + 2) * (size_t)(d->cells.rows / SIDE_LEAST + 2), sizeof *square);
  double small = fmin(first.cells, second.cells), large = fmax(first.cells, second.cells);
  int side = (int)fmax(sqrt(small), SIDE_LEAST), count = 0;
  struct mat3 scatter, inverse;

  for (;; side = side * 4 / 5) {
    side = side > SIDE_LEAST ? side : SIDE_LEAST;
    scatter = (struct mat3){{{0}}};
    count = square ? add_squares(d, set, a, &first, side, square, &scatter) +
                         add_squares(d, set, b, &second, side, square, &scatter)
                   : 0;
    if (count >= SQUARES_LEAST || side == SIDE_LEAST) {
      break;
    }
  }
  free(square);
  scatter = mat3_scale(scatter, 1 / fmax(count - 2, 1));
  for (int k = 0; k < 3; k++) {
    scatter.m[k][k] += FLOOR[k] * FLOOR[k];
  }
  struct vec3 off = vec3_subtract(first.mean, second.mean);
  if (!mat3_invert(scatter, &inverse)) {
    return 0;
  }
  return vec3_dot(off, mat3_apply(inverse, off)) / (30 + 8 * log(large / small));
}
