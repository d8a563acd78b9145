/* SPDX-License-Identifier: MIT */
/* What a scene's picture should read, region by region, and where its card is. */
#ifndef TAWNY_SUPPORT_TRUTH_H
#define TAWNY_SUPPORT_TRUTH_H

#include "base/text.h"
#include "scene.h"

enum truth_light { TRUTH_LIT, TRUTH_SHADED, TRUTH_EDGE }; /* over the whole region, or an edge in it */

struct truth_region {
  const struct scene_region *region; /* points into the scene                                               */
  struct xyz xyz_d50, xyz_c; /* of the deposit's mean reflectance, by summation                      */
  struct lab lab_d50;
  double
      gain; /* luminance of the light, mean over the region, over that at the card's middle; 1 without a card */
  struct vec3
      camera_gain; /* the same as the camera's channels see it on a grey surface                            */
  enum truth_light light;
  size_t pixels;
};

struct truth {
  bool card;
  struct point corner[4]; /* centres of the first, last-in-first-row, last and first-in-last-row patch */
  struct point
      patch[SCENE_PATCHES_MAX]; /* centres                                                                  */
  int patches;
  enum truth_light card_light; /* shade at the card's middle, or an edge across it */
  struct truth_region region[SCENE_REGIONS_MAX];
  int regions;
};

/* Holds pointers into the scene, which must outlive it. */
void truth_of_scene(const struct scene *scene, struct truth *truth);

/* Region file of the scene: header photo,region,context,find,zone,role,moisture,shape,points and a row a region. `header` false
 * leaves the header out, to add a further photo. */
void truth_regions_csv(const struct scene *scene, const char *photo, bool header, struct text *out);

/* Truth as CSV: photo,region,X_d50,Y_d50,Z_d50,L,a,b,X_c,Y_c,Z_c,light_gain,gain_r,gain_g,gain_b,light, one row a region; and
 * rows card-1 .. card-4 with the corners' x and y in the first two columns of figures. */
void truth_csv(const struct truth *truth, const char *photo, bool header, struct text *out);

/* Truth of scene_random_edge() as CSV: photo,x1,y1,x2,y2,place_px,place_mm,thick_px,thick_mm,de00; the last five empty where there is
 * no boundary. The place is counted along the line from its first end, the thickness across the boundary, mm in the card's plane. */
void truth_edge_csv(const struct scene *scene, const char *photo, bool header, struct text *out);

#endif
