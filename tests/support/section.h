/* SPDX-License-Identifier: MIT */
/* Section faces: deposits in layers, cuts with their fills, and regions outlined in them. */
#ifndef TAWNY_SUPPORT_SECTION_H
#define TAWNY_SUPPORT_SECTION_H

#include "scene.h"

/* Replaces the scene's deposits by `layers` (1..6) from top to bottom with uneven boundaries, and `cuts` (0..2) from above with
 * their fills. Soils are drawn from the source in the given state; contexts are numbered from 1001. */
void section_face(struct scene *scene, const struct spectra_source *source, int layers, int cuts,
                  enum region_moisture state, struct random *random);

/* Outline of everything below an uneven line at about `level` (share of the height). */
void section_outline_layer(const struct scene *scene, struct scene_deposit *deposit, double level,
                           uint64_t seed);

/* Outline of a ditch, shares of width and height: from the level down to `depth` below it, steep sides, rounded bottom. */
void section_outline_cut(const struct scene *scene, struct scene_deposit *deposit, double level,
                         double middle, double half, double depth, uint64_t seed);

/* Random texture as deposits have; wet ones glint. */
struct scene_texture section_texture(enum region_moisture state, struct random *random);

/* Outlines up to `each` regions inside every deposit, clear of its edges and of the card; shapes by turns. Deposits that are seen
 * too little get fewer or none. */
void section_regions(struct scene *scene, int each, struct random *random);

#endif
