/* SPDX-License-Identifier: MIT */
#include "profile/tone.h"

#include <math.h>

enum { SEGMENTS = 6, VEIL = 8 };

static const double WIDTH = 1.0 / SEGMENTS; /* of a segment */
static const double SMALL = 1e-5;           /* below it series replace quotients that lose digits */

/* CIE 15:2018, 8.2.1, as L* / 100 of a share of white; linear below (6/29)^3 and so onwards below 0. */
static double lightness(double t)
{
  return t > 216.0 / 24389 ? 1.16 * cbrt(t) - 0.16 : t * 24389.0 / 2700;
}

static double lightness_inverse(double v)
{
  double f = (v + 0.16) / 1.16;

  return v > 0.08 ? f * f * f : v * 2700 / 24389;
}

static double lightness_slope(double t)
{
  return t > 216.0 / 24389 ? 1.16 / 3 / (cbrt(t) * cbrt(t)) : 24389.0 / 2700;
}

static double lightness_inverse_slope(double v)
{
  double f = (v + 0.16) / 1.16;

  return v > 0.08 ? 3 * f * f / 1.16 : 2700.0 / 24389;
}

/* (e^x - 1) / x, and its derivative. */
static double mean_exp(double x)
{
  return fabs(x) < SMALL ? 1 + x / 2 + x * x / 6 : expm1(x) / x;
}

static double mean_exp_slope(double x)
{
  return fabs(x) < 1e-3 ? 0.5 + x / 3 + x * x / 8 : (exp(x) - mean_exp(x)) / x;
}

/* Integral over the first t (0..1) widths of a segment on which q runs from a to b. */
static double area(double a, double b, double t)
{
  return WIDTH * exp(a) * t * mean_exp((b - a) * t);
}

static int segment_of(double u)
{
  int i = (int)floor(u * SEGMENTS);

  return i < 0 ? 0 : i >= SEGMENTS ? SEGMENTS - 1 : i;
}

static double curve(const double *knot, double u)
{
  const double *q = knot + 1;
  double v = knot[0];

  if (u <= 0) {
    return v + u * exp(q[0]);
  }
  int last = segment_of(u);
  for (int i = 0; i < last; i++) {
    v += area(q[i], q[i + 1], 1);
  }
  v += area(q[last], q[last + 1], fmin(u * SEGMENTS - last, 1));
  return v + fmax(u - 1, 0) * exp(q[SEGMENTS]);
}

static double curve_slope(const double *knot, double u)
{
  const double *q = knot + 1;
  int i = segment_of(u);
  double t = fmin(fmax(u * SEGMENTS - i, 0), 1);

  return exp(q[i] + (q[i + 1] - q[i]) * t);
}

static double curve_inverse(const double *knot, double v)
{
  const double *q = knot + 1;
  double left = v - knot[0];

  if (left <= 0) {
    return left / exp(q[0]);
  }
  for (int i = 0; i < SEGMENTS; i++) {
    double whole = area(q[i], q[i + 1], 1);
    if (left <= whole) {
      double d = q[i + 1] - q[i], x = left / (WIDTH * exp(q[i]));
      double t = fabs(d * x) < SMALL ? x * (1 - d * x / 2 + d * d * x * x / 3) : log1p(d * x) / d;
      return (i + t) * WIDTH;
    }
    left -= whole;
  }
  return 1 + left / exp(q[SEGMENTS]);
}

double tone_apply(const double knot[PROFILE_KNOTS], double nominal)
{
  return lightness_inverse(curve(knot, lightness(nominal))) - knot[VEIL];
}

double tone_invert(const double knot[PROFILE_KNOTS], double linear)
{
  return lightness_inverse(curve_inverse(knot, lightness(linear + knot[VEIL])));
}

double tone_slope(const double knot[PROFILE_KNOTS], double nominal)
{
  double u = lightness(nominal);

  return lightness_inverse_slope(curve(knot, u)) * curve_slope(knot, u) * lightness_slope(nominal);
}

/* Adds the derivatives of area(a, b, t) with respect to a and b. */
static void add_area_gradient(double a, double b, double t, double *by_a, double *by_b)
{
  double x = (b - a) * t, scale = WIDTH * exp(a) * t;

  *by_a += scale * (mean_exp(x) - t * mean_exp_slope(x));
  *by_b += scale * t * mean_exp_slope(x);
}

void tone_gradient(const double knot[PROFILE_KNOTS], double nominal, double gradient[PROFILE_KNOTS])
{
  const double *q = knot + 1;
  double u = lightness(nominal), outer = lightness_inverse_slope(curve(knot, u));
  int last = segment_of(u);

  for (int i = 0; i < PROFILE_KNOTS; i++) {
    gradient[i] = i == 0;
  }
  if (u <= 0) {
    gradient[1] = u * exp(q[0]);
  } else {
    for (int i = 0; i <= last; i++) {
      double t = i < last ? 1 : fmin(u * SEGMENTS - last, 1);
      add_area_gradient(q[i], q[i + 1], t, &gradient[1 + i], &gradient[2 + i]);
    }
    gradient[1 + SEGMENTS] += fmax(u - 1, 0) * exp(q[SEGMENTS]);
  }
  for (int i = 0; i < PROFILE_KNOTS; i++) {
    gradient[i] *= outer;
  }
  gradient[VEIL] = -1;
}
