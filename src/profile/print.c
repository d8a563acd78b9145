/* SPDX-License-Identifier: MIT */
/* How well this card is printed. Weights of the fit stand on the tolerance of the card's edition, which a good copy does not
 * use up. Its patches show that, and what is known of the camera is then more than the weights alone say: the covariance of
 * an estimate whose weights are not those of its errors (Huber 1967, The behavior of maximum likelihood estimates under
 * nonstandard conditions). */
#include "profile/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The prior of s, the log of the print's variance over the tolerance's: mean 0, standard deviation 1. Editions state what copies
 * differ by in all; a new, clean copy differs by half of it. Below 0.4 of it what else is off (the shape of the curve, pigments)
 * is as large as the print. */
static const double PRINT_SPREAD = 1, PRINT_LEAST = 0.4;
enum { STEPS = 20 };

static double trace(struct mat3 a)
{
  return a.m[0][0] + a.m[1][1] + a.m[2][2];
}

/* Whitened covariance of what the tolerance allows a patch, at scatter 1: part of the unit matrix. */
static struct mat3 print_part(const struct fit_patch *patch)
{
  struct mat3 print = mat3_congruence(mat3_scale(patch->from_units, patch->tolerance), mat3_identity());

  return mat3_congruence(patch->whiten, print);
}

/* Adds a patch's part of score and information, for residuals r of covariance V = I - (1 - p^2) A with A the print's part:
 * (r' V^-1 p^2 A V^-1 r - tr V^-1 p^2 A) / 2 and tr (V^-1 p^2 A)^2 / 2 (Harville 1977, Maximum likelihood approaches to
 * variance component estimation). What the fit has taken up of r is given back in the mean. */
static void add_patch(const struct fit_patch *patch, const struct fit_verdict *verdict, double p2,
                      double *score, double *information)
{
  struct mat3 a = print_part(patch), inverse;

  if (!mat3_invert(mat3_add(mat3_identity(), mat3_scale(a, p2 - 1)), &inverse)) {
    return;
  }
  struct mat3 share = mat3_multiply(inverse, mat3_scale(a, p2));
  double given_back = 3 / fmax(3 - verdict->leverage, 1);
  struct vec3 r = verdict->residual;
  double seen = vec3_dot(r, mat3_apply(mat3_multiply(share, inverse), r));
  *score += (given_back * patch->weight * seen - trace(share)) / 2;
  *information += trace(mat3_multiply(share, share)) / 2;
}

double fit_print(const struct fit *fit, const struct fit_verdict *verdict)
{
  double s = 0, information = 1;

  for (int step = 0; step < STEPS; step++) {
    information = 1 / (PRINT_SPREAD * PRINT_SPREAD);
    double score = -s * information;
    for (size_t i = 0; i < fit->count; i++) {
      add_patch(&fit->patch[i], &verdict[i], exp(s), &score, &information);
    }
    s = fmin(fmax(s + fmin(fmax(score / information, -1), 1), 2 * log(PRINT_LEAST)), 0);
  }
  return fmin(exp((s + 1 / (2 * information)) / 2), 1); /* root of the mean of a log-normal variance */
}

/* Adds w j' a j to m, for j of 3 rows. */
static void add_congruence(size_t n, const double *j, struct mat3 a, double w, double *m)
{
  for (size_t p = 0; p < n; p++) {
    for (size_t q = 0; q < n; q++) {
      for (size_t i = 0; i < 3; i++) {
        for (size_t k = 0; k < 3; k++) {
          m[p * n + q] += w * j[i * n + p] * a.m[i][k] * j[k * n + q];
        }
      }
    }
  }
}

/* a = a - share * a m a, all n x n and symmetrical. */
static void subtract_between(size_t n, const double *m, double share, double *half, double *a)
{
  for (size_t p = 0; p < n; p++) {
    for (size_t q = 0; q < n; q++) {
      half[p * n + q] = 0;
      for (size_t k = 0; k < n; k++) {
        half[p * n + q] += a[p * n + k] * m[k * n + q];
      }
    }
  }
  double *kept = half + n * n;
  memcpy(kept, a, n * n * sizeof *a);
  for (size_t p = 0; p < n; p++) {
    for (size_t q = 0; q < n; q++) {
      for (size_t k = 0; k < n; k++) {
        a[p * n + q] -= share * half[p * n + k] * kept[k * n + q];
      }
    }
  }
}

bool fit_narrow(struct fit *fit, double printed, struct error *error)
{
  size_t n = fit->unknowns;
  double *room = calloc(3 * n * n + 3 * n, sizeof *room);
  double x[FIT_UNKNOWNS];

  if (!room) {
    return error_no_memory(error, "a camera model");
  }
  memcpy(x, fit->x, n * sizeof *x);
  for (size_t i = 0; i < fit->count; i++) {
    fit_differentiate(fit, x, &fit->patch[i], room + 3 * n * n);
    add_congruence(n, room + 3 * n * n, print_part(&fit->patch[i]), fit->patch[i].weight, room);
  }
  for (size_t k = FIT_COMMON; k < FIT_COMMON + 3; k++) {
    room[k * n + k] += 1 / (FIT_COMMON_SPREAD * FIT_COMMON_SPREAD);
  }
  subtract_between(n, room, 1 - printed * printed, room + n * n, fit->covariance);
  free(room);
  return true;
}
