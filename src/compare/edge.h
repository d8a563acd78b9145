/* SPDX-License-Identifier: MIT */
/* Where one deposit ends and another begins: the colour along a line drawn across, and the change in it.
 *
 * All pixels in a band round the line are evened by the light field and taken through the camera's profile; their robust centres in bins
 * along the line go to edge_fit.h. Half the band is a sixteenth of the line, at least EDGE_HALF_LEAST and at most
 * EDGE_HALF_MOST pixels. A boundary may cross at a slant: the bins are leaned until it is sharpest, as far as the picture bears that
 * out. Numbers in mm are distances in the card's plane, by the card's own map of that plane at the place; they hold for what lies in that
 * plane, and rest on the card's size as its file gives it. */
#ifndef TAWNY_COMPARE_EDGE_H
#define TAWNY_COMPARE_EDGE_H

#include "compare/edge_fit.h"
#include "compare/edge_pixels.h"
#include "measure/difference.h"

enum {
  EDGE_HALF_LEAST = 8,
  EDGE_HALF_MOST = 120,
  EDGE_LENGTH_LEAST = 20,
  EDGE_BINS_MAX = 384,
  EDGE_CAVEATS = 8
};

/* A change is told apart where `evidence` of the fit, twice the gain in log likelihood, and its size, CIEDE2000, pass these: what texture
 * and light left over make on one deposit passes both in fewer than 5 of 100 field scenes (docs/accuracy.md). */
#define EDGE_EVIDENCE 55.0
#define EDGE_CHANGE 1.5

/* A figure with its 95 % interval. */
struct edge_figure {
  double value, low, high;
};

struct edge_bin {
  double at; /* pixels along the line, its middle */
  struct lab lab_d50;
  struct mat3 covariance; /* in Lab; with neighbours' it is shared by the noise's slow part (fit.noise) */
  size_t pixels;
};

/* One side of the boundary, read like any region. Along a line no moisture is stated; along an outline both sides have the region's, and the
 * inside has its zone. */
struct edge_side {
  struct region region; /* owned outline: the part of the band that is read */
  struct reading reading;
};

struct edge {
  struct edge_line line;
  double length, half, step; /* pixels: of the line, of half the band, of a bin    */
  struct edge_bin *bin;      /* owned; those that hold pixels                      */
  size_t bins;
  /* The fit's channels are evened linear light off `about`, times `channels`: areas mix in it along straight lines, which they don't in
   * Lab, and the matrix makes distance at `about` that of CIEDE2000. */
  struct vec3 about;
  struct mat3 channels, back; /* `back`: the inverse */
  struct edge_prior prior;    /* what the light field may have left over            */
  double fit_from, fit_to;    /* first and last place of the fit */
  struct edge_fit fit;        /* pixels along the line                              */
  bool told;                  /* a boundary is told apart; the rest only then       */
  double slant;               /* degrees between the boundary and the square to the line */
  struct edge_figure place;   /* pixels along the line                             */
  struct edge_figure thick;   /* pixels across the boundary, 10 to 90 %            */
  bool at_most;               /* not told from a clean cut: `thick.high` is all that is known */
  bool scaled; /* mm are known: the card has a size, and all lies before the horizon of its plane */
  double length_mm;
  struct edge_figure place_mm, thick_mm;
  struct edge_side side[2]; /* before and behind the boundary                    */
  bool compared;            /* both sides could be read                          */
  struct difference difference;
  bool shadow;                   /* a shadow's edge crosses the line ...              */
  double shadow_from, shadow_to; /* ... here, pixels along it; nothing is read there  */
  struct caveat caveat[EDGE_CAVEATS];
  size_t caveats;
};

/* Reads the photo along the line. ERROR_UNMEASURABLE: "no-card"; "outside", "short" (under EDGE_LENGTH_LEAST pixels), "on-card" (the line
 * crosses the card), "few-samples" (little of it can be read), "along" (the line runs along a boundary, not across),
 * "no-colours" (the camera model tells none apart there). That there is no boundary is a result. */
bool edge_measure(const struct measurement *measurement, const struct edge_line *line, struct edge *edge,
                  struct error *error);
void edge_clear(struct edge *edge);

/* Distance in mm in the card's plane from the line's first end. */
double edge_mm(const struct measurement *measurement, const struct edge_line *line, double along);

/* Fitted Lab at a place along the line. */
struct lab edge_fitted(const struct measurement *measurement, const struct edge *edge, double along);

#endif
