/* SPDX-License-Identifier: MIT */
/* The core of a cloud of colours: the one population that most pixels belong to.
 *
 * Coordinates are logarithms of linear light, in which the texture of soils - shading of grains and pores - is nearly
 * normal. The core is the normal distribution that fits the cloud's densest majority; what lies off to one side, up to a
 * third of the cloud, has no say in it. docs/method.md has the equations. */
#ifndef TAWNY_REGION_CORE_H
#define TAWNY_REGION_CORE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/matrix.h"

struct core {
  struct vec3 centre;     /* log R, G, B                                                            */
  struct mat3 covariance; /* of a single pixel, `least` included                                    */
  struct mat3 whiten;     /* |whiten (x - centre)| is the distance of x in standard deviations      */
};

/* Distances in standard deviations: the centre is taken from pixels within CORE_WINDOW (90 % of a normal population), and
 * pixels beyond CORE_LIMIT (0.7 %) are not of the core. Between them the tails of other populations are felt. */
#define CORE_WINDOW 2.5
#define CORE_LIMIT 3.5

/* Variance of a coordinate inside CORE_WINDOW over that of the whole normal population: P5(w^2) / P3(w^2) with Pk the
 * chi-square distribution of k degrees of freedom. */
#define CORE_WINDOW_VARIANCE 0.7971

/* Finds the core of `count` colours, at least 8. `least` is the covariance that rounding alone makes: without it the colours
 * that happen to share a code would be a core of their own. False when memory runs out. */
bool core_find(const struct vec3 *colour, size_t count, struct mat3 least, struct core *core);

#endif
