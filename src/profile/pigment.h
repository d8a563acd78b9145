/* SPDX-License-Identifier: MIT */
/* How far a patch may read off because a camera is no colorimeter: calibration/cameras/README.md. */
#ifndef TAWNY_PROFILE_PIGMENT_H
#define TAWNY_PROFILE_PIGMENT_H

#include "colour/space.h"

enum { PIGMENT_COMPONENTS = 6, PIGMENT_ROWS = 24, PIGMENT_COLUMNS = 3 + 3 * PIGMENT_COMPONENTS };

/* The table: Lab of the patch, then dL da db of each component. */
extern const double PIGMENT_TABLE[PIGMENT_ROWS][PIGMENT_COLUMNS];

struct pigment {
  double component[3]
                  [PIGMENT_COMPONENTS]; /* Lab; effect of unknowns of unit variance that all patches share */
  struct mat3 rest;                     /* covariance in Lab of what they don't cover               */
};

/* For a patch with this colour. Those within a few units of a tabulated patch are taken to have its reflectance; of others only the
 * size is known, from tabulated patches of like colour. */
struct pigment pigment_of(struct lab reference);

/* Covariance in Lab of what surfaces of about this colour, pigments unknown, are off by. */
struct mat3 pigment_size(struct lab c);

#endif
