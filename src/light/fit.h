/* SPDX-License-Identifier: MIT */
/* The pooled fit: one field, a level for each deposit. */
#ifndef TAWNY_LIGHT_FIT_H
#define TAWNY_LIGHT_FIT_H

#include "light/cells.h"
#include "light/on_card.h"

/* Part of one deposit that lies in one square of the frame: about as far as coarse texture reaches, so that neighbouring
 * tiles are nearly independent. Ordered by square, then by deposit. */
struct tile {
  int segment, column, row;
  double count;    /* cells */
  struct vec3 log; /* means, channels as in cells.h   */
  double basis[LIGHT_COMMON], step;
};

/* What a tile counts for, 0..1: many cells share one coarse texture. */
double tile_weight(const struct tile *tile);

struct tiles {
  size_t count;
  struct tile *tile; /* owned */
};

/* Gathers the inner cells that are like their deposit. */
bool tiles_make(const struct cells *cells, const struct light *light, int segments, struct tiles *tiles,
                struct error *error);
/* Adds the card's patches as tiles of one more deposit, those in the half shadow with little weight; there is room. */
void tiles_add_card(const struct card_light *samples, const struct light *light, int segment,
                    struct tiles *tiles);
void tiles_clear(struct tiles *tiles);

/* Levels of the deposits, and what is known of them. */
struct levels {
  int count;
  double weight[LIGHT_DEPOSITS_MAX + 1]; /* tiles in sum                      */
  struct vec3 level[LIGHT_DEPOSITS_MAX + 1], variance[LIGHT_DEPOSITS_MAX + 1];
};

/* Fits the light's terms, covariance and disagreement to the tiles. `levels` may be NULL. False in `estimated` when the
 * tiles are too few. */
bool fit_field(const struct tiles *tiles, int segments, struct light *light, struct levels *levels,
               struct error *error);

/* Gives tiles of deposits whose levels are alike beyond doubt, such as a layer on both sides of a cut, to one of them. */
void merge_alike(const struct levels *levels, struct tiles *tiles);

/* A first idea of the field from differences between cells a few steps apart, most of which lie in one deposit. */
bool fit_differences(const struct cells *cells, struct light *light, struct error *error);

#endif
