/* SPDX-License-Identifier: MIT */
/* What the files of drawing share. */
#ifndef TAWNY_REPORT_DRAWING_PARTS_H
#define TAWNY_REPORT_DRAWING_PARTS_H

#include "base/text.h"
#include "image/image.h"
#include "report/drawing.h"

enum drawing_kind { DRAWING_RECTANGLE, DRAWING_AREA, DRAWING_PATH, DRAWING_TEXT };

struct drawing_shape {
  enum drawing_kind kind;
  struct drawing_colour colour;
  struct point
      *place; /* owned; rectangle: two opposite corners, top left first, whole pixels; text: its base */
  size_t count;
  double size; /* of a path: its thickness; of a text: height of a capital letter */
  enum drawing_anchor anchor;
  char *text; /* owned; NULL but for texts */
};

/* Adds the drawing as SVG 1.1. */
void drawing_svg(const struct drawing *drawing, struct text *out);

/* Paints the drawing into `image`, which holds a white canvas of 8 bits. `share` holds a zero for each of its pixels. False when
 * memory runs out. */
bool drawing_paint(const struct drawing *drawing, struct image *image, float *share);

/* Side of a letter's dot in pixels. */
int drawing_dot(double size);

#endif
