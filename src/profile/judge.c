/* SPDX-License-Identifier: MIT */
/* Leave-one-out of a least-squares fit without fitting again. With residuals e = y - J x of unit variance, weights w and
 * C = (sum w J'J + priors)^-1, the fit without patch i errs on it by (1 - w G)^-1 e, G = J C J' (3x3), and its own
 * uncertainty there is G (1 - w G)^-1: the block form of Allen's PRESS (Cook & Weisberg 1982, Residuals and Influence in
 * Regression, 2.2). */
#include "profile/fit.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "colour/difference.h"

/* Degrees of freedom of the Student-t that stands for patches' errors; fit.c has the weights. */
static const double FREEDOM = 4;

void fit_differentiate(const struct fit *fit, double *x, const struct fit_patch *patch, double *jacobian)
{
  for (size_t j = 0; j < fit->unknowns; j++) {
    double kept = x[j], h = 1e-5 * fmax(fabs(kept), 0.1);
    x[j] = kept + h;
    struct vec3 more = fit_residual(fit, x, patch);
    x[j] = kept - h;
    struct vec3 less = fit_residual(fit, x, patch);
    x[j] = kept;
    for (size_t row = 0; row < 3; row++) {
      jacobian[row * fit->unknowns + j] = (more.v[row] - less.v[row]) / (2 * h * fit->scatter);
    }
  }
}

/* j c j' for j of 3 rows. */
static struct mat3 spread_of(const struct fit *fit, const double *jacobian)
{
  size_t n = fit->unknowns;
  struct mat3 spread = {{{0}}};

  for (size_t p = 0; p < n; p++) {
    for (size_t q = 0; q < n; q++) {
      double c = fit->covariance[p * n + q];
      for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
          spread.m[i][j] += jacobian[(size_t)i * n + p] * c * jacobian[(size_t)j * n + q];
        }
      }
    }
  }
  return spread;
}

static double determinant_of(struct mat3 a)
{
  return a.m[0][0] * (a.m[1][1] * a.m[2][2] - a.m[1][2] * a.m[2][1]) -
         a.m[0][1] * (a.m[1][0] * a.m[2][2] - a.m[1][2] * a.m[2][0]) +
         a.m[0][2] * (a.m[1][0] * a.m[2][1] - a.m[1][1] * a.m[2][0]);
}

static bool judge_one(const struct fit *fit, double *x, const struct fit_patch *patch, double *jacobian,
                      struct fit_verdict *verdict)
{
  fit_differentiate(fit, x, patch, jacobian);
  struct mat3 g = spread_of(fit, jacobian), open, inverse;

  open = mat3_add(mat3_identity(), mat3_scale(g, -patch->weight));
  if (!mat3_invert(open, &inverse)) {
    return false;
  }
  verdict->residual = vec3_scale(fit_residual(fit, x, patch), 1 / fit->scatter);
  verdict->left_out = mat3_apply(inverse, verdict->residual);
  verdict->leverage = patch->weight * (g.m[0][0] + g.m[1][1] + g.m[2][2]);
  struct mat3 whole = mat3_add(mat3_identity(), mat3_multiply(g, inverse));
  if (!mat3_invert(whole, &inverse)) {
    return false;
  }
  verdict->spread = whole;
  verdict->volume = -log(fmax(determinant_of(inverse), 1e-30));
  verdict->distance2 = vec3_dot(verdict->left_out, mat3_apply(inverse, verdict->left_out));
  return true;
}

bool fit_judge(const struct fit *fit, struct fit_verdict *verdict, struct error *error)
{
  double *jacobian = calloc(3 * fit->unknowns, sizeof *jacobian);
  double x[FIT_UNKNOWNS] = {0};
  bool done = jacobian != NULL;

  if (!done) {
    error_no_memory(error, "judging patches");
  }
  for (size_t j = 0; j < fit->unknowns; j++) {
    x[j] = fit->x[j];
  }
  for (size_t i = 0; done && i < fit->count; i++) {
    if (!judge_one(fit, x, &fit->patch[i], jacobian, &verdict[i])) {
      done = error_set(error, ERROR_UNMEASURABLE, "few-patches",
                       "the card's patches do not hold a camera model; show the whole card, evenly lit");
    }
  }
  free(jacobian);
  return done;
}

/* Student-t with a scale matrix that is the card's tolerance and scatter plus what the other patches leave open. Up to a
 * constant; the density is of Lab in CIEDE2000 units, so that fits of unlike scatter compare. */
double fit_evidence(const struct fit *fit, const struct fit_verdict *verdict)
{
  double sum = 0;

  for (size_t i = 0; i < fit->count; i++) {
    double tolerance = fit->patch[i].tolerance * fit->scatter;
    sum -= 3 * log(tolerance) + verdict[i].volume / 2;
    sum -= (FREEDOM + 3) / 2 * log1p(fmax(verdict[i].distance2, 0) / FREEDOM);
  }
  return sum;
}

/* Linear between order statistics. */
struct profile_residual fit_summary(double *value, size_t count)
{
  double median = order_quantile(value, count, 0.5);

  return (struct profile_residual){median, order_quantile(value, count, 0.9),
                                   order_quantile(value, count, 0.95), order_quantile(value, count, 1)};
}
