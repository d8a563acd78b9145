/* SPDX-License-Identifier: MIT */
#include "colour/difference.h"

#include <math.h>

static const double RADIANS = 3.14159265358979323846 / 180;

static double degrees_cos(double angle)
{
  return cos(angle * RADIANS);
}

static double degrees_sin(double angle)
{
  return sin(angle * RADIANS);
}

static double seventh_power_ratio(double c)
{
  double c2 = c * c, c7 = c2 * c2 * c2 * c;

  return sqrt(c7 / (c7 + 6103515625.0)); /* 25^7 */
}

/* Quicker than hypot(), whose care for overflow no colour needs. */
static double chroma_of(struct lab c)
{
  return sqrt(c.a * c.a + c.b * c.b);
}

/* L', C', h' with a* stretched towards red for low chroma. */
static struct lch stretched(struct lab c, double mean_chroma)
{
  double g = 0.5 * (1 - seventh_power_ratio(mean_chroma));

  return colour_lch_from_lab((struct lab){c.L, (1 + g) * c.a, c.b});
}

/* h2' - h1' on the short way round; 0 where either chroma is 0. Sharma, Wu & Dalal 2005, equation 10. */
static double hue_step(struct lch first, struct lch second)
{
  double step = second.h - first.h;

  if (first.C * second.C == 0) {
    return 0;
  }
  if (step > 180) {
    return step - 360;
  }
  return step < -180 ? step + 360 : step;
}

/* Equation 14 there: the mean of the hues on the short way round; their sum where either chroma is 0. */
static double hue_mean(struct lch first, struct lch second)
{
  double sum = first.h + second.h;

  if (first.C * second.C == 0) {
    return sum;
  }
  if (fabs(first.h - second.h) <= 180) {
    return sum / 2;
  }
  return sum < 360 ? (sum + 360) / 2 : (sum - 360) / 2;
}

/* The weights S_L, S_C, S_H and the rotation R_T at a mean colour, CIE 142-2001. */
struct weights {
  double lightness, chroma, hue, rotation;
};

static struct weights weights_at(double lightness, double chroma, double hue)
{
  double l50 = (lightness - 50) * (lightness - 50);
  double t = 1 - 0.17 * degrees_cos(hue - 30) + 0.24 * degrees_cos(2 * hue) +
             0.32 * degrees_cos(3 * hue + 6) - 0.20 * degrees_cos(4 * hue - 63);
  double away = (hue - 275) / 25, turn = 30 * exp(-away * away);

  return (struct weights){.lightness = 1 + 0.015 * l50 / sqrt(20 + l50),
                          .chroma = 1 + 0.045 * chroma,
                          .hue = 1 + 0.015 * chroma * t,
                          .rotation = -degrees_sin(2 * turn) * 2 * seventh_power_ratio(chroma)};
}

struct colour_difference colour_difference_2000(struct lab first, struct lab second)
{
  double mean_chroma = (chroma_of(first) + chroma_of(second)) / 2;
  struct lch one = stretched(first, mean_chroma), two = stretched(second, mean_chroma);
  struct weights s = weights_at((one.L + two.L) / 2, (one.C + two.C) / 2, hue_mean(one, two));
  struct colour_difference d;

  d.lightness = (two.L - one.L) / s.lightness;
  d.chroma = (two.C - one.C) / s.chroma;
  d.hue = 2 * sqrt(one.C * two.C) * degrees_sin(hue_step(one, two) / 2) / s.hue;
  d.rotation = s.rotation * d.chroma * d.hue;
  d.total = sqrt(fmax(d.lightness * d.lightness + d.chroma * d.chroma + d.hue * d.hue + d.rotation, 0));
  return d;
}

struct colour_difference colour_difference_1976(struct lab first, struct lab second)
{
  struct lch one = colour_lch_from_lab(first), two = colour_lch_from_lab(second);
  struct colour_difference d = {.lightness = second.L - first.L, .chroma = two.C - one.C};

  d.hue = 2 * sqrt(one.C * two.C) * degrees_sin(hue_step(one, two) / 2);
  d.total = hypot(hypot(second.L - first.L, second.a - first.a), second.b - first.b);
  return d;
}

double colour_de00(struct lab first, struct lab second)
{
  return colour_difference_2000(first, second).total;
}

/* With a' = (1 + G) a, where G depends on C = |(a, b)|, and small steps:
 *   dL/S_L, dC'/S_C, C' dh'/S_H with dC' = (a' da' + b db) / C', C' dh' = (a' db - b da') / C'
 * and total^2 = their squares + R_T (dC'/S_C) (dH'/S_H). G belongs to the mean chroma of the pair, so in the limit both
 * ends carry the same G and da' = (1 + G) da exactly. */
struct mat3 colour_de00_metric(struct lab c)
{
  double chroma = chroma_of(c);
  double stretch = 1 + 0.5 * (1 - seventh_power_ratio(chroma));
  struct lch mean = stretched(c, chroma);
  struct weights s = weights_at(mean.L, mean.C, mean.h);
  double cosine = mean.C > 0 ? stretch * c.a / mean.C : 1, sine = mean.C > 0 ? c.b / mean.C : 0;
  struct mat3 parts = {{{1 / s.lightness, 0, 0},
                        {0, stretch * cosine / s.chroma, sine / s.chroma},
                        {0, -stretch * sine / s.hue, cosine / s.hue}}};
  struct mat3 form = {{{1, 0, 0}, {0, 1, s.rotation / 2}, {0, s.rotation / 2, 1}}};

  return mat3_congruence(mat3_transpose(parts), form);
}

/* Quantile 0.95 of chi-square with h degrees of freedom, h real (Wilson & Hilferty 1931; within 1 % for h >= 1). */
static double chi_square_95(double h)
{
  const double z = 1.644853626951473;
  double c = 2 / (9 * h);

  return h * pow(1 - c + z * sqrt(c), 3);
}

double colour_de00_radius95(struct lab c, struct mat3 covariance)
{
  /* de00^2 = sum of l_i z_i^2 with l the eigenvalues of root' metric root; matched by a scaled chi-square (Satterthwaite
   * 1946) of the same mean and variance. */
  struct mat3 root = mat3_cholesky(covariance), vectors;
  struct vec3 l = mat3_eigen(mat3_congruence(mat3_transpose(root), colour_de00_metric(c)), &vectors);
  double sum = l.v[0] + l.v[1] + l.v[2], squares = vec3_dot(l, l);

  if (!(sum > 0)) {
    return 0;
  }
  return sqrt(squares / sum * chi_square_95(sum * sum / squares));
}
