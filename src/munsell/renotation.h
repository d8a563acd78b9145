/* SPDX-License-Identifier: MIT */
/* The Munsell renotation (Newhall, Nickerson & Judd 1943; below value 1 Judd & Wyszecki 1956): colours under
 * illuminant C, 1931 2-degree observer, to hue, value and chroma and back. Luminance by ASTM D1535. */
#ifndef TAWNY_MUNSELL_RENOTATION_H
#define TAWNY_MUNSELL_RENOTATION_H

#include <stdbool.h>

#include "colour/space.h"

struct munsell {
  double hue;   /* 0 < hue <= 100: 10 = 10R, 20 = 10YR, 100 = 10RP (ASTM D1535). Meaningless (0) if neutral */
  double value; /* 0..10 */
  double chroma; /* >= 0; neutral below MUNSELL_NEUTRAL_CHROMA */
};

/* Chroma below which a colour is written as a neutral: rounds to 0.0 in a notation with one decimal. */
#define MUNSELL_NEUTRAL_CHROMA 0.05

/* How far to trust a conversion. */
enum munsell_place {
  MUNSELL_PUBLISHED,    /* between published rows of the renotation                            */
  MUNSELL_EXTRAPOLATED, /* beyond the published chromas, inside the extrapolated rows          */
  MUNSELL_OUTSIDE /* a colour no opaque surface can have (outside the MacAdam limits), or beyond the rows */
};

bool munsell_is_neutral(struct munsell m);

/* Luminous reflectance, percent of the perfect diffuser, of a value 0..10 (ASTM D1535-14 quintic), and its inverse
 * (Newton, to 1e-12; Y is clamped to 0..100). */
double munsell_luminance(double value);
double munsell_value(double luminance);

/* Forward: xyY under C. Linear in chroma, in hue and (of chromaticity) in luminance between rows as docs/method.md
 * tells. Value is clamped to 0..10; chroma may pass the rows, linearly extended. */
struct xyY munsell_to_xyY(struct munsell m);

/* Inverse. Always gives the nearest solution it reached; returns false where none is exact to 1e-6 in chromaticity
 * (only outside the published solid). `place` may be NULL. Not finite input: false and all zero. */
bool munsell_from_xyY(struct xyY c, struct munsell *m, enum munsell_place *place);

/* Whether any opaque surface can have the colour (MacAdam limits under C, from the tables in calibration/cie). */
bool munsell_is_real_surface(struct xyY c);

/* d(hue, value, chroma) / d(X, Y, Z under C) at m by differences of the forward map. False near neutrals, where hue
 * has no derivative (chroma below 0.3); the hue row is then zero. */
bool munsell_jacobian(struct munsell m, struct mat3 *jacobian);

#endif
