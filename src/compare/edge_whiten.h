/* SPDX-License-Identifier: MIT */
/* Noise along a line made independent. */
#ifndef TAWNY_COMPARE_EDGE_WHITEN_H
#define TAWNY_COMPARE_EDGE_WHITEN_H

#include "compare/edge_fit.h"

/* A filter that turns noise of one channel into independent numbers of variance 1 (innovations of a first-order process seen
 * through white noise; Kalman 1960, J. Basic Eng. 82, 35-45). */
struct whitener {
  double decay[EDGE_SAMPLES_MAX], gain[EDGE_SAMPLES_MAX], scale[EDGE_SAMPLES_MAX];
  double log_determinant;
};

/* The filter for samples at these places, with these weights. */
void whitener_make(const struct edge_sample *sample, size_t count, struct edge_noise noise,
                   struct whitener *whitener);

/* A column of `count` numbers through it. */
void whitener_apply(const struct whitener *whitener, size_t count, const double *in, double *out);

#endif
