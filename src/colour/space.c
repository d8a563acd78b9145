/* SPDX-License-Identifier: MIT */
#include "colour/space.h"

#include <math.h>

const struct xyz COLOUR_WHITE_D50 = {96.42, 100, 82.49};
const struct xyz COLOUR_WHITE_C = {100 * 0.31006 / 0.31616, 100, 100 * (1 - 0.31006 - 0.31616) / 0.31616};
const struct xyz COLOUR_WHITE_D65 = {100 * 0.31272 / 0.32903, 100, 100 * (1 - 0.31272 - 0.32903) / 0.32903};

static const double RADIANS = 3.14159265358979323846 / 180;

struct xyz colour_xyz_from_xyY(struct xyY c)
{
  if (c.y == 0) {
    return (struct xyz){0, 0, 0};
  }
  return (struct xyz){c.x / c.y * c.Y, c.Y, (1 - c.x - c.y) / c.y * c.Y};
}

struct xyY colour_xyY_from_xyz(struct xyz c, struct xyz white)
{
  double sum = c.X + c.Y + c.Z;

  if (c.X == 0 && c.Y == 0 && c.Z == 0) {
    sum = white.X + white.Y + white.Z;
    return (struct xyY){white.X / sum, white.Y / sum, 0};
  }
  return (struct xyY){c.X / sum, c.Y / sum, c.Y};
}

/* CIE 15:2018, 8.2.1: cube root above (6/29)^3, a straight line that continues value and slope below. */
static double lab_curve(double t)
{
  const double edge = 6.0 / 29 * 6 / 29 * 6 / 29;

  return t > edge ? cbrt(t) : 841.0 / 108 * t + 4.0 / 29;
}

static double lab_curve_slope(double t)
{
  const double edge = 6.0 / 29 * 6 / 29 * 6 / 29;
  double root = cbrt(t);

  return t > edge ? 1 / (3 * root * root) : 841.0 / 108;
}

static double lab_curve_inverse(double f)
{
  return f > 6.0 / 29 ? f * f * f : 108.0 / 841 * (f - 4.0 / 29);
}

struct lab colour_lab_from_xyz(struct xyz c, struct xyz white)
{
  double fx = lab_curve(c.X / white.X), fy = lab_curve(c.Y / white.Y), fz = lab_curve(c.Z / white.Z);

  return (struct lab){116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
}

struct xyz colour_xyz_from_lab(struct lab c, struct xyz white)
{
  double fy = (c.L + 16) / 116;

  return (struct xyz){white.X * lab_curve_inverse(fy + c.a / 500), white.Y * lab_curve_inverse(fy),
                      white.Z * lab_curve_inverse(fy - c.b / 200)};
}

struct lch colour_lch_from_lab(struct lab c)
{
  double chroma = sqrt(c.a * c.a + c.b * c.b); /* quicker than hypot() */
  double hue = chroma > 0 ? atan2(c.b, c.a) / RADIANS : 0;

  if (hue < 0) {
    hue += 360;
  }
  return (struct lch){c.L, chroma, hue >= 360 ? 0 : hue};
}

struct lab colour_lab_from_lch(struct lch c)
{
  return (struct lab){c.L, c.C * cos(c.h * RADIANS), c.C * sin(c.h * RADIANS)};
}

struct mat3 colour_lab_jacobian(struct xyz c, struct xyz white)
{
  double dx = lab_curve_slope(c.X / white.X) / white.X;
  double dy = lab_curve_slope(c.Y / white.Y) / white.Y;
  double dz = lab_curve_slope(c.Z / white.Z) / white.Z;

  return (struct mat3){{{0, 116 * dy, 0}, {500 * dx, -500 * dy, 0}, {0, 200 * dy, -200 * dz}}};
}

struct vec3 colour_vec_from_xyz(struct xyz c)
{
  return (struct vec3){{c.X, c.Y, c.Z}};
}

struct xyz colour_xyz_from_vec(struct vec3 c)
{
  return (struct xyz){c.v[0], c.v[1], c.v[2]};
}

struct vec3 colour_vec_from_lab(struct lab c)
{
  return (struct vec3){{c.L, c.a, c.b}};
}

struct lab colour_lab_from_vec(struct vec3 c)
{
  return (struct lab){c.v[0], c.v[1], c.v[2]};
}

bool colour_xyz_is_finite(struct xyz c)
{
  return vec3_is_finite(colour_vec_from_xyz(c));
}

bool colour_lab_is_finite(struct lab c)
{
  return vec3_is_finite(colour_vec_from_lab(c));
}
