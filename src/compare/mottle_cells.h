/* SPDX-License-Identifier: MIT */
/* A region as a grid of local means, a little wider than grains, pores and noise. For files of this folder. */
#ifndef TAWNY_COMPARE_MOTTLE_CELLS_H
#define TAWNY_COMPARE_MOTTLE_CELLS_H

#include "image/image.h"
#include "light/light.h"
#include "profile/profile.h"
#include "region/region.h"

struct mottle_cell {
  float log[3];    /* mean log of (linear light + WALK_FLOOR), evened     */
  float linear[3]; /* mean linear light, evened                           */
  float filled;    /* share of the cell that the outline and codes within the scale fill, 0..1 */
};

struct mottle_cells {
  int left, top; /* photo pixels of the grid's corner */
  int side;      /* pixels of a cell                  */
  int columns, rows;
  struct mottle_cell *cell; /* owned; row after row */
};

/* Fills the grid; cells are at least `least` pixels wide. For a region that region_measure has passed. In large regions not every
 * row of pixels is looked at. */
bool mottle_cells_make(const struct image *image, const struct profile *profile, const struct light *light,
                       const struct region *region, double least, struct mottle_cells *cells,
                       struct error *error);
void mottle_cells_clear(struct mottle_cells *cells);

#endif
