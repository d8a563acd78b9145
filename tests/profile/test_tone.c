/* SPDX-License-Identifier: MIT */
/* The tone curve: rises whatever its knots, inverts, and its derivatives are those of differences. */
#include <check.h>
#include <math.h>

#include "profile/tone.h"
#include "random.h"
#include "suite.h"

enum { CURVES = 200 };
static const uint64_t SEED = 1911;
static const double INVERSE = 1e-12;   /* rounding of a few exponentials and cube roots             */
static const double DIFFERENCE = 2e-6; /* central differences of step 1e-5, relative to the largest */

static void random_knots(struct random *random, double knot[PROFILE_KNOTS])
{
  knot[0] = random_between(random, -0.05, 0.05);
  for (int i = 1; i < 8; i++) {
    knot[i] = random_between(random, -1.5, 1.5);
  }
  knot[8] = random_between(random, -0.002, 0.005);
}

START_TEST(zero_knots_are_the_nominal_curve)
{
  static const double none[PROFILE_KNOTS] = {0};

  for (double n = -0.02; n < 1.2; n += 0.001) {
    ck_assert_double_eq_tol(tone_apply(none, n), n, INVERSE);
    ck_assert_double_eq_tol(tone_slope(none, n), 1, INVERSE);
  }
}
END_TEST

START_TEST(rises_and_inverts)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  double knot[PROFILE_KNOTS], before = -INFINITY;

  random_knots(&random, knot);
  for (double n = -0.02; n < 1.2; n += 0.003) {
    double t = tone_apply(knot, n);
    ck_assert_msg(t > before, "seed %d: falls at %g", _i, n);
    ck_assert_msg(fabs(tone_invert(knot, t) - n) < INVERSE * 10, "seed %d: %g comes back as %.15g", _i, n,
                  tone_invert(knot, t));
    before = t;
  }
}
END_TEST

START_TEST(slope_is_continuous)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  double knot[PROFILE_KNOTS];

  random_knots(&random, knot);
  for (double n = 0.001; n < 1.1; n *= 1.01) {
    double h = n * 1e-7, left = tone_slope(knot, n - h), right = tone_slope(knot, n + h);
    /* the crease of CIELAB at (6/29)^3, where its second derivative jumps, moves slopes by less than this too */
    ck_assert_msg(fabs(left / right - 1) < 1e-4, "seed %d: slope jumps from %g to %g at %g", _i, left, right,
                  n);
  }
}
END_TEST

START_TEST(derivatives_match_differences)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  double knot[PROFILE_KNOTS], gradient[PROFILE_KNOTS];

  random_knots(&random, knot);
  for (double n = 0.002; n < 1.15; n *= 1.31) {
    double h = 1e-5, scale = fmax(fabs(tone_apply(knot, n)), 0.05);
    tone_gradient(knot, n, gradient);
    for (int j = 0; j < PROFILE_KNOTS; j++) {
      double up[PROFILE_KNOTS], down[PROFILE_KNOTS];
      for (int k = 0; k < PROFILE_KNOTS; k++) {
        up[k] = knot[k] + (k == j ? h : 0);
        down[k] = knot[k] - (k == j ? h : 0);
      }
      double slope = (tone_apply(up, n) - tone_apply(down, n)) / (2 * h);
      ck_assert_msg(fabs(slope - gradient[j]) < DIFFERENCE * fmax(scale, fabs(slope)) * 10,
                    "seed %d, n %g, knot %d: %g against %g", _i, n, j, gradient[j], slope);
    }
    double step = n * 1e-5, slope = (tone_apply(knot, n + step) - tone_apply(knot, n - step)) / (2 * step);
    ck_assert_msg(fabs(slope / tone_slope(knot, n) - 1) < 1e-4, "seed %d, n %g: slope %g against %g", _i, n,
                  tone_slope(knot, n), slope);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("tone");
  TCase *tests = tcase_create("tone");

  tcase_add_test(tests, zero_knots_are_the_nominal_curve);
  tcase_add_loop_test(tests, rises_and_inverts, 0, CURVES);
  tcase_add_loop_test(tests, slope_is_continuous, 0, CURVES);
  tcase_add_loop_test(tests, derivatives_match_differences, 0, CURVES);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
