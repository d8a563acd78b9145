/* SPDX-License-Identifier: MIT */
/* What edge_fit.c searches over: the likelihood of the samples along a line, given place and thickness of a change and the noise. */
#ifndef TAWNY_COMPARE_EDGE_MODEL_H
#define TAWNY_COMPARE_EDGE_MODEL_H

#include "compare/edge_fit.h"
#include "compare/edge_whiten.h"

/* Columns: level, two drifts, light step, change. */
enum {
  EDGE_LEVEL,
  EDGE_DRIFT_1,
  EDGE_DRIFT_2,
  EDGE_SHADOW,
  EDGE_CHANGE_AT,
  EDGE_COLUMNS,
  EDGE_SIDES = EDGE_CHANGE_AT /* all but the change's */
};

struct edge_channel {
  struct whitener whitener;
  double fixed[EDGE_SIDES][EDGE_SAMPLES_MAX];                       /* whitened columns but the change's */
  double y[EDGE_SAMPLES_MAX];                                       /* whitened                          */
  double normal[EDGE_SIDES][EDGE_SIDES], right[EDGE_SIDES], square; /* with the priors */
};

struct edge_model {
  const struct edge_sample *sample; /* borrowed, as are the priors */
  size_t count;
  const struct edge_prior *prior;
  double column[EDGE_SIDES][EDGE_SAMPLES_MAX];
  double change[3][EDGE_SAMPLES_MAX]; /* the change's column, which each channel blurs in its own way */
  struct edge_channel channel[3];
};

/* Takes the samples, and fills the columns that hold no change. */
void edge_model_begin(const struct edge_sample *sample, size_t count, const struct edge_prior *prior,
                      struct edge_model *model);

/* Mean distance of two samples. */
double edge_model_spacing(const struct edge_model *model);

/* From now on the channel has this noise. */
void edge_model_set_noise(struct edge_model *model, int channel, struct edge_noise noise);

/* From now on the change is here. */
void edge_model_set_change(struct edge_model *model, double place, double thick);

/* -2 log likelihood (up to a constant) of a channel with or without the change; `restricted` adds what the fit of the columns takes
 * away. Fills `solution`, EDGE_COLUMNS of it or EDGE_SIDES, unless NULL. */
double edge_model_cost(const struct edge_model *model, int channel, bool change, bool restricted,
                       double *solution);

#endif
