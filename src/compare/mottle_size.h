/* SPDX-License-Identifier: MIT */
/* How much of a region a part takes, and how large its lumps are. For files of this folder. */
#ifndef TAWNY_COMPARE_MOTTLE_SIZE_H
#define TAWNY_COMPARE_MOTTLE_SIZE_H

#include "compare/mottle.h"
#include "compare/mottle_map.h"

/* Share of the cells that are of some part. The interval is for a deposit of which the region is a sample: cells near each other
 * are of one lump, so the share's variance is taken from the covariance of cells at all distances within a lump and a half, and
 * n = p (1 - p) / variance is as many independent places as would tell as much. It is kept within 0.5 and 2 times the area over
 * the lumps' area-weighted mean area, which is n for lumps that are few and apart. Wilson's interval for n (Wilson 1927, J. Am.
 * Stat. Assoc. 22, 209), with Student's t for the number of lumps in place of the normal quantile. */
struct mottle_figure mottle_share(const struct mottle_map *map, size_t part);

/* Fills size and least, mm, by the scale of the card's plane at each lump, or sized and no_size where it gives none. False only for want of
 * memory. */
bool mottle_size(const struct mottle_map *map, size_t part, const struct measurement *measurement,
                 struct mottle_part *into, struct error *error);

/* mm per pixel at a place, in the card's plane; 0 where it can't be told: beyond the horizon, or where it differs from the card's
 * own by more than a factor of two, so that a small error in the card's slant would be a large one in the scale. */
double mottle_scale(const struct measurement *measurement, struct point place);

#endif
