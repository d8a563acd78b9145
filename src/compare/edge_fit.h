/* SPDX-License-Identifier: MIT */
/* One change of colour along a line: is there one, where, and how thick.
 *
 * Three channels, in units of about one CIEDE2000, at places s along the line:
 *   y(s) = level + drift_1 z + drift_2 (z^2 - 1/3) + light step(s) + change Phi((s - place) / s_k) + noise,
 * z running from -1 to 1 over the line. The drift, what the light field has left over, is common to both sides and held by a prior;
 * so is the light's step at the edge of a shadow. Thickness is the distance from 10 to 90 % of the change, 2.563 sigma (our
 * definition: the published classes give none); the photo's blur is added to it in squares, (2.563 s_k)^2 = thickness^2 + blur_k^2,
 * each channel its own. The noise of a channel is a white part, smaller where a sample holds more pixels, and
 * a part that fades over a length, w / weight + c exp(-|ds| / length), for texture and mottle reach over many samples; it is
 * estimated by restricted likelihood (Patterson & Thompson 1971, Biometrika 58, 545-554), with and without a change. Place and
 * thickness are found by least squares weighted by it; their 95 % intervals are those of the profile likelihood, where twice the
 * logarithm falls by 3.84 (chi-square, one degree of freedom). `evidence` is twice the gain in log likelihood over no change. */
#ifndef TAWNY_COMPARE_EDGE_FIT_H
#define TAWNY_COMPARE_EDGE_FIT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Standard deviations between the 10 and the 90 % point of a normal distribution. */
#define EDGE_TEN_TO_NINETY 2.5631031

enum { EDGE_SAMPLES_MAX = 640, EDGE_SAMPLES_MIN = 12 };

struct edge_sample {
  double at;     /* along the line, rising                         */
  double y[3];   /* units of about one CIEDE2000                   */
  double weight; /* pixels in it over those in the usual sample    */
};

/* What is known beforehand: standard deviations of what light may do, in the units of y, and how the photo blurs a clean cut. */
struct edge_prior {
  double drift[2][3]; /* of drift_1 and drift_2                       */
  bool shadow;        /* a shadow's edge crosses the line at shadow_at */
  double shadow_at, shadow_step[3];
  double blur[3]; /* a clean cut's thickness in each channel, in the unit of `at` */
};

struct edge_limits {
  double place_low, place_high; /* where a change is looked for     */
  double thin, thick;           /* thickness, both > 0              */
};

struct edge_noise {
  double white, slow, length; /* variances of a sample of weight 1; in the unit of `at` */
};

struct edge_fit {
  double evidence;
  double place, place_low, place_high;
  double thick, thick_low,
      thick_high; /* without the blur; at an end of the limits: not bounded on that side */
  double level[3], drift[2][3], shadow[3], change[3];
  struct edge_noise noise[3];
};

/* ERROR_UNMEASURABLE "few-samples" for less than EDGE_SAMPLES_MIN; count <= EDGE_SAMPLES_MAX. */
bool edge_fit(const struct edge_sample *sample, size_t count, const struct edge_prior *prior,
              const struct edge_limits *limits, struct edge_fit *fit, struct error *error);

/* Share of the change that has come about `off` beyond the place. */
double edge_fit_share(double off, double thick);

/* Thickness at which a channel shows the change. */
double edge_fit_width(const struct edge_prior *prior, int channel, double thick);

/* The fitted channel at a place; from and to: first and last sample's. */
double edge_fit_value(const struct edge_fit *fit, const struct edge_prior *prior, double from, double to,
                      double at, int channel);

#endif
