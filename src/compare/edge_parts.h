/* SPDX-License-Identifier: MIT */
/* What the files of edge share. */
#ifndef TAWNY_COMPARE_EDGE_PARTS_H
#define TAWNY_COMPARE_EDGE_PARTS_H

#include "compare/edge.h"
#include "measure/shared.h"

/* Intervals of the fit are widened by this: pebbles and the deposits' own patches are no normal noise. Measured on tuning scenes, so that
 * the intervals hold the truth in 95 of 100. */
#define EDGE_WIDER 2.0

/* Bins along part of a line as samples for the fit. */
struct edge_samples {
  struct edge_sample sample[EDGE_SAMPLES_MAX];
  struct vec3 linear[EDGE_SAMPLES_MAX];
  size_t pixels[EDGE_SAMPLES_MAX];
  bool foreign
      [EDGE_SAMPLES_MAX]; /* a pebble, root or patch of glint that fills the band: left out of the fit */
  size_t count;
  double step;
};

/* Fills about, channels and back from the colours of all bins. ERROR_UNMEASURABLE: "no-colours". */
bool edge_channels_make(const struct measurement *measurement, const struct edge_samples *samples,
                        struct edge *edge, struct error *error);

/* The same about a colour that is given. */
bool edge_channels_set(const struct measurement *measurement, struct vec3 about, struct edge *edge,
                       struct error *error);

/* Centres of the grid's bins (one row of them) without the empty ones; then their colours in the fit's channels. */
bool edge_samples_take(const struct edge_pixels *pixels, const struct edge_grid *grid,
                       struct edge_samples *samples, struct error *error);
void edge_samples_convert(const struct edge *edge, struct edge_samples *samples);

/* Where a shadow's edge crosses the line: shadow, shadow_from, shadow_to and the place of its step. */
void edge_shadow_find(const struct measurement *measurement, struct edge *edge);

/* The prior of drift and light step, from the light field's own covariance; needs the channels. */
void edge_prior_make(const struct measurement *measurement, struct edge *edge);

/* Marks bins that stand out from their neighbours on both sides, as no boundary does; none of fewer than EDGE_SAMPLES_MIN, which no fit
 * takes. */
void edge_samples_mark(struct edge_samples *samples);

/* The fit without the marked bins. */
bool edge_samples_fit(const struct edge_samples *samples, const struct edge_prior *prior,
                      const struct edge_limits *limits, struct edge_fit *fit, struct error *error);

/* Tangent of the slant at which the fitted change stands sharpest in rows across the band, starting from *slant. A first search goes to
 * all sides and stays at 0 where leaning gains too little; later ones look ever closer. */
bool edge_slant_find(const struct edge_pixels *pixels, const struct edge *edge, int round, double *slant,
                     struct error *error);

/* Whether the band is of two colours left and right of the line. */
bool edge_runs_along(const struct edge_pixels *pixels, const struct edge *edge, bool *along,
                     struct error *error);

/* Reads both sides of the boundary. */
bool edge_sides_read(const struct measurement *measurement, struct edge *edge, struct error *error);

/* Reads one side, whose outline, moisture and zone are set. */
void edge_side_read(const struct measurement *measurement, const struct shared_unknowns *shared,
                    struct edge_side *side);

/* What a clean cut that leans by `slant` looks like along the line in bins of `step`: the prior's blur. */
void edge_blur_set(const struct measurement *measurement, double slant, double step,
                   struct edge_prior *prior);

/* Thickness across a boundary, its interval widened by what the fit can't see and by the doubt about the photo's blur; true where it
 * can't be told from a clean cut. */
bool edge_thickness(const struct measurement *measurement, const struct edge_fit *fit, double slant,
                    struct edge_figure *thick);

/* The interval of a place with what the fit can't see. */
struct edge_figure edge_place_figure(const struct edge_fit *fit);

/* Adds a caveat where there is room for one more. */
void edge_add_caveat(struct edge *edge, const char *code, bool doubt, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

#endif
