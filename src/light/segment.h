/* SPDX-License-Identifier: MIT */
/* Which cells are of one deposit, by evened signal and contiguity. */
#ifndef TAWNY_LIGHT_SEGMENT_H
#define TAWNY_LIGHT_SEGMENT_H

#include "light/cells.h"

/* Fills `segment` and `inner` of the cells from `even`. `*segments` is their number, at most LIGHT_DEPOSITS_MAX, the largest
 * kept. Cells in the half shadow of an edge are left out, and deposits go on across it. */
bool segment_cells(struct cells *cells, const struct light *light, int *segments, struct error *error);

#endif
