/* SPDX-License-Identifier: MIT */
/* Faces painted pixel by pixel, with things of known place on them, in even light and with a card that is not painted. */
#ifndef TAWNY_TESTS_MEASURE_PAINTED_H
#define TAWNY_TESTS_MEASURE_PAINTED_H

#include "measure/division.h"
#include "measure/measure.h"
#include "measure/propose.h"
#include "random.h"

enum { PAINTED_WIDTH = 1280, PAINTED_HEIGHT = 960, PAINTED_LAYER = 480, PAINTED_LEVELS = 20000 };

enum painted_colour {
  PAINTED_BROWN,
  PAINTED_PALE,
  PAINTED_GREY_BROWN,
  PAINTED_BLACK,
  PAINTED_WHITE,
  PAINTED_BLUE,
  PAINTED_RED,    /* of the green of PAINTED_BROWN */
  PAINTED_NOTHING /* marks the place as a thing's, and leaves the picture */
};

struct painted {
  struct measurement m; /* owned */
  struct card_list cards;
  struct image_blocks blocks;
  uint8_t *thing;               /* owned; a byte a pixel: painted as a thing */
  uint8_t code[PAINTED_LEVELS]; /* of linear light from 0 to 1 */
  struct random random;
};

/* Brown above PAINTED_LAYER, with a waving boundary if `wave`, pale below; brown all over if `one`. */
void painted_begin(struct painted *p, uint64_t seed, bool one, bool wave);
void painted_end(struct painted *p);

/* A rectangle about a place, turned. `rough` as soil is, or smooth as paint; as a thing or as part of the face. */
void painted_box(struct painted *p, struct point at, double along, double across, double degrees,
                 enum painted_colour colour, bool rough, bool thing);
void painted_disc(struct painted *p, struct point at, double radius, enum painted_colour colour, bool rough,
                  bool thing);

/* Blocks and light, which the two below need. */
void painted_finish(struct painted *p);
void painted_divide(struct painted *p, struct division *division);
void painted_propose(struct painted *p, struct proposal *proposal);

/* Share of the things' pixels that lies inside outlines. */
double painted_inside(const struct painted *p, const struct proposal *proposal);

#endif
