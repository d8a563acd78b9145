/* SPDX-License-Identifier: MIT */
#include "measure/values.h"

#include <math.h>

#include "base/quantile.h"
#include "colour/adapt.h"
#include "colour/difference.h"
#include "munsell/notation.h"

enum {
  CANDIDATES = 40, /* chips that can be nearest to a colour within the uncertainty          */
  DRAWS = 600      /* standard error of a chance of one half: 0.02 at random, less evenly    */
};

/* Errors of readings have longer tails than a normal distribution of their covariance, since its parts are estimates
 * themselves (GUM, JCGM 100, G.4): a Student t of this many degrees of freedom, scaled to hold 95 % within the same radius, has more of
 * them near the middle. The number is from tuning scenes (docs/method.md). */
static const double FREEDOM = 10;
static const double FREEDOM_SCALE =
    0.8381; /* square root of chi-square_3(0.95) = 7.815 over 3 F_3,10(0.95) = 11.12 */

double values_radius95(struct lab c, struct mat3 covariance)
{
  return colour_de00_radius95(c, covariance);
}

/* d(XYZ under C) / d(Lab D50) at the reading. */
static bool xyz_c_from_lab(const struct reading *reading, struct mat3 *jacobian)
{
  struct xyz xyz = colour_xyz_from_lab(reading->lab_d50, COLOUR_WHITE_D50);
  struct mat3 inverse;

  if (!mat3_invert(colour_lab_jacobian(xyz, COLOUR_WHITE_D50), &inverse)) {
    return false;
  }
  *jacobian = mat3_multiply(colour_object_matrix_c_from_d50(), inverse);
  return true;
}

static void fill_spread(struct reading *reading, struct mat3 covariance_xyz)
{
  struct mat3 jacobian, covariance;

  munsell_jacobian(reading->munsell, &jacobian); /* near neutrals the hue row is zero: no hue, no spread */
  covariance = mat3_congruence(jacobian, covariance_xyz);
  reading->spread95.hue =
      reading->neutral ? 0 : fmin(QUANTILE_NORMAL_95 * sqrt(fmax(covariance.m[0][0], 0)), 50);
  reading->spread95.value = QUANTILE_NORMAL_95 * sqrt(fmax(covariance.m[1][1], 0));
  reading->spread95.chroma = QUANTILE_NORMAL_95 * sqrt(fmax(covariance.m[2][2], 0));
}

/* z with a normal probability of p below it, by Newton's rule on erfc: from 0 it comes nearer from one side. */
static double normal_quantile(double p)
{
  double z = 0, step = 1;

  for (int round = 0; round < 60 && fabs(step) > 1e-12; round++) {
    step = (0.5 * erfc(-z * M_SQRT1_2) - p) / (exp(-z * z / 2) * M_SQRT1_2 * M_2_SQRTPI / 2);
    z -= step;
  }
  return z;
}

/* Chi-square over its degrees of freedom h at normal quantile z (Wilson & Hilferty 1931; at 0.95 within 1 % for h >= 1). */
static double chi_square_over(double h, double z)
{
  double c = 2 / (9 * h), root = 1 - c + z * sqrt(c);

  return root * root * root;
}

/* Point i of an even sequence in four dimensions (additive recurrence with powers of the root of x^5 = x + 1, Roberts 2018,
 * from memory), turned into three numbers of a joint Student t. */
static struct vec3 even_student(int i)
{
  static const double step[4] = {0.8566748838545029, 0.7338918566271259, 0.6287067210378087,
                                 0.5385972572236101};
  double z[4];

  for (int k = 0; k < 4; k++) {
    double u = fmod(0.5 + step[k] * (i + 1), 1.0);
    z[k] = normal_quantile(fmin(fmax(u, 1e-9), 1 - 1e-9));
  }
  double wide = FREEDOM_SCALE / sqrt(chi_square_over(FREEDOM, z[3]));
  return (struct vec3){{wide * z[0], wide * z[1], wide * z[2]}};
}

static size_t nearest_of(const struct munsell_chip *const *chips, size_t count, struct lab c)
{
  size_t best = 0;
  double best_de00 = INFINITY;

  for (size_t k = 0; k < count; k++) {
    double de00 = colour_de00(chips[k]->lab_c, c);
    if (de00 < best_de00) {
      best_de00 = de00;
      best = k;
    }
  }
  return best;
}

/* Counts over even draws which chip is nearest. */
static void fill_chips(struct reading *reading, struct mat3 covariance_lab_c)
{
  const struct munsell_chip *chips[CANDIDATES];
  double de00[CANDIDATES];
  int hits[CANDIDATES] = {0};
  size_t count = munsell_nearest_soil_chips(reading->lab_c, CANDIDATES, chips, de00);
  struct mat3 root = mat3_cholesky(covariance_lab_c);
  size_t second = count > 1 ? 1 : 0;

  for (int i = 0; i < DRAWS; i++) {
    struct vec3 c = vec3_add(colour_vec_from_lab(reading->lab_c), mat3_apply(root, even_student(i)));
    hits[nearest_of(chips, count, colour_lab_from_vec(c))]++;
  }
  for (size_t k = 2; k < count; k++) {
    second = hits[k] > hits[second] ? k : second;
  }
  reading->chip = chips[0];
  reading->chip_de00 = de00[0];
  reading->chip_chance = hits[0] / (double)DRAWS;
  reading->runner_up = second > 0 ? chips[second] : NULL;
  reading->runner_up_chance = second > 0 ? hits[second] / (double)DRAWS : 0;
}

bool values_fill(struct reading *reading, struct error *error)
{
  struct xyz xyz_c = colour_object_c_from_d50(colour_xyz_from_lab(reading->lab_d50, COLOUR_WHITE_D50));
  struct mat3 to_xyz;

  if (!colour_xyz_is_finite(xyz_c) || !(xyz_c.Y > 0) || !xyz_c_from_lab(reading, &to_xyz)) {
    return error_set(error, ERROR_UNMEASURABLE, "no-colour",
                     "the region comes out as no colour that a surface can have; check that it lies in the "
                     "card's light and is "
                     "not black");
  }
  reading->xyY_c = colour_xyY_from_xyz(xyz_c, COLOUR_WHITE_C);
  reading->lab_c = colour_lab_from_xyz(xyz_c, COLOUR_WHITE_C);
  munsell_from_xyY(reading->xyY_c, &reading->munsell, &reading->place);
  reading->neutral = munsell_is_neutral(reading->munsell);
  struct mat3 covariance_xyz = mat3_congruence(to_xyz, reading->covariance);
  fill_spread(reading, covariance_xyz);
  fill_chips(reading, mat3_congruence(colour_lab_jacobian(xyz_c, COLOUR_WHITE_C), covariance_xyz));
  reading->radius = values_radius95(reading->lab_d50, reading->covariance);
  return true;
}
