/* SPDX-License-Identifier: MIT */
/* Light that blur spills over the borders of patches, for patches.c alone. */
#ifndef TAWNY_CARD_SPILL_H
#define TAWNY_CARD_SPILL_H

#include "card/patches.h"
#include "card/pixels.h"

/* Measures the blur of the photo at the borders of small patches (patches->blur) and takes what it mixed into their means, of neighbours and
 * of the frame between them, out again; the covariance grows by a share of it. Returns false when memory is out. */
bool card_spill_take_out(struct card_pixels *pixels, const struct image *image,
                         const struct card_reference *card, const struct card_pose *pose,
                         struct card_patches *patches);

#endif
