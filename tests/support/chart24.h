/* SPDX-License-Identifier: MIT */
/* The classic 24-patch chart as the renderer prints it. */
#ifndef TAWNY_SUPPORT_CHART24_H
#define TAWNY_SUPPORT_CHART24_H

#include <stdbool.h>

#include "colour/spectrum.h"

enum { CHART24_PATCHES = 24 };
enum chart24_edition { CHART24_BEFORE_2014, CHART24_AFTER_2014, CHART24_EDITIONS };

/* Names of the patches, row by row. */
const char *chart24_name(int patch);

/* Colour under D50 as the chart's maker published it in 2016 for charts made before or after November 2014. */
struct lab chart24_lab_d50(enum chart24_edition edition, int patch);

/* The smoothest reflectance that has the given colour under D50: r = 1 / (1 + exp(-z)) with the least sum of squared second
 * differences of z, so that it stays between 0 and 1. False where no such reflectance is found. */
bool chart24_smoothest(struct lab lab_d50, struct spectrum *reflectance);

#endif
