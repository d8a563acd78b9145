/* SPDX-License-Identifier: MIT */
/* The pixels of a band round a line, and their robust centres in bins along it. */
#ifndef TAWNY_COMPARE_EDGE_PIXELS_H
#define TAWNY_COMPARE_EDGE_PIXELS_H

#include "measure/measure.h"

struct edge_line {
  struct point from, to; /* pixels of the photo */
};

/* Evened by the light field; clipped pixels, and those on the card, are left out, and so are those in the half shadow at a shadow's
 * edge, where the light is not known. */
struct edge_pixels {
  float *along,
      *across;   /* owned; pixels from the line's first end, and to the right of it (as seen going along) */
  float *log[3]; /* owned; log of (linear light + WALK_FLOOR), R G B                               */
  size_t count;
};

/* Robust centre of the pixels of a bin. */
struct edge_centre {
  size_t pixels; /* 0: none, the rest is empty */
  struct vec3 linear;
};

/* A grid of bins: `columns` along from `from` on, `rows` across from -half to half. A bin's place along is counted where the line
 * along + slant * across stands: bins lean with a boundary that crosses at a slant. */
struct edge_grid {
  double from, step, half, slant;
  int columns, rows;
};

double edge_line_length(const struct edge_line *line);
struct point edge_line_at(const struct edge_line *line, double along, double across);

/* Every pixel within `half` of the part from..to of the line, or of every n-th row where there would be more than EDGE_PIXELS_MAX. */
enum { EDGE_PIXELS_MAX = 400000 };
bool edge_pixels_take(const struct measurement *measurement, const struct edge_line *line, double from,
                      double to, double half, struct edge_pixels *pixels, struct error *error);
void edge_pixels_clear(struct edge_pixels *pixels);

/* Centres of all bins, row after row: channel by channel the mean of the values between the 30 and the 70 % quantile, which a
 * quarter of other matter (pebbles, roots, glint) moves little, and which is finer than a photo's steps of code. */
bool edge_pixels_centres(const struct edge_pixels *pixels, const struct edge_grid *grid,
                         struct edge_centre *centre, struct error *error);

#endif
