/* SPDX-License-Identifier: MIT */
/* A chart and soils as a made camera sees them: what tests of the fit begin with. */
#ifndef TAWNY_TESTS_PROFILE_SHOT_H
#define TAWNY_TESTS_PROFILE_SHOT_H

#include "profile/profile.h"

enum { PATCHES = 24, CAMERAS = 24, SOILS = 12 };
#define SEED ((uint64_t)24006)

/* A chart seen by a made camera, its reference off by `differs` (root mean square CIEDE2000), and soils beside it. */
struct shot {
  struct encoding encoding;
  struct profile_sample sample[PATCHES];
  struct vec3 soil[SOILS]; /* nominal linear light */
  struct lab soil_lab[SOILS];
};

/* Once before any shot: false where the support library is at fault. */
bool fill_chart(void);

/* The card is off its sheet by `differs`, root mean square CIEDE2000, and its tolerance is that but at least 0.3. */
void make_shot(uint64_t seed, double differs, double contrast, struct shot *shot);

/* Whether card_patches_read() would call it clipped. */
bool is_clipped(struct vec3 linear);

/* The fit with the light known; what it makes of nominal light and of a soil; the worst soil, CIEDE2000. */
struct profile fit(struct shot *shot);
struct vec3 toned(const struct profile *profile, struct vec3 nominal);
struct lab soil_read(const struct profile *profile, const struct shot *shot, int i);
double worst_soil(const struct profile *profile, const struct shot *shot);

#endif
