/* SPDX-License-Identifier: MIT */
/* Differences between two colours given in CIELAB under the same white. */
#ifndef TAWNY_COLOUR_DIFFERENCE_H
#define TAWNY_COLOUR_DIFFERENCE_H

#include "colour/space.h"

struct colour_difference {
  double total;     /* CIEDE2000 or CIE 1976, >= 0                                       */
  double lightness; /* signed parts of `total`, second minus first: positive is lighter,  */
  double chroma;    /* more chromatic,                                                    */
  double hue;       /* turned to higher hue angle. For CIEDE2000 weighted by S and k and  */
  double rotation;  /* with the rotation term R_T (dC'/S_C) (dH'/S_H), which may be       */
                    /* negative; total^2 = lightness^2 + chroma^2 + hue^2 + rotation      */
};

/* CIE 142-2001 / ISO/CIE 11664-6, with kL = kC = kH = 1; hue rules as Sharma, Wu & Dalal 2005 clear them up. */
struct colour_difference colour_difference_2000(struct lab first, struct lab second);

/* CIE 1976: plain distance in CIELAB; rotation 0. */
struct colour_difference colour_difference_1976(struct lab first, struct lab second);

/* colour_difference_2000().total, for brevity. */
double colour_de00(struct lab first, struct lab second);

/* The local metric of CIEDE2000 at c: de00(c, c + d)^2 -> d' M d for small d = (dL, da, db). Symmetric, positive
 * definite. Used to weigh residuals and to turn a covariance in Lab into a radius. */
struct mat3 colour_de00_metric(struct lab c);

/* Radius in CIEDE2000 that holds 95 % of normal errors in Lab with this covariance about c. */
double colour_de00_radius95(struct lab c, struct mat3 covariance);

#endif
