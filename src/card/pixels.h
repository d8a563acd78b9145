/* SPDX-License-Identifier: MIT */
/* The pixels inside one patch of a card, for patches.c alone. */
#ifndef TAWNY_CARD_PIXELS_H
#define TAWNY_CARD_PIXELS_H

#include "card/pose.h"
#include "image/encoding.h"
#include "image/image.h"

/* Filled anew for each patch; the memory is kept. */
struct card_pixels {
  size_t count, capacity;
  float *code[3];         /* 0..1                                                          */
  float *linear[3];       /* nominal linear light                                          */
  float *x, *y;           /* centres, photo pixels                                         */
  float *work;            /* room for as many values                                       */
  float *block;           /* owned; the arrays above lie in it                             */
  bool *kept;             /* owned; by card_pixels_trim                                    */
  uint8_t *cell;          /* owned; ninth of the patch, 0..8                               */
  size_t high[3], low[3]; /* pixels at an end of the scale: from 254 of 255 on, at 0       */
  int stride;             /* every so manyth pixel and row was read                        */
  bool mixed;             /* no quarter of the pixels is near the medians of all channels  */
  float *linear_of[3];    /* by code; owned in linear_of[0]                                */
};

/* False, as for card_pixels_gather, when memory is out. */
bool card_pixels_open(struct card_pixels *p, const struct image *image, const struct encoding *encoding);
void card_pixels_close(struct card_pixels *p);

/* Takes the pixels whose centres lie in a convex quadrilateral, clockwise with y down, inside the frame. */
bool card_pixels_gather(struct card_pixels *p, const struct image *image, const struct point q[4]);

/* Upper median; reorders the values. */
double card_pixels_median(float *value, size_t count);

/* Marks the pixels within 4 robust standard deviations of the median of every channel; returns their number. All are marked
 * where these are less than a quarter (`mixed`). */
size_t card_pixels_trim(struct card_pixels *p);

#endif
