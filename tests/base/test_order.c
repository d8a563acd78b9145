/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "random.h"
#include "suite.h"

/* Quantiles from rank to rank are those of type 7 of Hyndman & Fan 1996 (Amer. Stat. 50, 361-365), which R gives by default: of 1, 2, 4, 8, 16
 * worked by hand from their formula, h = (n - 1) p + 1. */
static const struct {
  double share, quantile;
} ROW[] = {{0, 1}, {0.1, 1.4}, {0.25, 2}, {0.5, 4}, {0.6, 5.6}, {0.9, 12.8}, {1, 16}};

static int rising(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

START_TEST(quantiles_go_straight_from_rank_to_rank)
{
  double value[] = {8, 1, 16, 4, 2};

  ck_assert_double_eq_tol(order_quantile(value, 5, ROW[_i].share), ROW[_i].quantile, 1e-12);
}
END_TEST

START_TEST(medians_of_odd_and_even_numbers)
{
  double odd[] = {3, -1, 2}, even[] = {4, 1, 3, 10};

  ck_assert_double_eq(order_median(odd, 3), 2);
  ck_assert_double_eq(order_upper_median(odd, 3), 2);
  ck_assert_double_eq(order_median(even, 4), 3.5);
  ck_assert_double_eq(order_upper_median(even, 4), 4);
}
END_TEST

START_TEST(nothing_has_the_median_zero)
{
  double none[1] = {7};

  ck_assert_double_eq(order_median(none, 0), 0);
  ck_assert_double_eq(order_upper_median(none, 0), 0);
  ck_assert_double_eq(order_quantile(none, 0, 0.5), 0);
  ck_assert_double_eq(order_quantile(none, 1, 0.9), 7);
}
END_TEST

START_TEST(lists_are_left_rising)
{
  double value[] = {0.5, -2, 9, 9, -2, 0};
  const double sorted[] = {-2, -2, 0, 0.5, 9, 9};

  order_doubles(value, 6);
  for (int i = 0; i < 6; i++) {
    ck_assert_double_eq(value[i], sorted[i]);
  }
}
END_TEST

/* Short lists and long ones take different ways: both as the C library's qsort leaves them. */
START_TEST(lists_of_any_length_are_sorted)
{
  enum { LONGEST = 100 };
  double value[LONGEST], sorted[LONGEST];
  struct random random = random_start(700 + (uint64_t)_i);

  for (int i = 0; i < _i; i++) {
    value[i] = sorted[i] = floor(20 * random_normal(&random)) / 4; /* some of them twice */
  }
  qsort(sorted, (size_t)_i, sizeof *sorted, rising);
  order_doubles(value, (size_t)_i);
  for (int i = 0; i < _i; i++) {
    ck_assert_msg(value[i] == sorted[i], "seed %d: %g at %d, not %g", 700 + _i, value[i], i, sorted[i]);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("base/order");
  TCase *cases = tcase_create("order");

  tcase_add_loop_test(cases, quantiles_go_straight_from_rank_to_rank, 0, sizeof ROW / sizeof *ROW);
  tcase_add_test(cases, medians_of_odd_and_even_numbers);
  tcase_add_test(cases, nothing_has_the_median_zero);
  tcase_add_test(cases, lists_are_left_rising);
  tcase_add_loop_test(cases, lists_of_any_length_are_sorted, 0, 101);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
