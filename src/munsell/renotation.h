/* SPDX-License-Identifier: MIT */
/* The Munsell renotation (Newhall, Nickerson & Judd 1943; below value 1 Judd & Wyszecki 1956): colours under
 * illuminant C, 1931 2-degree observer, to hue, value and chroma and back. Luminance by ASTM D1535. */
#ifndef TAWNY_MUNSELL_RENOTATION_H
#define TAWNY_MUNSELL_RENOTATION_H

#include <stdbool.h>

#include "colour/space.h"

struct munsell {
  double hue;    /* 0 < hue <= 100: 10 = 10R, 20 = 10YR, 100 = 10RP (ASTM D1535); 0 where chroma is 0 */
  double value;  /* 0..10 */
  double chroma; /* >= 0; below MUNSELL_NEUTRAL_CHROMA the colour is a neutral and its hue means nothing */
};

/* Chroma below which a colour is written as a neutral: rounds to 0.0 in a notation with one decimal. */
#define MUNSELL_NEUTRAL_CHROMA 0.05

/* How far to trust a conversion. */
enum munsell_place {
  MUNSELL_PUBLISHED,    /* between published rows of the renotation, or neutral                */
  MUNSELL_EXTRAPOLATED, /* beyond them (or below value 0.2, above 9), inside the extrapolated rows */
  MUNSELL_OUTSIDE /* a colour no opaque surface can have (outside the MacAdam limits), or beyond the rows */
};

bool munsell_is_neutral(struct munsell m);

/* Luminous reflectance, percent of the perfect diffuser, of a value 0..10 (ASTM D1535-14 quintic), and its inverse
 * (Newton, to 1e-12; Y is clamped to 0..100). */
double munsell_luminance(double value);
double munsell_value(double luminance);

/* Forward: xyY under C. Between rows, angle and radius in the (a*, b*) plane under C are linear in hue, value and chroma
 * (docs/method.md). Value is clamped to 0..10, any hue is taken round the circle; chroma may pass the rows, where the
 * radius grows on linearly, though no real colour need be there (Z < 0). Not finite: all zero. */
struct xyY munsell_to_xyY(struct munsell m);

/* Inverse. The forward map has no folds, so each colour with y > 0 and Y 0..100 has one solution, far beyond the rows too:
 * look at `place` (may be NULL) and at the chroma. Other input (y <= 0, Y outside 0..100, not finite): false, `place` is
 * MUNSELL_OUTSIDE, and *m is the solution for Y clamped to 0..100, or all zero where there is none. */
bool munsell_from_xyY(struct xyY c, struct munsell *m, enum munsell_place *place);

/* Where a notation lies among the rows, whether or not a surface can have the colour. */
enum munsell_place munsell_place_in_rows(struct munsell m);

/* Whether any opaque surface can have the colour (MacAdam limits under C, from the tables in calibration/cie). */
bool munsell_is_real_surface(struct xyY c);

/* d(hue, value, chroma) / d(X, Y, Z under C) at m by differences of the forward map. False near neutrals, where hue
 * has no derivative (chroma below 0.3); the hue row is then zero. False and all zero where m is not finite. */
bool munsell_jacobian(struct munsell m, struct mat3 *jacobian);

#endif
