/* SPDX-License-Identifier: MIT */
/* The smallest turned rectangle round a set of cells. */
#ifndef TAWNY_MEASURE_BOX_H
#define TAWNY_MEASURE_BOX_H

#include <stdbool.h>
#include <stddef.h>

#include "card/pose.h"

struct box {
  double cosine, sine;
  double low[2], high[2]; /* sides along u = c x + s y and v = c y - s x */
  double filled;          /* share of it that the cells are                                            */
};

/* The one that is filled most, in steps of 3 degrees, with one place in a hundred left out on each side; places are middles of
 * cells of side 1. No places: all 0. False for want of memory. */
bool box_round(const struct point *place, size_t count, struct box *box);

/* How many of its corners are filled: places nine tenths of the way from the middle, where an ellipse in the box is not. */
int box_corners(const struct box *box, const struct point *place, size_t count);

/* Length of the sides along u (0) and v (1). */
double box_side(const struct box *box, int k);

/* How far a place is outside, along the axis where it is farther; negative inside. */
double box_distance(const struct box *box, struct point place);

#endif
