/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "score.h"
#include "suite.h"

static const double ROUNDING = 1e-12;

/* Errors 0, 0.1 ... 10; radius 4.95 throughout. */
static struct score_list ramp(void)
{
  struct score_list list = {0};

  for (int i = 100; i >= 0; i--) {
    ck_assert(score_add(
        &list, (struct score_case){
                   .error = i / 10.0, .radius = 4.95, .chance = i / 100.0, .chip_right = i % 2 == 0}));
  }
  return list;
}

START_TEST(quantiles_and_coverage)
{
  struct score_list list = ramp();

  ck_assert_double_eq_tol(score_error_quantile(&list, 0.5), 5.0, ROUNDING);
  ck_assert_double_eq_tol(score_error_quantile(&list, 0.95), 9.5, ROUNDING);
  ck_assert_double_eq_tol(score_coverage(&list, -1), 50.0 / 101, ROUNDING);
  score_clear(&list);
  ck_assert(isnan(score_error_quantile(&list, 0.5)));
}
END_TEST

/* By hand: radii 1 to 7 in a jumble. Of seven cases the thirds by rising radius hold 2, 2 and 3; within their radius are 1 of {1, 2}, both
 * of {3, 4} and 1 of {5, 6, 7}. */
START_TEST(coverage_by_thirds)
{
  static const double RADIUS[] = {6, 1, 4, 7, 3, 2, 5}, ERROR[] = {6.1, 1, 0, 7.5, 2.9, 2.1, 5};
  struct score_list list = {0};

  for (int i = 0; i < 7; i++) {
    ck_assert(score_add(&list, (struct score_case){.error = ERROR[i], .radius = RADIUS[i]}));
  }
  ck_assert_double_eq_tol(score_coverage(&list, 0), 1.0 / 2, ROUNDING);
  ck_assert_double_eq_tol(score_coverage(&list, 1), 2.0 / 2, ROUNDING);
  ck_assert_double_eq_tol(score_coverage(&list, 2), 1.0 / 3, ROUNDING);
  ck_assert_double_eq_tol(score_coverage(&list, -1), 4.0 / 7, ROUNDING);
  score_clear(&list);
  ck_assert(isnan(score_coverage(&list, 0)));
}
END_TEST

/* By hand: radius 4.95, errors 5.0 to 10.0 in steps of 0.1 exceed it by 0.05 ... 5.05, whose sum is 51 x 2.55. */
START_TEST(interval_score)
{
  struct score_list list = ramp();

  ck_assert_double_eq_tol(score_interval(&list), 4.95 + 20 * 51 * 2.55 / 101, 1e-9);
  ck_assert_double_lt(score_interval_constant(&list), score_interval(&list));
  score_clear(&list);
}
END_TEST

START_TEST(chance_bins)
{
  struct score_list list = ramp();
  double stated, right;

  ck_assert_uint_eq(score_chance_bin(&list, 0, &stated, &right), 20);
  ck_assert_double_eq_tol(stated, 0.095, ROUNDING);
  ck_assert_double_eq_tol(right, 0.5, ROUNDING);
  ck_assert_uint_eq(score_chance_bin(&list, 4, &stated, &right), 21);
  score_clear(&list);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("score");
  TCase *tcase = tcase_create("score");

  tcase_add_test(tcase, quantiles_and_coverage);
  tcase_add_test(tcase, coverage_by_thirds);
  tcase_add_test(tcase, interval_score);
  tcase_add_test(tcase, chance_bins);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
