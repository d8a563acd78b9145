/* SPDX-License-Identifier: MIT */
/* Derived quantities against their formulas, worked by hand. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "collect.h"
#include "compare/indices.h"
#include "suite.h"

static struct index_value value_of(const char *const (*deposit)[3], size_t count, enum soil_index index,
                                   double variance)
{
  struct collection c = {0};
  struct deposits d;
  struct error error;

  collect_photo(&c);
  for (size_t i = 0; i < count; i++) {
    enum region_moisture moisture = MOISTURE_UNSTATED;
    region_moisture_parse(deposit[i][1], &moisture);
    bool parent = deposit[i][0][0] == 'p';
    struct collected *item = collect_notation(&c, deposit[i][0], moisture, deposit[i][2], variance);
    snprintf(item->region.role, sizeof item->region.role, "%s", parent ? INDEX_PARENT_ROLE : "");
  }
  ck_assert(deposits_make(&c, &d, &error));
  size_t of = d.of[0];
  struct index_value value = index_of(&c, &d, of, index);
  deposits_clear(&d);
  collection_clear(&c);
  return value;
}

static const struct {
  enum soil_index index;
  const char *notation;
  bool given;
  double value;
} NUMBER[] = {
    {INDEX_REDNESS_RATING, "2.5YR 4/6", true, 11.25}, /* (10 - 2.5) 6 / 4 */
    {INDEX_REDNESS_RATING, "10YR 4/6", true, 0},
    {INDEX_REDNESS_RATING, "10R 3/6", true, 20}, /* (10 - 0) 6 / 3 */
    {INDEX_REDNESS_RATING, "7.5YR 5/4", true, 2},
    {INDEX_REDNESS_RATING, "2.5Y 5/4", false, 0},
    {INDEX_REDNESS_RATING, "N 5/", false, 0},
    {INDEX_REDNESS_HURST, "5YR 4/6", true, 10}, /* 15 4 / 6 */
    {INDEX_REDNESS_HURST, "10YR 5/4", true, 25},
    {INDEX_REDNESS_HURST, "2.5Y 6/3", true, 45},
    {INDEX_REDNESS_HURST, "5Y 6/3", false, 0},
    {INDEX_REDNESS_HURST, "N 5/", false, 0},
    {INDEX_DEVELOPMENT, "2.5YR 4/6", true, 36},
    {INDEX_DEVELOPMENT, "10YR 4/4", true, 12},
    {INDEX_DEVELOPMENT, "5Y 6/3", true, 3},
    {INDEX_DEVELOPMENT, "N 4/", true, 0},
    {INDEX_DEVELOPMENT, "5GY 5/2", false, 0},
    {INDEX_REDNESS_LAB, "N 5/", false, 0},
    {INDEX_RUBIFICATION, "5YR 4/6", false, 0}, /* no parent material */
    {INDEX_MELANIZATION, "5YR 4/6", false, 0},
};

START_TEST(numbers_follow_their_formulas)
{
  const char *const deposit[1][3] = {{"1", "moist", NUMBER[_i].notation}};
  struct index_value value = value_of(deposit, 1, NUMBER[_i].index, 0.2);

  ck_assert_msg(value.given == NUMBER[_i].given, "%s of %s", index_name(NUMBER[_i].index),
                NUMBER[_i].notation);
  ck_assert_msg(!value.given || fabs(value.value - NUMBER[_i].value) < 2e-3, "%s of %s: %g",
                index_name(NUMBER[_i].index), NUMBER[_i].notation, value.value);
  ck_assert(!value.given || NUMBER[_i].index == INDEX_DEVELOPMENT || value.spread > 0);
}
END_TEST

/* a* sqrt(a*^2 + b*^2) 10^10 / (b* L*^6) of CIELAB under C, with L* 40, a* 20, b* 25: 20 x 32.0156 / 25 x 10^10 / 4.096 10^9. */
START_TEST(redness_of_lab)
{
  struct collection c = {0};
  struct deposits d;
  struct error error;
  struct deposit *deposit;

  collect_photo(&c);
  collect_lab(&c, "1", MOISTURE_DRY, (struct lab){41, 18, 26}, 0.1);
  ck_assert(deposits_make(&c, &d, &error));
  deposit = &d.list[0];
  struct index_value value = index_of(&c, &d, 0, INDEX_REDNESS_LAB);
  struct lab lab = deposit->mean_c;
  double expected = lab.a * sqrt(lab.a * lab.a + lab.b * lab.b) * 1e10 / (lab.b * pow(lab.L, 6));
  ck_assert(fabs(20 * sqrt(20 * 20 + 25 * 25) / 25 * 1e10 / pow(40, 6) - 62.530) <
            1e-3); /* the formula by hand */
  ck_assert(value.given && fabs(value.value - expected) < 1e-9 * expected);
  /* L*^-6: a standard deviation of 0.316 in L* alone is 6 x 0.316 / 41 = 4.6 % */
  ck_assert(value.spread > 1.96 * 0.046 * expected && value.spread < 1.96 * 0.08 * expected);
  deposits_clear(&d);
  collection_clear(&c);
}
END_TEST

/* Sample 5YR 4/6 against parent 10YR 6/4: 2 pages redder and 2 stronger, 10 (2 + 2) = 40; 10 (6 - 4) = 20 darker. */
START_TEST(against_the_parent_material)
{
  const char *const deposit[2][3] = {{"1", "moist", "5YR 4/6"}, {"p", "moist", "10YR 6/4"}};
  const char *const other_state[2][3] = {{"1", "moist", "5YR 4/6"}, {"p", "dry", "10YR 6/4"}};
  const char *const two[3][3] = {
      {"1", "moist", "5YR 4/6"}, {"p", "moist", "10YR 6/4"}, {"p2", "moist", "10YR 5/4"}};

  ck_assert(fabs(value_of(deposit, 2, INDEX_RUBIFICATION, 0.2).value - 40) < 0.01);
  ck_assert(fabs(value_of(deposit, 2, INDEX_MELANIZATION, 0.2).value - 20) < 0.01);
  ck_assert(value_of(deposit, 2, INDEX_MELANIZATION, 0.2).spread > 0);
  ck_assert(!value_of(other_state, 2, INDEX_RUBIFICATION, 0.2).given);
  ck_assert(!value_of(two, 3, INDEX_RUBIFICATION, 0.2).given);
}
END_TEST

static const struct {
  enum soil_index index;
  const char *moist, *dry; /* NULL: not read */
  bool given, met;
} CLASS[] = {
    {INDEX_MOLLIC, "10YR 3/2", "10YR 5/3", true, true},
    {INDEX_MOLLIC, "10YR 3/2", "10YR 6/3", true, false},
    {INDEX_MOLLIC, "10YR 4/2", "10YR 5/3", true, false},
    {INDEX_MOLLIC, "10YR 3/4", "10YR 5/3", true, false},
    {INDEX_MOLLIC, "10YR 3/2", NULL, false, false},
    {INDEX_MOLLIC, NULL, "10YR 5/3", false, false},
    {INDEX_CHERNIC, "10YR 2/2", "10YR 4/3", true, true},
    {INDEX_CHERNIC, "10YR 3/3", "10YR 5/3", true, false},
    {INDEX_CLARIC, "10YR 6/4", NULL, true, true},
    {INDEX_CLARIC, "10YR 5/3", NULL, true, true},
    {INDEX_CLARIC, "10YR 4/2", NULL, true, true},
    {INDEX_CLARIC, "10YR 4/3", NULL, true, false},
    {INDEX_CLARIC, "10YR 3/1", NULL, true, false},
    {INDEX_CLARIC, NULL, "10YR 7/3", true, true},
    {INDEX_CLARIC, NULL, "10YR 5/2", true, true},
    {INDEX_CLARIC, NULL, "10YR 6/3", true, false},
    {INDEX_GLEY, "10Y 5/1", NULL, true, true},
    {INDEX_GLEY, "5GY 3/1", NULL, true, false},
    {INDEX_GLEY, "5G 4/2", NULL, true, true},
    {INDEX_GLEY, "N 5/", NULL, true, true},
    {INDEX_GLEY, "10YR 5/1", NULL, true, false},
    {INDEX_DEPLETED, "10YR 6/2", NULL, true, true},
    {INDEX_DEPLETED, "10YR 3/2", NULL, true, false},
    {INDEX_DEPLETED, "10YR 6/3", NULL, true, false},
    {INDEX_DEPLETED, NULL, "10YR 6/2", false, false},
};

START_TEST(classes_follow_their_limits)
{
  const char *deposit[2][3];
  size_t count = 0;

  if (CLASS[_i].moist) {
    deposit[count][0] = "1", deposit[count][1] = "moist", deposit[count++][2] = CLASS[_i].moist;
  }
  if (CLASS[_i].dry) {
    deposit[count][0] = "1", deposit[count][1] = "dry", deposit[count++][2] = CLASS[_i].dry;
  }
  struct index_value value = value_of((const char *const(*)[3])deposit, count, CLASS[_i].index, 0.01);
  ck_assert_msg(value.given == CLASS[_i].given && value.met == CLASS[_i].met, "%s of %s, %s",
                index_name(CLASS[_i].index), CLASS[_i].moist ? CLASS[_i].moist : "-",
                CLASS[_i].dry ? CLASS[_i].dry : "-");
  ck_assert(!value.given || !value.near_limit);
}
END_TEST

START_TEST(a_wide_spread_is_near_a_limit)
{
  const char *const deposit[1][3] = {{"1", "moist", "10YR 4/2"}};

  ck_assert(value_of(deposit, 1, INDEX_DEPLETED, 9).near_limit);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("indices");
  TCase *tcase = tcase_create("indices");

  tcase_add_loop_test(tcase, numbers_follow_their_formulas, 0, sizeof NUMBER / sizeof *NUMBER);
  tcase_add_test(tcase, redness_of_lab);
  tcase_add_test(tcase, against_the_parent_material);
  tcase_add_loop_test(tcase, classes_follow_their_limits, 0, sizeof CLASS / sizeof *CLASS);
  tcase_add_test(tcase, a_wide_spread_is_near_a_limit);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
