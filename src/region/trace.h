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
};

/* Outlines the largest connected part (cells that share a side) of the mask: fills shape, vertex and vertices of a region
 * that has no outline yet. Holes smaller than `hole` cells are filled; others are opened to the rim by a slit of one cell, so
 * that one ring without self-crossing says all. Corners are thinned so that the outline stays within half a cell of the
 * mask's rim. ERROR_UNMEASURABLE "no-area" for an empty mask. */
bool trace_outline(const struct trace_mask *mask, double hole, struct region *region, struct error *error);

#endif
