/* SPDX-License-Identifier: MIT */
/* Mottles and mixed fills: whether the pixels of a region are of one colour or of several, and how much there is of each.
 *
 * Looked at are local means a little wider than grains, pores and noise (mottle_cells.h), in evened linear light. Parts are
 * normal distributions that share one covariance (mixture.h); one more part is believed only when it stands clear of the others,
 * is more than relief and light can feign, and lies in lumps. What is too small for a lump (glint, specks, single stones) and kinds
 * that make fewer than three lumps of 8 cells and less than 15 % are inclusions: left out of the areas, never counted as a colour.
 * docs/method.md has the equations. */
#ifndef TAWNY_COMPARE_MOTTLE_H
#define TAWNY_COMPARE_MOTTLE_H

#include "compare/compare.h"
#include "compare/mixture.h"
#include "measure/difference.h"

/* A figure with its 95 % interval. */
struct mottle_figure {
  double value, low, high;
};

struct mottle_part {
  /* lab_d50 to spread95, shared, own and covariance are those of the part; statistics holds linear, gain, centre, pixels and
   * covariance. */
  struct reading reading;
  struct mottle_figure
      share; /* of the area, 0..1, for the deposit that the region is a sample of: lumps count, not pixels */
  size_t lumps;        /* pieces that hang together                                                         */
  bool sized;          /* false: `no_size` says why                                                         */
  const char *no_size; /* a constant                                                                        */
  struct mottle_figure
      size; /* mm: median over the lumps of the diameter of a circle of the same area; lumps that the outline cuts
                               * are left out where three others are there                                        */
  double least; /* mm: smaller lumps are not seen                                                    */
  enum contrast
      contrast; /* of the nearest chips of this part and the first; of the first: faint             */
  struct difference
      difference; /* this part minus the first                                                       */
};

/* A region of several colours. The first part has the largest share, the others follow by share. */
struct mottles {
  size_t reading; /* index in the measurement */
  size_t parts;   /* at least 2               */
  struct mottle_part part[MIXTURE_PARTS_MAX];
  double inclusions; /* share of the area left out as inclusions, 0..1 */
};

/* Those of a photo; all other measured regions are of one colour. */
struct mottle_list {
  struct mottles *item; /* owned */
  size_t count;
};

/* Looks at every measured region. */
bool mottles_find(const struct measurement *measurement, struct mottle_list *list, struct error *error);
void mottle_list_clear(struct mottle_list *list);

/* The entry of a reading, or NULL where it is of one colour. */
const struct mottles *mottles_of(const struct mottle_list *list, size_t reading);

#endif
