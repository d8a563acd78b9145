/* SPDX-License-Identifier: MIT */
/* What the readings of one photo share, in few columns, so that it can be saved with them. */
#ifndef TAWNY_MEASURE_COMPACT_H
#define TAWNY_MEASURE_COMPACT_H

#include "measure/reading.h"

/* Part of a reading's own variance, in any direction of Lab, that the columns left out may hold. */
#define COMPACT_LOST 0.01

/* Orthonormal directions among the shared unknowns, as few as keep what is asked. */
struct compact_basis {
  double direction[READING_SHARED][READING_SHARED]; /* row by row, `columns` of them */
  size_t columns;
};

/* Directions for the measured ones of `count` readings of one photo. A reading is then saved as its covariance and its
 * compacted columns, and own = covariance - columns columns': what the columns miss counts as its own, so that each
 * covariance stays exact, and that of any difference is off by at most COMPACT_LOST of itself in any direction. */
bool compact_find(const struct reading *reading, size_t count, struct compact_basis *basis,
                  struct error *error);

/* Columns of a reading along the basis: effect on L*, a*, b* of each unknown, unit variance. */
void compact_columns(const struct compact_basis *basis, const struct reading *reading,
                     double columns[3][READING_SHARED]);

#endif
