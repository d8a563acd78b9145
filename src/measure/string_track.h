/* SPDX-License-Identifier: MIT */
/* A line across a face, followed pixel by pixel. */
#ifndef TAWNY_MEASURE_STRING_TRACK_H
#define TAWNY_MEASURE_STRING_TRACK_H

#include <stdint.h>

#include "image/image.h"
#include "light/cells.h"

/* Level lines: y = from + slope x, and upright ones: x = from + slope y; pixels. */
struct string_line {
  bool upright;
  double from, slope;
};

/* Marks the cells of what runs along the line as a string does (strings.h); nothing where there is none, and `found` is false. False for
 * want of memory. */
bool string_track(const struct image *image, const struct cells *cells, const struct string_line *line,
                  uint8_t mark, uint8_t *thing, bool *found);

#endif
