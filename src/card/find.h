/* SPDX-License-Identifier: MIT */
/* Finding reference cards in a photo. */
#ifndef TAWNY_CARD_FIND_H
#define TAWNY_CARD_FIND_H

#include "card/pose.h"
#include "image/blocks.h"
#include "image/image.h"

enum { CARD_FOUND_MAX = 2 };

struct card_search {
  size_t count; /* best first */
  struct card_pose pose[CARD_FOUND_MAX];
};

/* Looks for the cards of `list` (editions of one layout are one card) in every orientation, coarse to fine, starting
 * from blocks of the whole photo; reads finer detail from the photo itself where needed. A second card in the frame is
 * found too, if it is of like size. Cards that are no full lattice of at most 144 patches, 10 of them or more coloured, are
 * not searched for (grey scales, soil chips), and "no-card" then says which. Nothing found is ERROR_UNMEASURABLE with the
 * nearest reason: "no-card", "card-too-small" (patches under 8 px), "card-cut" (by the frame or half hidden),
 * "card-mirrored", "other-card" (a chart, but none of the list). */
bool card_find(const struct image *image, const struct image_blocks *blocks, const struct card_list *list,
               struct card_search *search, struct error *error);

#endif
