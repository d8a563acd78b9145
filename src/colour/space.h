/* SPDX-License-Identifier: MIT */
/* Colour spaces, one struct each so that the compiler refuses a mix-up.
 *
 * Everything is for the CIE 1931 2-degree observer and relative to the perfect diffuser, Y = 100. The
 * white point is an argument wherever a formula needs one; there is no default. */
#ifndef TAWNY_COLOUR_SPACE_H
#define TAWNY_COLOUR_SPACE_H

#include <stdbool.h>

#include "base/matrix.h"

struct xyz {
  double X, Y, Z; /* Y 0..100 */
};

struct xyY {
  double x, y, Y; /* Y 0..100 */
};

struct lab {
  double L, a, b; /* CIELAB (CIE 15), L 0..100 */
};

struct lch {
  double L, C, h; /* hue angle in degrees, 0 <= h < 360; 0 where C is 0 */
};

/* White points, X Y Z with Y = 100. D50 is that of the ICC profile connection space (ICC.1: 0.9642, 1, 0.8249),
 * in which all Lab of this program is given; C and D65 are the CIE 15 chromaticities (0.31006, 0.31616) and
 * (0.31272, 0.32903). */
extern const struct xyz COLOUR_WHITE_D50;
extern const struct xyz COLOUR_WHITE_C;
extern const struct xyz COLOUR_WHITE_D65;

/* y = 0 gives black; X = Y = Z = 0 gives the chromaticity of `white`, so that black stays neutral. */
struct xyz colour_xyz_from_xyY(struct xyY c);
struct xyY colour_xyY_from_xyz(struct xyz c, struct xyz white);

/* CIE 15:2018, 8.2.1, with the exact fractions (6/29)^3 and (29/6)^2 / 3. Extends smoothly (linearly) below zero. */
struct lab colour_lab_from_xyz(struct xyz c, struct xyz white);
struct xyz colour_xyz_from_lab(struct lab c, struct xyz white);

struct lch colour_lch_from_lab(struct lab c);
struct lab colour_lab_from_lch(struct lch c);

/* d(L, a, b) / d(X, Y, Z) at c. */
struct mat3 colour_lab_jacobian(struct xyz c, struct xyz white);

struct vec3 colour_vec_from_xyz(struct xyz c);
struct xyz colour_xyz_from_vec(struct vec3 c);
struct vec3 colour_vec_from_lab(struct lab c);
struct lab colour_lab_from_vec(struct vec3 c);

bool colour_xyz_is_finite(struct xyz c);
bool colour_lab_is_finite(struct lab c);

#endif
