/* SPDX-License-Identifier: MIT */
#include "measure/difference.h"

#include <math.h>

#include "base/quantile.h"
#include "colour/difference.h"
#include "measure/values.h"

/* Covariance of the difference in Lab: what both readings share moves them together and cancels as far as it moves them
 * alike. */
static struct mat3 covariance_of_difference(const struct reading *a, const struct reading *b)
{
  struct mat3 sum = mat3_add(a->own, b->own);

  for (int k = 0; k < READING_SHARED; k++) {
    struct vec3 column = {{a->shared[0][k] - b->shared[0][k], a->shared[1][k] - b->shared[1][k],
                           a->shared[2][k] - b->shared[2][k]}};
    sum = mat3_add(sum, mat3_outer(column, column));
  }
  return mat3_add(sum, mat3_scale(mat3_identity(), DIFFERENCE_VARIANCE_FLOOR));
}

static bool zero_is_outside(struct vec3 difference, struct mat3 covariance)
{
  struct mat3 inverse;

  if (!mat3_invert(covariance, &inverse)) {
    return false; /* a difference of which nothing is known */
  }
  return vec3_dot(difference, mat3_apply(inverse, difference)) > QUANTILE_CHI_SQUARE_3_95;
}

/* d(de00) / d(first) at (first, second), by central differences of 0.01, well above rounding and below any curvature. */
static struct vec3 gradient(struct lab first, struct lab second)
{
  const double h = 0.01;
  struct vec3 at = colour_vec_from_lab(first), slope;

  for (int k = 0; k < 3; k++) {
    struct vec3 up = at, down = at;
    up.v[k] += h;
    down.v[k] -= h;
    slope.v[k] =
        (colour_de00(colour_lab_from_vec(up), second) - colour_de00(colour_lab_from_vec(down), second)) /
        (2 * h);
  }
  return slope;
}

/* Variance of de00 along its gradients: shared unknowns act through both readings at once. */
static double variance_along(const struct reading *a, const struct reading *b)
{
  struct vec3 ga = gradient(a->lab_d50, b->lab_d50), gb = gradient(b->lab_d50, a->lab_d50);
  double sum = vec3_dot(ga, mat3_apply(a->own, ga)) + vec3_dot(gb, mat3_apply(b->own, gb));

  for (int k = 0; k < READING_SHARED; k++) {
    double effect = 0;
    for (int i = 0; i < 3; i++) {
      effect += ga.v[i] * a->shared[i][k] + gb.v[i] * b->shared[i][k];
    }
    sum += effect * effect;
  }
  return sum;
}

static struct lab middle(struct lab a, struct lab b)
{
  return (struct lab){(a.L + b.L) / 2, (a.a + b.a) / 2, (a.b + b.b) / 2};
}

/* 95 % half-width of de00. Far from zero it is the spread along the gradient, w1. A distance can't be negative: near zero
 * all directions count, and the half-width is the radius r of the 95 % region, up to a distance of r itself, since two
 * readings of one colour come out as far apart as that. Beyond r what lies across the gradient fades,
 *   w^2 = w1^2 + (r^2 - w1^2) (r / de00)^4,
 * which tests/compare holds against draws. */
static double half_width(const struct reading *a, const struct reading *b, struct mat3 covariance,
                         double de00)
{
  double r = values_radius95(middle(a->lab_d50, b->lab_d50), covariance);

  if (de00 <= r) {
    return r;
  }
  double w1 = QUANTILE_NORMAL_95 * sqrt(variance_along(a, b));
  return sqrt(w1 * w1 + fmax(r * r - w1 * w1, 0) * pow(r / de00, 4));
}

struct difference difference_of(const struct reading *a, const struct reading *b)
{
  struct mat3 covariance = covariance_of_difference(a, b);
  struct vec3 lab = vec3_subtract(colour_vec_from_lab(b->lab_d50), colour_vec_from_lab(a->lab_d50));
  double de00 = colour_de00(a->lab_d50, b->lab_d50);

  return (struct difference){.lab = lab,
                             .covariance = covariance,
                             .de00 = de00,
                             .uncertainty = half_width(a, b, covariance, de00),
                             .apart = zero_is_outside(lab, covariance)};
}

struct difference difference_across(const struct reading *a, const struct reading *b)
{
  struct reading first = *a, second = *b;

  for (int row = 0; row < 3; row++) {
    first.shared[row][READING_UNSURE] = second.shared[row][READING_UNSURE] = 0;
  }
  return difference_of(&first, &second);
}
