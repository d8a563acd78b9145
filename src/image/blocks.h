/* SPDX-License-Identifier: MIT */
/* A photograph in square blocks: one pass over the pixels gives what the card finder and the light need. */
#ifndef TAWNY_IMAGE_BLOCKS_H
#define TAWNY_IMAGE_BLOCKS_H

#include "image/image.h"

struct image_blocks {
  int size; /* pixels a side; the last column and row may hold fewer, at least size / 2 (a thinner rest is
                      * left out)                                                        */
  int columns, rows;
  float *mean;   /* owned; R G B a block, codes as 0..1                               */
  float *spread; /* owned; standard deviation of the green code inside the block, 0..1 */
  /* owned; share of pixels with any channel at an end of the scale, literally 0 or 255 (65535), rounded up: 0 = none,
   * 255 = all. A tone curve that ends below white, or a JPEG that blurs the ends, hides clipping from this. */
  uint8_t *clipped;
};

/* size 1 to 256; fails for want of memory only. An image smaller than half a block has no blocks. */
bool image_blocks_make(const struct image *image, int size, struct image_blocks *blocks, struct error *error);
void image_blocks_clear(struct image_blocks *blocks);

#endif
