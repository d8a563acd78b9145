/* SPDX-License-Identifier: MIT */
/* Strings across a face: thin and straight, and unlike what lies on both sides of them. */
#ifndef TAWNY_MEASURE_STRINGS_H
#define TAWNY_MEASURE_STRINGS_H

#include <stdint.h>

#include "image/blocks.h"
#include "light/cells.h"

/* Marks with `mark`, in `thing` (a byte a cell), the cells that strings lie on. Found are strings up to 40 degrees from level or
 * from upright, at least four tenths of the way across the frame, seen along seven tenths of their length, and up to
 * 1.3 cells wide; a bow that a lens gives them is followed. A straight step from one deposit to another is none: a string
 * is lighter or darker than both sides of it. */
bool strings_mark(const struct image *image, const struct image_blocks *blocks, const struct cells *cells,
                  uint8_t mark, uint8_t *thing, struct error *error);

#endif
