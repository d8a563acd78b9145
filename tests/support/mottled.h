/* SPDX-License-Identifier: MIT */
/* Scenes of mottled deposits and mixed fills, and what there is of each soil in a region. */
#ifndef TAWNY_SUPPORT_MOTTLED_H
#define TAWNY_SUPPORT_MOTTLED_H

#include "scene.h"

/* A random scene of the tier whose face is one deposit with lumps of another soil in it, `differs` CIEDE2000 or more away: 1 to 45 % of the
 * area, median diameter 14 to 50 pixels. Up to two regions of 260 to 420 pixels, clear of the card. `stones` false: no inclusions. */
void mottled_scene(enum scene_tier tier, uint64_t seed, const struct spectra_source *source, double differs,
                   bool stones, struct scene *scene);

struct mottled_truth {
  double share; /* of the lumps in the region */
  double
      diameter; /* pixels: median over the lumps of at least `least` pixels' area of that of a circle of the same area; those cut
                    * by the region's edge are left out where three others are there. 0: none */
  size_t lumps; /* at least so large          */
};

/* Reads the scene's own map. False when memory runs out. */
bool mottled_truth_of(const struct scene *scene, const struct scene_region *region, double least,
                      struct mottled_truth *truth);

/* CIEDE2000 between the two soils under D50. */
double mottled_contrast(const struct scene *scene);

#endif
