/* SPDX-License-Identifier: MIT */
/* What the fit of the camera makes least: residuals of patches and priors. fit.c weighs and judges them. */
#include "profile/fit.h"

#include <math.h>
#include <string.h>

#include "base/solve.h"
#include "profile/model.h"
#include "profile/tone.h"

/* Standard deviations of the priors. */
static const double BLACK = 0.02;   /* black offset, L* / 100: lifted or crushed blacks                 */
static const double CONTRAST = 0.3; /* log slope of the tone curve against the file's curve             */

/* Second difference of log slopes at neighbouring knots: curves of cameras are smooth, and mostly steep in the middle and flat at
 * the ends, so the way back is the other way round. */
static const double BOWL = 0.12;
static const double WAVINESS = 0.1;

static const double MIXING = 0.2; /* share of another channel in one, after white balance             */

/* Light over the card where it may be otherwise than estimated, logarithm at the rim; and what share of that it is held to else. */
static const double UNEVEN_SLOPE = 0.1;
static const double UNEVEN_CURVE = 0.1;
static const double UNEVEN_TINT = 0.05;
static const double EVEN = 0.001;

/* Stray light of the lens, share of full scale: every lens has some, so the mean is not zero. */
static const double VEIL = 0.0005;
static const double VEIL_SPREAD = 0.001;

enum { PRIORS = 2 + 7 + 5 + 6 + PIGMENT_COMPONENTS + 2 + 7 + 3 };

/* What takes out the light that gains leave over the card. */
static struct vec3 evening(const double *x, const struct fit_patch *patch)
{
  const double *slope = x + FIT_SLOPE, *more = x + FIT_UNEVEN;
  double px = patch->x, py = patch->y;
  double all = slope[0] * px + slope[1] * py + more[0] * patch->second.v[0] + more[1] * patch->second.v[1] +
               more[2] * patch->second.v[2];

  return (struct vec3){
      {exp(-all - more[3] * px - more[4] * py), exp(-all), exp(-all - more[5] * px - more[6] * py)}};
}

struct lab fit_predict(const struct fit *fit, const double *x, const struct fit_patch *patch)
{
  struct vec3 even = evening(x, patch), linear;

  for (int k = 0; k < 3; k++) {
    linear.v[k] = tone_apply(x + FIT_KNOT, patch->linear.v[k]) * even.v[k] / patch->gain.v[k];
  }
  return model_lab(x + FIT_MATRIX, fit->bend_size > 0 ? x + FIT_BEND : NULL, linear);
}

/* What this patch is expected to be off by: its pigment and the card's common shift. */
static struct vec3 shift_of(const double *x, const struct fit_patch *patch)
{
  struct vec3 common = {{x[FIT_COMMON], x[FIT_COMMON + 1], x[FIT_COMMON + 2]}};
  struct vec3 shift = mat3_apply(patch->from_units, vec3_scale(common, patch->tolerance));

  for (int axis = 0; axis < 3; axis++) {
    for (int k = 0; k < PIGMENT_COMPONENTS; k++) {
      shift.v[axis] += patch->pigment.component[axis][k] * x[FIT_PIGMENT + k];
    }
  }
  return shift;
}

struct vec3 fit_residual(const struct fit *fit, const double *x, const struct fit_patch *patch)
{
  struct vec3 seen = colour_vec_from_lab(fit_predict(fit, x, patch));
  struct vec3 due = vec3_add(patch->reference, shift_of(x, patch));

  return mat3_apply(patch->whiten, vec3_subtract(seen, due));
}

/* Shares of other channels in each channel once white is balanced; false where a channel turns negative. */
static bool mixing_priors(const struct fit *fit, const double *x, double *r)
{
  struct mat3 matrix;
  int at = 0;

  memcpy(&matrix.m[0][0], x + FIT_MATRIX, 9 * sizeof *x);
  struct mat3 mix = mat3_multiply(fit->nominal_inverse, matrix);
  for (int i = 0; i < 3; i++) {
    double sum = mix.m[i][0] + mix.m[i][1] + mix.m[i][2];
    if (!(sum > 1e-6)) {
      return false;
    }
    for (int j = 0; j < 3; j++) {
      if (j != i) {
        r[at++] = mix.m[i][j] / sum / MIXING;
      }
    }
  }
  return true;
}

static bool prior_residuals(const struct fit *fit, const double *x, double *r)
{
  const double *q = x + FIT_KNOT + 1;
  size_t at = 0;

  r[at++] = x[FIT_KNOT] / BLACK;
  r[at++] = (x[FIT_KNOT + 8] - VEIL) / VEIL_SPREAD;
  for (int i = 0; i < 7; i++) {
    r[at++] = q[i] / CONTRAST;
  }
  for (int i = 0; i < 5; i++) {
    r[at++] = (q[i] - 2 * q[i + 1] + q[i + 2] - BOWL) / WAVINESS;
  }
  if (!mixing_priors(fit, x, r + at)) {
    return false;
  }
  at += 6;
  for (int k = 0; k < PIGMENT_COMPONENTS; k++) {
    r[at++] = x[FIT_PIGMENT + k];
  }
  for (int k = 0; k < 2; k++) {
    r[at++] = x[FIT_SLOPE + k] / (fit->uneven ? fmax(fit->slope, UNEVEN_SLOPE) : fit->slope);
  }
  for (int k = 0; k < 7; k++) {
    r[at++] = x[FIT_UNEVEN + k] / ((k < 3 ? UNEVEN_CURVE : UNEVEN_TINT) * (fit->uneven ? 1 : EVEN));
  }
  for (int k = 0; k < 3; k++) {
    r[at++] = x[FIT_COMMON + k] / FIT_COMMON_SPREAD;
  }
  for (size_t k = FIT_BEND; k < fit->unknowns; k++) {
    r[at++] = x[k] / fit->bend_size;
  }
  return true;
}

static bool evaluate(const double *x, double *residual, void *context)
{
  const struct fit *fit = context;

  for (size_t i = 0; i < fit->count; i++) {
    const struct fit_patch *patch = &fit->patch[i];
    struct vec3 r = vec3_scale(fit_residual(fit, x, patch), sqrt(patch->weight) / fit->scatter);
    if (!vec3_is_finite(r)) {
      return false;
    }
    memcpy(residual + 3 * i, r.v, sizeof r.v);
  }
  return prior_residuals(fit, x, residual + 3 * fit->count);
}

bool fit_solve(struct fit *fit, int rounds, struct error *error)
{
  size_t bends = fit->unknowns - FIT_BEND;
  struct solve_problem problem = {.parameters = fit->unknowns,
                                  .residuals = 3 * fit->count + PRIORS + bends,
                                  .evaluate = evaluate,
                                  .context = fit};
  double sum;

  return solve_fit(&problem, rounds, fit->x, fit->covariance, &sum, error);
}
