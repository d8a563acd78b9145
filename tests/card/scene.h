/* SPDX-License-Identifier: MIT */
/* Photos of flat patches for the finder's tests: a chart seen by a pinhole camera before clutter, with cast, tone, blur and
 * noise. Nothing spectral; colours are linear sRGB from the card's Lab. */
#ifndef TAWNY_TESTS_CARD_SCENE_H
#define TAWNY_TESTS_CARD_SCENE_H

#include "card/pose.h"
#include "image/image.h"
#include "random.h"

enum { SCENE_PATCHES_MAX = 160, SCENE_CARDS_MAX = 2 };

/* A chart of columns x rows square patches at a pitch of 1, the first at 0, 0. */
struct scene_card {
  int columns, rows;
  struct vec3 linear[SCENE_PATCHES_MAX]; /* row by row, 0..1      */
  double fill;                           /* patch side over pitch */
  double rim;                            /* pitches of dark board beyond the outer patches' centres */
  struct mat3 photo_from_grid;
};

struct scene {
  int width, height;
  int cards;
  struct scene_card card[SCENE_CARDS_MAX];
  struct vec3 cast; /* gain on linear light                        */
  double gamma;     /* code = linear ^ (1 / gamma)                 */
  double veil;      /* stray light added                           */
  double noise;     /* standard deviation, codes 0..1              */
  int clutter;      /* shapes in the background                    */
  int bits;
};

/* Colours of a 24-patch edition on a board of usual make, not placed yet. */
struct scene_card scene_chart(const struct card_reference *reference);

/* Places a card: pixels a pitch, radians in the plane, tilt about an axis at `direction`, centre in the photo. */
void scene_place(struct scene_card *card, double pitch, double turn, double tilt, double direction,
                 struct point centre);

/* Where a grid place lies in the photo. */
struct point scene_point(const struct scene_card *card, double column, double row);

/* True when the board lies in the frame. */
bool scene_inside(const struct scene *scene, const struct scene_card *card);

/* Renders with 3 x 3 samples a pixel on the cards; `image` is owned by the caller. */
void scene_render(const struct scene *scene, struct random *random, struct image *image);

#endif
