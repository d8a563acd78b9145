/* SPDX-License-Identifier: MIT */
/* What the blocks of a region tell beyond its mean: how sure the mean is, slow change, and two colours. */
#ifndef TAWNY_REGION_MOSAIC_H
#define TAWNY_REGION_MOSAIC_H

#include <stddef.h>

#include "profile/profile.h"
#include "region/walk.h"

struct mosaic_block {
  double linear[3]; /* sum over the pixels in the core's window              */
  size_t used;      /* how many these are                                    */
  double log[3];    /* sum of log linear light over all unclipped pixels     */
  size_t open;      /* how many these are                                    */
};

struct mosaic {
  struct mosaic_block block[WALK_BLOCKS_ACROSS * WALK_BLOCKS_ACROSS]; /* row after row */
  int columns, rows;
};

/* Covariance of the mean of the used pixels' linear light. Pixels near each other are alike, so not pixels but block means
 * are counted; where blocks beside each other are still alike, fours of blocks, or quarters of the region. `spread` is the covariance of single pixels, taken where
 * there are too few blocks. */
struct mat3 mosaic_covariance(const struct mosaic *mosaic, struct vec3 mean, struct mat3 spread);

/* Largest minus smallest, over the filled blocks, of a plane fitted to the log of their means; zero for less than eight. */
struct vec3 mosaic_drift(const struct mosaic *mosaic);

/* How far the region is from one colour, CIEDE2000: see region/statistics.h. */
double mosaic_lobes(const struct mosaic *mosaic, const struct profile *profile);

#endif
