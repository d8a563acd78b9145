/* SPDX-License-Identifier: MIT */
/* Smooth random fields over a picture, a function of place and seed alone. */
#ifndef TAWNY_SUPPORT_TEXTURE_H
#define TAWNY_SUPPORT_TEXTURE_H

#include <stdint.h>

#include "scene.h"

/* A field of mean 0 and variance 1 whose values are correlated over about `length` pixels. */
double texture_noise(double x, double y, double length, uint64_t seed);

/* Log of the reflectance factor at a place without the mean's shift, and the mottle (log of red over blue). */
struct texture_value {
  double level, mottle;
};
struct texture_value texture_at(const struct scene_texture *texture, double x, double y, uint64_t seed);

/* Paints ids of deposits into a map of width x height: id of the topmost polygon at each pixel's centre. */
void texture_paint_deposits(const struct scene *scene, uint8_t *map);

/* Paints inclusions over it: ids from TEXTURE_INCLUSION on, one of TEXTURE_KINDS, never over another deposit's pixels. */
enum { TEXTURE_INCLUSION = 64, TEXTURE_KINDS = 6 };
void texture_paint_inclusions(const struct scene *scene, uint8_t *map);

/* Paints scene->lumps: blots at random places, each over what is `in`, diameters lognormal about the median with a deviation of
 * 0.35. Their number is a Poisson variable, so that the share is met over many seeds, not in each picture. */
void texture_paint_lumps(const struct scene *scene, uint8_t *map);

#endif
