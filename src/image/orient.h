/* SPDX-License-Identifier: MIT */
/* Turning a photograph upright while its rows are decoded (EXIF 2.3, tag Orientation), so that no pixel is moved twice;
 * for the floor's own files. */
#ifndef TAWNY_IMAGE_ORIENT_H
#define TAWNY_IMAGE_ORIENT_H

#include "image/image.h"

struct orient {
  struct image *image; /* borrowed; holds the upright codes                            */
  int orientation;     /* 1 to 8; 1 = upright as stored                                */
  int width, height;   /* as stored                                                    */
  uint8_t *strip;      /* owned; rows on their way, NULL where orientation is 1        */
};

/* Gives the image its upright size and memory for codes of image->bits. Without memory false; orient_end() is due
 * in both cases. */
bool orient_begin(struct orient *orient, struct image *image, int orientation, int width, int height,
                  struct error *error);

/* Where the decoder puts the stored row y: 3 codes a pixel. */
void *orient_row(const struct orient *orient, int y);

/* Says that row y is in its place. Rows come in order, each once. */
void orient_row_done(const struct orient *orient, int y);

void orient_end(struct orient *orient);

#endif
