/* SPDX-License-Identifier: MIT */
/* Blocks of a made-up face in a known light, without a picture: deposits, a card, texture. */
#ifndef TAWNY_TESTS_LIGHT_MADE_FACE_H
#define TAWNY_TESTS_LIGHT_MADE_FACE_H

#include "light/light.h"
#include "random.h"

enum {
  FACE_COLUMNS = 160,
  FACE_ROWS = 120,
  FACE_BLOCK = 8,
  FACE_WIDTH = FACE_COLUMNS * FACE_BLOCK,
  FACE_HEIGHT = FACE_ROWS * FACE_BLOCK
};

struct face {
  struct profile profile;
  struct card_list cards;
  struct card_pose pose;
  struct image_blocks blocks;
  struct light truth; /* place of card and frame, terms and edge as put in */
};

struct face_kind {
  int deposits;   /* 1 to 4 */
  double fine;    /* standard deviation of log signal of a block                         */
  double coarse;  /* and of texture of 60 pixels' length                                 */
  double grading; /* log signal by which the first deposit changes over the frame's width */
};

/* Even light; blocks are not filled yet. */
void face_begin(struct face *face);

/* A smooth light of the sizes that photos show. */
void face_random_light(struct face *face, struct random *random);

/* A shadow edge through the frame, half a pixel's worth of its softness inside `half`; log gains of shade. */
void face_shadow(struct face *face, struct point place, double degrees, double half);

void face_fill(struct face *face, struct face_kind kind, struct random *random);
void face_estimate(const struct face *face, struct light *light);
void face_end(struct face *face);

#endif
