/* SPDX-License-Identifier: MIT */
/* Which outlines are neighbours. */
#ifndef TAWNY_COMPARE_TOUCHING_H
#define TAWNY_COMPARE_TOUCHING_H

#include "region/region.h"

/* An outline with what is asked of it again and again. */
struct outline_extent {
  const struct region *region; /* borrowed                */
  double left, right, top, bottom;
  double near; /* pixels within which others touch it: 3 % of the square root of its area, at least 2 */
};

struct outline_extent outline_extent_of(const struct region *region);

/* Whether two outlines overlap or come closer than the smaller one's `near`. */
bool outline_touching(const struct outline_extent *a, const struct outline_extent *b);

#endif
