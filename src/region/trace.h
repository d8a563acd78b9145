/* SPDX-License-Identifier: MIT */
/* From a mask of square cells to an outline. */
#ifndef TAWNY_REGION_TRACE_H
#define TAWNY_REGION_TRACE_H

#include <stdint.h>

#include "region/region.h"

struct trace_mask {
  const uint8_t *cell; /* borrowed; rows top down, not 0: inside */
  int columns, rows;
  double side; /* pixels of a cell; the mask's outer corner is the photo's */
  bool joined; /* parts that lie opposite each other in a row or column are joined: see below */
};

/* Outlines the largest connected part (cells that share a side; of equal ones the first from the top) of the mask: fills shape,
 * vertex and vertices of a region that has no outline yet. Holes (cells outside that share a side or a corner) smaller than
 * `hole` cells are filled; others are opened to the rim by a cut of no width that is walked there and back, so that one ring
 * says all, no cell is lost, and region_check() finds no crossing. The outline goes through middles of the sides where cells
 * of the part meet others, and is thinned so that it passes within 0.3 of a cell of all of them. With `joined`, all other parts
 * that can be are taken in as well: by a cut, walked there and back like those to holes, along a row or column across what is
 * outside, the shortest first; then no hole is filled. ERROR_UNMEASURABLE "no-area" for an empty mask. */
bool trace_outline(const struct trace_mask *mask, double hole, struct region *region, struct error *error);

#endif
