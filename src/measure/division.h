/* SPDX-License-Identifier: MIT */
/* The face divided into connected parts of like colour, cell by cell: from the deposits that the light was estimated with,
 * their rims made sharper. */
#ifndef TAWNY_MEASURE_DIVISION_H
#define TAWNY_MEASURE_DIVISION_H

#include "light/cells.h"

/* What lies on the face and is no deposit. */
enum division_thing { DIVISION_FACE = 0, DIVISION_STRING, DIVISION_BOARD };

struct division {
  struct cells cells; /* owned; `segment`: 0 none, 1..parts */
  uint8_t *
      thing; /* owned; per cell: enum division_thing. A string's cells have the colour and part of what is beside */
  double side; /* pixels of a cell                    */
  size_t face; /* cells that are not on the card      */
  int parts;
};

enum { DIVISION_PARTS_MAX = 60 };

/* Parts below a set share of the face are given to what they lie in, where their colour is like it, else left out as specks.
 * What is thin everywhere is left out too: rims. At most DIVISION_PARTS_MAX parts, the largest. Strings and boards are marked. */
bool division_make(const struct image *image, const struct image_blocks *blocks,
                   const struct profile *profile, const struct card_reference *card,
                   const struct card_pose *pose, const struct light *light, struct division *division,
                   struct error *error);
void division_clear(struct division *division);

/* Marks in `mask` (a byte a cell) the cells of a part without things, and without those closer than `inset` cells to others of
 * the face. Returns how many. */
size_t division_mask(const struct division *division, int part, int inset, uint8_t *mask);

/* How far the colours of two sets of parts stand apart, against how squares as large as the smaller one (at least a dozen
 * squares in all) scatter inside the two: the squared distance of their means over 30 + 8 log(larger / smaller), which
 * allows for the smaller one being picked from many. Up to 1 it may be a patch of the same deposit. `set` by part number. */
double division_contrast(const struct division *division, const int *set, int a, int b);

#endif
