/* SPDX-License-Identifier: MIT */
/* Which cells are of one deposit, by evened signal and contiguity. */
#ifndef TAWNY_LIGHT_SEGMENT_H
#define TAWNY_LIGHT_SEGMENT_H

#include "light/cells.h"

/* Fills `segment` and `inner` of the cells from `even`. `*segments` is their number, at most LIGHT_DEPOSITS_MAX, the largest
 * kept. Cells in the half shadow of an edge are left out, and deposits go on across it. `looseness`: 1, or more while the field
 * is not yet well known and would split deposits along what is left of it. */
bool segment_cells(struct cells *cells, const struct light *light, double looseness, int *segments,
                   struct error *error);

#endif
