/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <lcms2.h>

#include "colour/space.h"
#include "random.h"
#include "suite.h"

/* Both sides are double arithmetic of a dozen operations on numbers up to 200. */
static const double ROUNDING = 1e-9;

enum { RUNS = 2000, SEED = 11 };

static const struct {
  const char *name;
  const struct xyz *white;
  double X, Z; /* Y = 100 */
  double tolerance;
} WHITES[] = {
    /* ICC.1, profile connection space; CIE 15 tables of X Z to three decimals for the chromaticities of C and D65 */
    {"D50", &COLOUR_WHITE_D50, 96.42, 82.49, 0},
    {"C", &COLOUR_WHITE_C, 98.072, 118.225, 0.003},
    {"D65", &COLOUR_WHITE_D65, 95.043, 108.880, 0.003},
};

static struct xyz some_xyz(struct random *random)
{
  return (struct xyz){random_between(random, -2, 100), random_between(random, -2, 100),
                      random_between(random, -2, 100)};
}

START_TEST(white_points_are_the_published_ones)
{
  const struct xyz *white = WHITES[_i].white;

  ck_assert_msg(fabs(white->X - WHITES[_i].X) <= WHITES[_i].tolerance, "%s: X %.4f", WHITES[_i].name,
                white->X);
  ck_assert_msg(white->Y == 100, "%s: Y %.4f", WHITES[_i].name, white->Y);
  ck_assert_msg(fabs(white->Z - WHITES[_i].Z) <= WHITES[_i].tolerance, "%s: Z %.4f", WHITES[_i].name,
                white->Z);
}
END_TEST

START_TEST(white_has_lightness_100_and_no_chroma)
{
  struct lab c = colour_lab_from_xyz(*WHITES[_i].white, *WHITES[_i].white);

  ck_assert_double_eq_tol(c.L, 100, ROUNDING);
  ck_assert_double_eq_tol(c.a, 0, ROUNDING);
  ck_assert_double_eq_tol(c.b, 0, ROUNDING);
}
END_TEST

/* Second implementation: Little-CMS, which knows no values below zero. */
START_TEST(lab_agrees_with_little_cms)
{
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    struct xyz c = some_xyz(&random), white = *WHITES[run % 3].white;
    c = (struct xyz){fabs(c.X), fabs(c.Y),
                     fabs(c.Z) * (run % 5 ? 1 : 0.005)}; /* the straight part of the curve too */
    cmsCIEXYZ theirs_xyz = {c.X / 100, c.Y / 100, c.Z / 100};
    cmsCIEXYZ theirs_white = {white.X / 100, white.Y / 100, white.Z / 100};
    cmsCIELab theirs;
    struct lab ours = colour_lab_from_xyz(c, white);
    cmsXYZ2Lab(&theirs_white, &theirs, &theirs_xyz);
    ck_assert_double_eq_tol(ours.L, theirs.L, ROUNDING);
    ck_assert_double_eq_tol(ours.a, theirs.a, ROUNDING);
    ck_assert_double_eq_tol(ours.b, theirs.b, ROUNDING);
  }
}
END_TEST

START_TEST(every_space_goes_there_and_back)
{
  struct random random = random_start(SEED + 1);

  for (int run = 0; run < RUNS; run++) {
    struct xyz c = some_xyz(&random), white = *WHITES[run % 3].white;
    struct lab lab = colour_lab_from_xyz(c, white);
    struct lab turned = colour_lab_from_lch(colour_lch_from_lab(lab));
    struct xyz back = colour_xyz_from_lab(turned, white);
    ck_assert_double_eq_tol(back.X, c.X, ROUNDING);
    ck_assert_double_eq_tol(back.Y, c.Y, ROUNDING);
    ck_assert_double_eq_tol(back.Z, c.Z, ROUNDING);
    c.Y = fmax(c.Y, 0.1);
    c.X = fabs(c.X);
    c.Z = fabs(c.Z);
    back = colour_xyz_from_xyY(colour_xyY_from_xyz(c, white));
    ck_assert_double_eq_tol(back.X, c.X, ROUNDING);
    ck_assert_double_eq_tol(back.Y, c.Y, ROUNDING);
    ck_assert_double_eq_tol(back.Z, c.Z, ROUNDING);
  }
}
END_TEST

START_TEST(black_keeps_the_chromaticity_of_its_white)
{
  struct xyY black = colour_xyY_from_xyz((struct xyz){0, 0, 0}, COLOUR_WHITE_C);
  struct xyz back = colour_xyz_from_xyY((struct xyY){0.3, 0, 5});

  ck_assert_double_eq_tol(black.x, 0.31006, ROUNDING);
  ck_assert_double_eq_tol(black.y, 0.31616, ROUNDING);
  ck_assert(black.Y == 0);
  ck_assert(back.X == 0 && back.Y == 0 && back.Z == 0);
}
END_TEST

static const struct {
  double a, b, h;
} HUES[] = {{1, 0, 0},    {1, 1, 45},   {0, 2, 90}, {-3, 0, 180},
            {0, -1, 270}, {1, -1, 315}, {0, 0, 0},  {1, -1e-300, 0}};

START_TEST(hue_angle_lies_in_the_circle)
{
  struct lch c = colour_lch_from_lab((struct lab){50, HUES[_i].a, HUES[_i].b});

  ck_assert_msg(c.h >= 0 && c.h < 360 && fabs(c.h - HUES[_i].h) < ROUNDING, "a %g b %g: hue %.17g",
                HUES[_i].a, HUES[_i].b, c.h);
}
END_TEST

START_TEST(jacobian_is_the_slope)
{
  const double step = 1e-5; /* error of a central difference: step^2, and rounding / step */
  const double slope_tolerance = 1e-6;
  struct random random = random_start(SEED + 2);

  for (int run = 0; run < RUNS; run++) {
    struct xyz white = *WHITES[run % 3].white;
    struct vec3 c = colour_vec_from_xyz(some_xyz(&random));
    struct mat3 jacobian = colour_lab_jacobian(colour_xyz_from_vec(c), white);
    for (int k = 0; k < 3; k++) {
      struct vec3 up = c, down = c;
      up.v[k] += step;
      down.v[k] -= step;
      struct vec3 rise =
          vec3_subtract(colour_vec_from_lab(colour_lab_from_xyz(colour_xyz_from_vec(up), white)),
                        colour_vec_from_lab(colour_lab_from_xyz(colour_xyz_from_vec(down), white)));
      for (int row = 0; row < 3; row++) {
        ck_assert_double_eq_tol(jacobian.m[row][k], rise.v[row] / (2 * step), slope_tolerance * 20);
      }
    }
  }
}
END_TEST

START_TEST(what_is_not_finite_is_seen)
{
  ck_assert(colour_xyz_is_finite((struct xyz){1, 2, 3}));
  ck_assert(!colour_xyz_is_finite((struct xyz){1, (double)NAN, 3}));
  ck_assert(colour_lab_is_finite((struct lab){1, 2, 3}));
  ck_assert(!colour_lab_is_finite((struct lab){1, 2, (double)INFINITY}));
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("colour/space");
  TCase *cases = tcase_create("space");

  tcase_add_loop_test(cases, white_points_are_the_published_ones, 0, 3);
  tcase_add_loop_test(cases, white_has_lightness_100_and_no_chroma, 0, 3);
  tcase_add_test(cases, lab_agrees_with_little_cms);
  tcase_add_test(cases, every_space_goes_there_and_back);
  tcase_add_test(cases, black_keeps_the_chromaticity_of_its_white);
  tcase_add_loop_test(cases, hue_angle_lies_in_the_circle, 0, sizeof HUES / sizeof *HUES);
  tcase_add_test(cases, jacobian_is_the_slope);
  tcase_add_test(cases, what_is_not_finite_is_seen);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
