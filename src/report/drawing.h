/* SPDX-License-Identifier: MIT */
/* Plots and tables as pictures: one list of shapes, written as SVG or as PNG. */
#ifndef TAWNY_REPORT_DRAWING_H
#define TAWNY_REPORT_DRAWING_H

#include <stdint.h>

#include "card/pose.h"

struct drawing_colour {
  uint8_t red, green, blue; /* sRGB */
};

enum drawing_anchor { DRAWING_LEFT, DRAWING_MIDDLE, DRAWING_RIGHT };

struct drawing_shape;

/* x right, y down, origin top left, on white; a unit is a pixel of the PNG. */
struct drawing {
  double width, height;
  struct drawing_shape *shape; /* owned, in the order they were added: later ones lie on top */
  size_t count, capacity;
  bool failed; /* memory ran out: drawing_write() says so */
};

void drawing_begin(struct drawing *drawing, double width, double height);
void drawing_rectangle(struct drawing *drawing, struct point corner, double width, double height,
                       struct drawing_colour fill);
void drawing_area(struct drawing *drawing, const struct point *corner, size_t count,
                  struct drawing_colour fill);
void drawing_path(struct drawing *drawing, const struct point *place, size_t count, double thick,
                  struct drawing_colour colour);
/* `base` is on the text's base line. `size` is the height of a capital letter. */
void drawing_text(struct drawing *drawing, struct point base, enum drawing_anchor anchor, double size,
                  struct drawing_colour colour, const char *text);

/* By the ending of `path`, .svg or .png (else ERROR_USAGE "ending"); whole or not at all. */
bool drawing_write(const struct drawing *drawing, const char *path, struct error *error);
void drawing_clear(struct drawing *drawing);

/* sRGB of a colour measured under D50, for swatches; out of range is clipped. */
struct drawing_colour drawing_colour_of(struct lab lab_d50);

#endif
