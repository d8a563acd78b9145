/* SPDX-License-Identifier: MIT */
/* The photo in some thousand square cells: what the light is estimated from. */
#ifndef TAWNY_LIGHT_CELLS_H
#define TAWNY_LIGHT_CELLS_H

#include "light/light.h"

/* Log signal comes as green, red over green, blue over green: the field's common and tint terms then part. */
enum { CELLS_GREEN, CELLS_RED, CELLS_BLUE };

struct cell {
  struct point place; /* centre, pixels                                      */
  struct vec3 log;    /* green, red over green, blue over green              */
  struct vec3 even;   /* the same with the light of the moment taken out     */
  bool open;          /* clear of the card, clipping and black               */
  bool inner;         /* and of its deposit's rim                            */
  bool card;          /* on the card or its margin                           */
  int segment;        /* 0 none, 1..                                         */
};

struct cells {
  int block, merge; /* pixels a block, blocks a cell (sides) */
  int columns, rows;
  size_t count;
  struct cell *cell; /* owned, rows top down */
};

bool cells_make(const struct image_blocks *blocks, const struct profile *profile,
                const struct card_reference *card, const struct card_pose *pose, struct cells *cells,
                struct error *error);
/* The same with `merge` blocks a side of a cell. */
bool cells_make_of(const struct image_blocks *blocks, int merge, const struct profile *profile,
                   const struct card_reference *card, const struct card_pose *pose, struct cells *cells,
                   struct error *error);
void cells_clear(struct cells *cells);

/* Fills `even` from `log` by the light's terms. */
void cells_even(struct cells *cells, const struct light *light);

/* The cell at a column and row, NULL outside or where it is not open. */
struct cell *cells_open_at(const struct cells *cells, int column, int row);

#endif
