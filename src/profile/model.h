/* SPDX-License-Identifier: MIT */
/* The way from linear light to CIELAB through the parameters of a profile, in the order of profile.h. */
#ifndef TAWNY_PROFILE_MODEL_H
#define TAWNY_PROFILE_MODEL_H

#include "profile/profile.h"

/* Scales that turn differences of Lab into units of about one CIEDE2000: S_L, and S_C for a and b alike, as CIE 142-2001
 * has them but for its hue terms. */
struct vec3 model_units(struct lab c);

/* The ten functions of the bend: with u = ((L - 50), a c, b c) / 80 and c = 1 / (1 + 0.02 C*ab), which holds far colours
 * back: 1, the u, their squares over sqrt 2 and their products. They are the leading terms of a Gaussian kernel of
 * width 60, so that a prior of one size on all coefficients asks for the smoothest bend. */
void model_bend_functions(struct lab c, double function[PROFILE_BENDS]);

/* Lab bent: each of L, a, b moves by units times the sum of coefficients times functions. */
struct lab model_bend(struct lab c, const double *bend);

/* Lab of evened linear light. `bend` NULL: none. */
struct lab model_lab(const double *matrix, const double *bend, struct vec3 linear);

#endif
