/* SPDX-License-Identifier: MIT */
/* The photo with what was found and measured drawn on it, for people to check at a glance. */
#ifndef TAWNY_REPORT_OVERLAY_H
#define TAWNY_REPORT_OVERLAY_H

#include "card/patches.h"
#include "card/pose.h"
#include "image/image.h"

struct overlay_colour {
  uint8_t red, green, blue;
};

/* Where a label's plate lies on the canvas. */
struct overlay_label {
  int left, top, right, bottom; /* left <= x < right */
};

enum { OVERLAY_LABELS = 128 };

struct overlay {
  struct image canvas; /* owned; 8 bits a code, the photo's own profile: ready for image_write()          */
  double scale;        /* pixels of the canvas to one of the photo                                        */
  int dot;             /* pixels of a letter's dot; lines are as thick                                    */
  struct overlay_label
      label[OVERLAY_LABELS]; /* of outlines drawn so far, which later ones keep clear of      */
  size_t labels;
};

/* A copy of the photo, made smaller so that its longer side is at most 2400 pixels; a photo under 600 pixels is made larger by a
 * whole factor so that letters have room. */
bool overlay_begin(const struct image *photo, struct overlay *overlay, struct error *error);

/* The card's outline, and of each patch the part that is read with the patch's number. Patches left out are crossed and
 * carry the cause; `patches` may be NULL: not read. */
void overlay_card(struct overlay *overlay, const struct card_reference *card, const struct card_pose *pose,
                  const struct card_patches *patches);

/* A closed outline through places of the photo, with its label above it, or below or further off where another label lies
 * there. Parts outside the frame are cut off. */
void overlay_outline(struct overlay *overlay, const struct point *place, size_t count, const char *label,
                     struct overlay_colour colour);

/* Dots along stretches of two places each, with a label at `middle`: another style than outlines. */
void overlay_dotted(struct overlay *overlay, const struct point *place, size_t count, struct point middle,
                    const char *label);

/* Dashes along the straight line through `place` at right angles to `normal` (unit), all over the photo, with a label. */
void overlay_dashed(struct overlay *overlay, struct point place, struct point normal, const char *label);

/* Colours for outlines that tell neighbours apart: a cycle of eight. */
struct overlay_colour overlay_cycle(size_t index);

void overlay_clear(struct overlay *overlay);

#endif
