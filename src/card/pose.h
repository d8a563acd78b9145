/* SPDX-License-Identifier: MIT */
/* Where a card lies in a photo. */
#ifndef TAWNY_CARD_POSE_H
#define TAWNY_CARD_POSE_H

#include <stdbool.h>

#include "base/matrix.h"
#include "card/reference.h"

struct point {
  double x, y; /* pixels, origin at the outer corner of the top-left pixel, x right, y down */
};

struct card_pose {
  size_t card;                 /* index in the card_list that was searched                    */
  struct mat3 photo_from_card; /* plane map (homography): mm on the card to pixels            */
  /* Sag of a curved sheet: a displacement bend * 4 u (1 - u), pixels, with u running 0..1 along the card's longer side
   * between the card's corner places, where it vanishes; 0 for a flat card. */
  struct point bend;
  struct point corner[4]; /* the card's four corner places (corner_place), in the card's order */
  double mm_per_pixel;    /* at the card's centre, mean of both directions               */
  double patch_pixels;    /* shortest side of a patch in the photo                       */
  double tilt_degrees;    /* of the card's plane against the picture plane: see card_pose_tilt */
  double fit;             /* how well the patches fit the card, 0..1: 1 for coordinates given by hand */
};

/* The pose that takes the card's four corner places to the given ones. ERROR_USAGE "corners" when three lie on a line, the
 * quadrilateral is not convex, or the order is mirrored. */
bool card_pose_from_corners(const struct card_reference *card, const struct point corner[4],
                            struct card_pose *pose, struct error *error);

/* Fills corner, mm_per_pixel, patch_pixels and tilt_degrees (as if seen from afar: the arc cosine of the ratio of the plane
 * map's two scales at the card's centre) from photo_from_card and bend. */
void card_pose_complete(const struct card_reference *card, struct card_pose *pose);

/* The card's tilt in degrees, 0..90, with the camera's focal length: the plane map is K [r1 r2 t] up to scale, with the
 * principal point in the frame's middle and square pixels, and the card's normal is r1 x r2 (Zhang 2000). focal_pixels 0:
 * not known, the frame's diagonal is taken, a lens between wide and normal. */
double card_pose_tilt(const struct card_pose *pose, int width, int height, double focal_pixels);

/* Where a place on the card, in mm, lies in the photo, and back (false beyond the horizon). Places of the card's plane
 * behind the camera project far outside. */
struct point card_pose_project(const struct card_pose *pose, const struct card_reference *card, double x_mm,
                               double y_mm);
bool card_pose_unproject(const struct card_pose *pose, const struct card_reference *card, struct point place,
                         double *x_mm, double *y_mm);

/* Whether a place of the photo lies in the rectangle around all patches. */
bool card_pose_covers(const struct card_pose *pose, const struct card_reference *card, struct point place);

/* The four corners of a patch in the photo, its sides scaled by `share` about the centre (1: whole patch). */
void card_pose_outline(const struct card_pose *pose, const struct card_reference *card, size_t patch,
                       double share, struct point outline[4]);

#endif
