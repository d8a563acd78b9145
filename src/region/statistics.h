/* SPDX-License-Identifier: MIT */
/* The colour of a region: a robust centre that pebbles, roots, glint and shadow specks do not move. */
#ifndef TAWNY_REGION_STATISTICS_H
#define TAWNY_REGION_STATISTICS_H

#include "image/image.h"
#include "light/light.h"
#include "profile/profile.h"
#include "region/region.h"

/* Shares of the region's pixels, 0..1; their sum is `share`. */
struct region_left_out {
  double share, glint, shadow, specks, clipped;
};

struct region_statistics {
  struct vec3 linear;     /* robust centre, linear light evened to the card's                     */
  struct vec3 gain;       /* mean light gain over the region (already taken out of `linear`)      */
  struct vec3 code;       /* of the centre before evening, 0..1                                   */
  struct mat3 spread;     /* robust covariance of single pixels' evened linear light              */
  struct mat3 covariance; /* of the centre, with neighbouring pixels' correlation (block means)   */
  struct vec3
      drift; /* largest minus smallest of a plane fitted to log linear light over the region: what is left of
                            * slow change inside it                                                 */
  double
      lobes; /* how far the pixels are from one population: distance of two halves' centres (split along the
                            * main axis) in CIEDE2000; large where the outline holds two deposits   */
  size_t pixels; /* used                                                                 */
  struct region_left_out left_out;
  double beyond;       /* share of the region across or on a shadow edge, 0..1                 */
  struct point centre; /* centroid, pixels                                                     */
};

/* ERROR_UNMEASURABLE: "few-pixels" (fewer than REGION_PIXELS_MIN inside), "clipped" (more than half of them clipped), "nothing-left". */
enum { REGION_PIXELS_MIN = 30 };
bool region_measure(const struct image *image, const struct profile *profile, const struct light *light,
                    const struct region *region, struct region_statistics *statistics, struct error *error);

#endif
