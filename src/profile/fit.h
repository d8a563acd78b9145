/* SPDX-License-Identifier: MIT */
/* Inside of the fit: residual.c has what is made least, judge.c what patches say of each other, fit.c the way to the end. */
#ifndef TAWNY_PROFILE_FIT_H
#define TAWNY_PROFILE_FIT_H

#include "profile/pigment.h"
#include "profile/profile.h"

/* Unknowns of a fit, in this order. The first two groups and the bend are the profile's parameters, the others are
 * taken along so that what they leave open widens the covariance. */
enum {
  FIT_KNOT = 0,
  FIT_MATRIX = PROFILE_KNOTS,
  FIT_PIGMENT = FIT_MATRIX + 9,                 /* strength of the pigment components       */
  FIT_SLOPE = FIT_PIGMENT + PIGMENT_COMPONENTS, /* of log light over the card, x and y       */
  FIT_UNEVEN = FIT_SLOPE + 2,                   /* of log light too: x^2, x y, y^2; x, y of red and of blue */
  FIT_COMMON = FIT_UNEVEN + 7,                  /* what all patches of this card are off by   */
  FIT_BEND = FIT_COMMON + 3,                    /* left out where bend_size is 0              */
  FIT_UNKNOWNS = FIT_BEND + 3 * PROFILE_BENDS
};

/* Share of a card's tolerance that all its patches have in common. */
#define FIT_COMMON_SPREAD 0.3

/* A patch that takes part. */
struct fit_patch {
  size_t sample; /* its index */
  struct vec3 linear, gain;
  struct mat3 noise;     /* of `linear` */
  double x, y;           /* place from the card's middle, over the distance of its farthest patch */
  struct vec3 second;    /* x^2, x y, y^2, each less its mean over the patches that take part      */
  struct vec3 reference; /* Lab */
  struct pigment pigment;
  struct mat3 from_units; /* CIEDE2000 units to Lab at the reference: r r' = inverse metric      */
  double tolerance;       /* CIEDE2000, of each axis */
  struct mat3 whiten;     /* w'w = inverse covariance of Lab, scatter 1                          */
  double weight;          /* robust, about 1 */
};

struct fit {
  struct fit_patch *patch; /* owned */
  size_t count;
  struct mat3 nominal, nominal_inverse; /* of the file's primaries                             */
  double slope;                         /* standard deviation of FIT_SLOPE                     */
  bool uneven;                          /* whether the light over the card may be otherwise than estimated */
  double bend_size;                     /* standard deviation of the bend's coefficients        */
  double scatter;
  size_t unknowns;
  double x[FIT_UNKNOWNS];
  double *covariance; /* owned; unknowns x unknowns */
};

/* What the others say of one patch, in whitened units of unit scatter. */
struct fit_verdict {
  struct vec3 residual; /* fitted */
  struct vec3 left_out; /* from a fit without it */
  struct mat3 spread;   /* covariance of left_out                                      */
  double distance2;     /* of left_out, squared, over its own covariance: chi-squared of 3 */
  double volume;        /* log determinant of that covariance                              */
  double leverage;      /* unknowns that this patch alone fixes */
};

/* Predicted Lab of a patch, pigment and common shift apart. */
struct lab fit_predict(const struct fit *fit, const double *x, const struct fit_patch *patch);

/* Residual of a patch in whitened units, scatter and weight not yet taken in. */
struct vec3 fit_residual(const struct fit *fit, const double *x, const struct fit_patch *patch);

/* Least squares from where fit->x is, in at most `rounds` steps; covariance at the end. */
bool fit_solve(struct fit *fit, int rounds, struct error *error);

/* Verdict on each patch from the linear model at the solution: an exact leave-one-out of that model. */
bool fit_judge(const struct fit *fit, struct fit_verdict *verdict, struct error *error);

/* Sum of the log predictive densities. */
double fit_evidence(const struct fit *fit, const struct fit_verdict *verdict);

/* d(whitened residual) / d(unknown) of one patch, 3 x unknowns, by central differences; `x` is fit->x, changed and put back. */
void fit_differentiate(const struct fit *fit, double *x, const struct fit_patch *patch, double *jacobian);

/* This card's deviations over its edition's tolerance, as the patches show them: 1 or less. */
double fit_print(const struct fit *fit, const struct fit_verdict *verdict);

/* Takes from the covariance of the unknowns what a card printed that well does not add to it. */
bool fit_narrow(struct fit *fit, double printed, struct error *error);

/* Median, 90th, 95th percentile and maximum of `count` values, which are sorted; all 0 for none. */
struct profile_residual fit_summary(double *value, size_t count);

#endif
