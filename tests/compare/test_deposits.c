/* SPDX-License-Identifier: MIT */
/* Readings put together by deposit, and spread within deposits against between. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "collect.h"
#include "compare/deposits.h"
#include "suite.h"

/* Calcium in four leaves of turnip greens, four determinations each (Snedecor & Cochran 1967, Statistical Methods, table
 * 10.13.1, from memory): mean squares 0.2961 between and 0.0066 within, component 0.0724 between leaves. */
static const double LEAF[4][4] = {
    {3.28, 3.09, 3.03, 3.03}, {3.52, 3.48, 3.38, 3.38}, {2.88, 2.80, 2.81, 2.76}, {3.34, 3.38, 3.23, 3.26}};

START_TEST(components_of_a_textbook)
{
  struct collection c = {0};
  struct deposits d;
  struct error error;
  const char *name[4] = {"1", "2", "3", "4"};

  collect_photo(&c);
  for (int k = 0; k < 16; k++) { /* as L*, ten times; the rest the same for all */
    collect_lab(&c, name[k % 4], MOISTURE_MOIST, (struct lab){10 * LEAF[k % 4][k / 4], 5, 10}, 0.1);
  }
  collect_lab(&c, "1", MOISTURE_DRY, (struct lab){60, 5, 10}, 0.1); /* another state, which stays out */
  ck_assert(deposits_make(&c, &d, &error));
  ck_assert_uint_eq(d.count, 5);
  struct components components = deposits_components(&c, &d, MOISTURE_MOIST);
  ck_assert(components.known && components.deposits == 4 && components.readings == 16);
  ck_assert_msg(fabs(components.within * components.within / 100 - 0.0066) < 5e-5, "%g", components.within);
  ck_assert_msg(fabs(components.between * components.between / 100 - 0.0724) < 5e-5, "%g",
                components.between);
  ck_assert(fabs(components.share - 0.0724 / (0.0724 + 0.0066)) < 1e-3);
  ck_assert(!deposits_components(&c, &d, MOISTURE_DRY).known);
  ck_assert_uint_eq(deposits_components(&c, &d, MOISTURE_WET).readings, 0);
  deposits_clear(&d);
  collection_clear(&c);
}
END_TEST

/* Unbalanced groups, by hand: {0, 2}, {4}, {6, 8, 10} in L*: MSW = (2 + 0 + 8) / 3, MSB = (2 16 + 1 1 + 3 9) / 2, n0 = (6 - 14 / 6) / 2. */
START_TEST(groups_of_unequal_size)
{
  static const double lightness[6] = {0, 2, 4, 6, 8, 10};
  static const char *const name[6] = {"a", "a", "b", "c", "c", "c"};
  struct collection c = {0};
  struct deposits d;
  struct error error;

  collect_photo(&c);
  for (int i = 0; i < 6; i++) {
    collect_lab(&c, name[i], MOISTURE_DRY, (struct lab){40 + lightness[i], 5, 10}, 0.1);
  }
  ck_assert(deposits_make(&c, &d, &error));
  struct components components = deposits_components(&c, &d, MOISTURE_DRY);
  double msw = 10 / 3.0, msb = (2 * 16 + 1 + 3 * 9) / 2.0, n0 = (6 - 14 / 6.0) / 2;
  ck_assert(fabs(components.within - sqrt(msw)) < 1e-9);
  ck_assert(fabs(components.between - sqrt((msb - msw) / n0)) < 1e-9);
  deposits_clear(&d);
  collection_clear(&c);
}
END_TEST

START_TEST(who_belongs_together)
{
  struct collection c = {0};
  struct deposits d;
  struct error error;

  collect_photo(&c);
  collect_lab(&c, "1", MOISTURE_MOIST, (struct lab){40, 5, 10}, 0.1);
  collect_lab(&c, "", MOISTURE_MOIST, (struct lab){50, 5, 10}, 0.1);
  collect_lab(&c, "", MOISTURE_MOIST, (struct lab){50, 5, 10}, 0.1);
  collect_photo(&c);
  collect_lab(&c, "1", MOISTURE_DRY, (struct lab){60, 5, 10}, 0.1);
  collect_lab(&c, "1", MOISTURE_MOIST, (struct lab){42, 7, 10}, 0.1);
  ck_assert(deposits_make(&c, &d, &error));
  ck_assert_uint_eq(d.count, 4); /* the nameless are deposits of their own */
  ck_assert(d.list[0].moisture == MOISTURE_DRY && d.list[1].moisture == MOISTURE_MOIST);
  ck_assert(d.list[0].subject == d.list[1].subject && d.list[2].subject != d.list[3].subject);
  ck_assert(d.of[0] == 1 && d.of[4] == 1 && d.of[3] == 0 && d.of[1] == 2 && d.of[2] == 3);
  ck_assert_uint_eq(d.list[1].readings, 2);
  ck_assert(fabs(d.list[1].mean.L - 41) < 1e-9 && fabs(d.list[1].mean.a - 6) < 1e-9);
  ck_assert(fabs(d.list[1].covariance.m[0][0] - 0.05) < 1e-9);
  deposits_clear(&d);
  collection_clear(&c);
}
END_TEST

/* Readings at L* 40 and 42, and at 50 alone: one degree of freedom, variance 2 in L*, of which a mean of two has half; each
 * reading's own variance of 0.1 besides. */
START_TEST(scatter_counts_in_differences)
{
  struct collection c = {0};
  struct deposits d;
  struct error error;
  struct vec3 gradient[2] = {{{1, 0, 0}}, {{-1, 0, 0}}};
  double variance;

  collect_photo(&c);
  collect_lab(&c, "1", MOISTURE_DRY, (struct lab){40, 5, 10}, 0.1);
  collect_lab(&c, "1", MOISTURE_DRY, (struct lab){42, 5, 10}, 0.1);
  collect_lab(&c, "2", MOISTURE_DRY, (struct lab){50, 5, 10}, 0.1);
  collect_lab(&c, "1", MOISTURE_MOIST, (struct lab){30, 5, 10}, 0.1);
  ck_assert(deposits_make(&c, &d, &error));
  ck_assert(fabs(d.scatter[MOISTURE_DRY].m[0][0] - 2) < 1e-9);
  ck_assert(deposits_variance(&c, &d, (size_t[]){d.of[0], d.of[2]}, gradient, 2, &variance, &error));
  ck_assert_msg(fabs(variance - (0.05 + 1 + 0.1 + 2)) < 1e-9, "%g", variance);
  ck_assert(deposits_variance(&c, &d, (size_t[]){d.of[3]}, gradient, 1, &variance, &error));
  ck_assert(fabs(variance - 0.1) < 1e-9); /* nothing moist was read twice */
  deposits_clear(&d);
  collection_clear(&c);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("deposits");
  TCase *tcase = tcase_create("deposits");

  tcase_add_test(tcase, components_of_a_textbook);
  tcase_add_test(tcase, groups_of_unequal_size);
  tcase_add_test(tcase, who_belongs_together);
  tcase_add_test(tcase, scatter_counts_in_differences);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
