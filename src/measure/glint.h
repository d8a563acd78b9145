/* SPDX-License-Identifier: MIT */
/* Mirrored light that blur has smeared. */
#ifndef TAWNY_MEASURE_GLINT_H
#define TAWNY_MEASURE_GLINT_H

#include "measure/reading.h"

/* In a sharp photo pixels that mirror the light stand out and are left out. Out of focus each is spread over its neighbours, and
 * a wet face reads light as a whole. What is likely is taken out of statistics.linear. `blur`: pixels, 0 if not known. */
void glint_take_out(const struct profile *profile, double blur, struct reading *reading);

/* Linear light of the perfect diffuser. */
struct vec3 glint_white(const struct profile *profile);

#endif
