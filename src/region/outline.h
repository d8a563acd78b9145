/* SPDX-License-Identifier: MIT */
/* Outlines as polygons: making them, and which pixels lie inside. */
#ifndef TAWNY_REGION_OUTLINE_H
#define TAWNY_REGION_OUTLINE_H

#include "region/region.h"

enum {
  OUTLINE_ROUND = 128,        /* corners of a circle or ellipse                                   */
  OUTLINE_CORNERS_MAX = 10000 /* of a polygon: far more than a hand draws                         */
};

/* Coordinates and sizes beyond this many pixels are a slip of the pen or of a program. */
#define OUTLINE_NUMBER_MAX 1e6

/* Each fills shape, vertex and vertices of a region that has no outline yet. ERROR_FILE "bad-regions" for numbers that
 * are not finite or beyond OUTLINE_NUMBER_MAX, negative sizes, and too many corners. Whether anything is inside is asked
 * later (region_check): size zero passes here. */
bool outline_rectangle(struct region *region, double x, double y, double width, double height,
                       struct error *error);
bool outline_ellipse(struct region *region, enum region_shape shape, struct point centre, double rx,
                     double ry, struct error *error);
/* `number` holds x y x y ..., `count` numbers. Corners that repeat the one before, and a last one that repeats the first, are
 * dropped. */
bool outline_polygon(struct region *region, const double *number, size_t count, struct error *error);

/* Stretches of a pixel row. */
struct outline_span {
  int begin, end; /* columns begin <= x < end */
};

/* Columns below `width` of row y whose pixel centres lie inside by the even-odd rule, left to right, into `span`, which
 * takes as many as the outline has vertices. `crossing` is room for as many doubles. Returns how many. */
size_t outline_row(const struct region *region, int y, int width, double *crossing,
                   struct outline_span *span);

#endif
