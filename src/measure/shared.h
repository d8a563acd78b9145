/* SPDX-License-Identifier: MIT */
/* What the regions of one photo share: the camera model and the light, as unit-variance unknowns. */
#ifndef TAWNY_MEASURE_SHARED_H
#define TAWNY_MEASURE_SHARED_H

#include "light/light.h"
#include "measure/reading.h"
#include "profile/profile.h"

/* Cholesky factors of both covariances: an unknown is a column. */
struct shared_unknowns {
  double profile[PROFILE_PARAMETERS][PROFILE_PARAMETERS];
  double light[LIGHT_TERMS][LIGHT_TERMS];
};

void shared_unknowns_make(const struct profile *profile, const struct light *light,
                          struct shared_unknowns *shared);

/* Fills the uncertainty of a reading whose statistics and Lab are set: shared, own, cause, covariance. */
void shared_propagate(const struct profile *profile, const struct light *light,
                      const struct shared_unknowns *shared, struct reading *reading);

/* For readings on both sides of one boundary: the face leans the same way there, so the lean of each becomes shared with the others. */
void shared_one_plane(struct reading *reading);

#endif
