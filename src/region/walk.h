/* SPDX-License-Identifier: MIT */
/* The pixels inside an outline, evened to the card's light, handed on in short runs.
 *
 * Decoding and tone curve come from a table by code, the light's gain from a grid of WALK_CELL pixels with bilinear
 * interpolation: nothing heavy is done for a pixel. */
#ifndef TAWNY_REGION_WALK_H
#define TAWNY_REGION_WALK_H

#include "image/image.h"
#include "light/light.h"
#include "profile/profile.h"
#include "region/region.h"

enum { WALK_CELL = 16, WALK_BLOCKS_ACROSS = 12 };

/* Added to linear light before the logarithm is taken: about what noise is in the dark, where a plain logarithm would
 * spread it without end. */
#define WALK_FLOOR 0.004

/* Up to WALK_CELL pixels side by side, all in one cell and one block. */
struct walk_run {
  int x, y, count;
  size_t block;                     /* row after row, below columns x rows                        */
  float linear[3][WALK_CELL];       /* evened linear light                                        */
  float log[3][WALK_CELL];          /* log of (linear light + WALK_FLOOR), evened                 */
  unsigned char clipped[WALK_CELL]; /* 1: a code at an end of the scale                           */
  float gain[3];                    /* of the light, in the run's middle                          */
};

struct walk {
  const struct image *image; /* borrowed, likewise the next two */
  const struct light *light;
  const struct region *region;
  int left, top, right, bottom; /* pixels that the outline can reach: left <= x < right       */
  int block;                    /* side of a block in pixels                                  */
  int columns, rows;            /* of blocks                                                  */
  float *table;                 /* owned; per channel and step of code: linear light, its log  */
  size_t steps;
  float *node[2]; /* owned; the light at the cells' upper and lower corners     */
  int cell;
  double *crossing;          /* owned */
  struct outline_span *span; /* owned */
};

/* Prepares to walk a region that region_check has passed. Blocks are at least as wide as the compression of the photo
 * couples neighbours (8 pixels in a JPEG), and at most WALK_BLOCKS_ACROSS lie side by side. */
bool walk_begin(struct walk *walk, const struct image *image, const struct profile *profile,
                const struct light *light, const struct region *region, struct error *error);
void walk_end(struct walk *walk);

/* Pixels inside, and how many of them lie across or on a shadow edge. */
size_t walk_count(struct walk *walk, size_t *beyond);

/* Calls `take` with every run of every `step`-th row. */
void walk_rows(struct walk *walk, int step, void (*take)(const struct walk_run *run, void *context),
               void *context);

#endif
