/* SPDX-License-Identifier: MIT */
/* The tone curve: what a camera did to linear light beyond its file's nominal curve (contrast, lifted shadows).
 *
 * With u = L*(n) / 100, CIE lightness of nominal linear light n (extended linearly below 0),
 *
 *   v(u) = k0 + integral from 0 to u of exp(q) ,   t = (the linear light whose L* / 100 is v) - k8 ,
 *
 * where q is linear between seven even knots k1..k7 on 0..1 and constant beyond. So t rises strictly whatever the knots,
 * its slope is continuous and k = 0 is the nominal curve; k0 is lifted or crushed black, k8 the veil of stray light that
 * every lens adds. The perceptual variable spends the knots where eyes and cameras do. */
#ifndef TAWNY_PROFILE_TONE_H
#define TAWNY_PROFILE_TONE_H

#include "profile/profile.h"

/* Linear light of nominal linear light, and back: exact inverses to rounding. */
double tone_apply(const double knot[PROFILE_KNOTS], double nominal);
double tone_invert(const double knot[PROFILE_KNOTS], double linear);

/* d(linear) / d(nominal), and d(linear) / d(knot), at a nominal value. */
double tone_slope(const double knot[PROFILE_KNOTS], double nominal);
void tone_gradient(const double knot[PROFILE_KNOTS], double nominal, double gradient[PROFILE_KNOTS]);

#endif
