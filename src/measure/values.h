/* SPDX-License-Identifier: MIT */
/* Hue, value, chroma, chip and name of a reading whose Lab and covariance are known. */
#ifndef TAWNY_MEASURE_VALUES_H
#define TAWNY_MEASURE_VALUES_H

#include "measure/reading.h"

/* Fills xyY_c to runner_up_chance, radius and spread95. ERROR_UNMEASURABLE "no-colour" where Lab is no colour a surface can
 * have at all (not finite, or black of negative luminance). */
bool values_fill(struct reading *reading, struct error *error);

/* Radius in CIEDE2000 round c that holds a share of 95 % of a normal distribution with this covariance in Lab. */
double values_radius95(struct lab c, struct mat3 covariance);

#endif
