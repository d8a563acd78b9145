/* SPDX-License-Identifier: MIT */
/* The smooth field's functions of place. */
#ifndef TAWNY_LIGHT_FIELD_H
#define TAWNY_LIGHT_FIELD_H

#include "light/light.h"

/* Standard deviations of the priors, of natural log gain at one half diagonal (docs/method.md). */
extern const double FIELD_PRIOR[LIGHT_STEP_AT];

/* x, y, radial, x^2 - y^2, xy at a place, all zero at the card; the last three about the frame's middle. The first
 * LIGHT_TINT of them are those of the tints. */
void field_basis(const struct light *light, struct point place, double basis[LIGHT_COMMON]);

#endif
