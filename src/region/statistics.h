/* SPDX-License-Identifier: MIT */
/* The colour of a region: a robust centre that pebbles, roots, glint and shadow specks do not move. */
#ifndef TAWNY_REGION_STATISTICS_H
#define TAWNY_REGION_STATISTICS_H

#include "image/image.h"
#include "light/light.h"
#include "profile/profile.h"
#include "region/region.h"

/* Shares of the region's pixels, 0..1; their sum is `share`. A single pixel can't tell a pale pebble from glint: both are
 * lighter and nearer to the light's colour, and both count as glint. */
struct region_left_out {
  double share, glint, shadow, specks, clipped;
};

struct region_statistics {
  struct vec3 linear;     /* robust centre, linear light evened to the card's                     */
  struct vec3 gain;       /* mean light gain over the region (already taken out of `linear`)      */
  struct mat3 spread;     /* robust covariance of single pixels' evened linear light              */
  struct mat3 covariance; /* of the centre, with neighbouring pixels' correlation (block means)   */
  /* Largest minus smallest of a plane fitted to log linear light over the region: what is left of slow change inside it. */
  struct vec3 drift;
  /* CIEDE2000 between two colours that the blocks of the region fall into; 0 where they are one colour or grade evenly, full where
   * they part cleanly (region/mosaic.c). */
  double lobes;
  size_t pixels; /* of the deposit: neither clipped nor left out                         */
  struct region_left_out left_out;
  double beyond;       /* share of the region across or on a shadow edge, 0..1                 */
  struct point centre; /* centroid, pixels                                                     */
};

/* ERROR_UNMEASURABLE: "few-pixels" (fewer than REGION_PIXELS_MIN inside), "clipped" (more than half of them clipped), "nothing-left". */
enum { REGION_PIXELS_MIN = 30 };
bool region_measure(const struct image *image, const struct profile *profile, const struct light *light,
                    const struct region *region, struct region_statistics *statistics, struct error *error);

#endif
