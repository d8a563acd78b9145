/* SPDX-License-Identifier: MIT */
/* Where the matrix of colour/adapt.h comes from: a 3x3 that takes the colour of an object under D50 to its colour under
 * illuminant C, fitted on reflectances made from a formula.
 *
 * Model: c = M x, with x = XYZ under D50, c = XYZ under C of the same reflectance, and M w50 = wC (a white stays white).
 * M = diag(wC / w50) + sum of six p_k N_k, where each N_k w50 = 0, so the constraint holds for any p.
 * Residual: S_i (M x_i - c_i), with S_i' S_i = J' G J, J = d Lab / d XYZ under C and G the metric of CIEDE2000, both at c_i:
 * to first order, length = CIEDE2000. Linear in p, so one least-squares solution.
 *
 * Tristimulus values of the summation are scaled so that the perfect diffuser gets the white points of colour/space.h
 * exactly (the sums over 5 nm differ from them by 0.03 % in Z). */
#ifndef TAWNY_SUPPORT_OBJECT_MATRIX_H
#define TAWNY_SUPPORT_OBJECT_MATRIX_H

#include <stddef.h>

#include "colour/spectrum.h"
#include "random.h"

/* A smooth reflectance such as soils have: a rising sigmoid of wavelength on a base, tilted a little, with up to three
 * shallow bands. Ranges are chosen, not fitted: base 0.02-0.12; height 0.05-0.5, evenly in its logarithm; middle
 * 490-630 nm; width 30-90 nm; tilt -10..+25 % from one end to the other; bands -2..+6 % deep. */
struct spectrum object_reflectance(struct random *random);

/* The same object under both lights. */
struct object_colours {
  struct xyz d50, c;
};
struct object_colours object_colours_of(const struct spectrum *reflectance);

/* The fit on `count` reflectances that random_start(seed) gives. */
struct mat3 object_matrix_fit(uint64_t seed, size_t count);

/* Seed and count behind the constants in colour/adapt.c. */
enum { OBJECT_MATRIX_SEED = 1943, OBJECT_MATRIX_COUNT = 2000 };

#endif
