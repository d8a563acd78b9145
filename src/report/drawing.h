/* SPDX-License-Identifier: MIT */
/* Plots and tables as pictures: one list of shapes, written as SVG or as PNG. */
#ifndef TAWNY_REPORT_DRAWING_H
#define TAWNY_REPORT_DRAWING_H

#include <stdint.h>

#include "card/pose.h"

struct drawing_colour {
  uint8_t red, green, blue; /* sRGB */
};

/* Which place of a text stands at its base: its left end, its middle or its right end. */
enum drawing_anchor { DRAWING_LEFT, DRAWING_MIDDLE, DRAWING_RIGHT };

struct drawing_shape;

/* x right, y down, origin top left, on white; a unit is a pixel of the PNG. What is added is copied. Shapes may reach beyond
 * the frame, where they are cut off; one with a place that is not finite is left out. */
struct drawing {
  double width, height;        /* rounded up to whole pixels */
  struct drawing_shape *shape; /* owned, in the order they were added: later ones lie on top */
  size_t count, capacity;
  bool failed; /* memory ran out: drawing_write() says so */
};

void drawing_begin(struct drawing *drawing, double width, double height);

/* Its sides are moved to whole pixels, at least one apart, so that rectangles that meet leave no seam. A width or height below
 * 0 reaches left or up. */
void drawing_rectangle(struct drawing *drawing, struct point corner, double width, double height,
                       struct drawing_colour fill);

/* A closed outline, filled by the even-odd rule; at least three corners. */
void drawing_area(struct drawing *drawing, const struct point *corner, size_t count,
                  struct drawing_colour fill);

/* A line through places, at least two, with round ends and joints. */
void drawing_path(struct drawing *drawing, const struct point *place, size_t count, double thick,
                  struct drawing_colour colour);

/* `base` is on the text's base line. `size` is the height of a capital letter. The PNG has letters of whole dots (report/font.h):
 * sizes that are multiples of 7 come out as asked, others as the nearest, and '?' for what is not ASCII. The SVG has the viewer's
 * sans-serif letters, which are about as wide or narrower. */
void drawing_text(struct drawing *drawing, struct point base, enum drawing_anchor anchor, double size,
                  struct drawing_colour colour, const char *text);

/* Width of a text in the PNG. */
double drawing_text_width(double size, const char *text);

/* By the ending of `path`, .svg or .png (else ERROR_USAGE "ending"); whole or not at all. ERROR_UNMEASURABLE "too-large" for a PNG of
 * more than DRAWING_SIDE_MAX pixels a side (an SVG has no such limit), ERROR_FILE "unwritable". */
enum { DRAWING_SIDE_MAX = 8192 };
bool drawing_write(const struct drawing *drawing, const char *path, struct error *error);

/* Whether drawing_write() takes the ending: to refuse before any work. */
bool drawing_check_ending(const char *path, struct error *error);

void drawing_clear(struct drawing *drawing);

/* sRGB of a colour measured under D50, for swatches; out of range is clipped. */
struct drawing_colour drawing_colour_of(struct lab lab_d50);

#endif
