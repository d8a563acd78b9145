/* SPDX-License-Identifier: MIT */
/* Patches of a found card as the camera saw them. */
#ifndef TAWNY_CARD_PATCHES_H
#define TAWNY_CARD_PATCHES_H

#include "card/pose.h"
#include "image/encoding.h"
#include "image/image.h"

/* Why a patch does not steer the camera model. */
enum card_cause {
  CARD_USED = 0,
  CARD_OUTSIDE, /* the part that is read is not wholly in the frame               */
  CARD_CLIPPED, /* too many codes at an end of the scale                         */
  CARD_GLARE,   /* mirrors a light: brighter than its neighbours allow, and paler */
  CARD_SHADED,  /* in a shadow that the rest of the card is not in                */
  CARD_UNEVEN,  /* an edge, dirt or a pin inside the patch                        */
  CARD_DEVIANT  /* fits no smooth camera that fits the others                     */
};

/* "clipped", "glare" ... for people and JSON. */
const char *card_cause_word(enum card_cause cause);

struct card_patch_view {
  struct point centre;    /* in the photo                                                             */
  struct vec3 code;       /* robust mean of codes, 0..1                                               */
  struct vec3 linear;     /* robust mean of nominal linear light (image/encoding.h), 0..1             */
  struct mat3 covariance; /* of the mean of `linear`, with the correlation of neighbouring pixels     */
  struct mat3 spread;     /* covariance of single pixels' `linear`                                    */
  size_t pixels;
  enum card_cause cause; /* OUTSIDE, CLIPPED or UNEVEN as seen from the patch alone                  */
};

struct card_patches {
  struct card_patch_view *view; /* owned; one a patch of the card */
  size_t count;
  double
      blur; /* of the photo at the borders of patches, standard deviation in pixels; 0 if not known or small  */
};

/* Reads the inner 60 % (by side) of each patch; with fewer than 9 pixels in a patch ERROR_UNMEASURABLE "card-too-small". All
 * patches clipped: "clipped". */
bool card_patches_read(const struct image *image, const struct encoding *encoding,
                       const struct card_reference *card, const struct card_pose *pose,
                       struct card_patches *patches, struct error *error);
void card_patches_clear(struct card_patches *patches);

#endif
