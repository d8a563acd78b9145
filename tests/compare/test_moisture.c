/* SPDX-License-Identifier: MIT */
/* Shifts between states, against the published horizons. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "collect.h"
#include "compare/moisture.h"
#include "compare/moisture_table.h"
#include "suite.h"

/* Shares of the survey's own summary, over all 81,320 horizons; the table leaves out 26 of them. */
START_TEST(the_table_gives_the_published_shares)
{
  ck_assert_uint_eq(moisture_horizons(), 81294);
  ck_assert(fabs(moisture_share_darker() - 0.0027) < 0.0001);
  /* 1 unit 41.9 %, 2 units 46.8 %, 0 units 3.5 %, 3 units 6.5 %: half steps stand between them */
  ck_assert(fabs(moisture_share_below(0.25) - moisture_share_below(-0.25) - 0.035) < 0.001);
  ck_assert(fabs(moisture_share_below(1.25) - moisture_share_below(0.75) - 0.419) < 0.001);
  ck_assert(fabs(moisture_share_below(2.25) - moisture_share_below(1.75) - 0.468) < 0.001);
  ck_assert(fabs(moisture_share_below(3.25) - moisture_share_below(2.75) - 0.065) < 0.001);
  ck_assert(moisture_share_below(-9) < 1e-12 && moisture_share_below(9) > 1 - 1e-12);
}
END_TEST

START_TEST(the_share_never_falls)
{
  for (double shift = -4; shift < 6; shift += 0.01) {
    ck_assert_msg(moisture_share_below(shift) <= moisture_share_below(shift + 0.01) + 1e-12, "at %g", shift);
  }
}
END_TEST

/* The estimate is the least-squares line over the table, and its spread is 1.96 residual standard deviations where the reading is sure. The
 * summary of all horizons has 0.851, 2.133 and 0.68. */
START_TEST(the_estimate_is_the_regression)
{
  double n = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;

  for (size_t i = 0; i < MOISTURE_ROWS; i++) {
    double moist = MOISTURE_TABLE[i][0], dry = MOISTURE_TABLE[i][1], weight = MOISTURE_TABLE[i][2];
    n += weight;
    x += weight * moist;
    y += weight * dry;
    xx += weight * moist * moist;
    xy += weight * moist * dry;
    yy += weight * dry * dry;
  }
  double slope = (xy - x * y / n) / (xx - x * x / n), base = (y - slope * x) / n;
  double residual = sqrt((yy - y * y / n - slope * (xy - x * y / n)) / n);
  ck_assert(fabs(slope - 0.851) < 0.002 && fabs(base - 2.133) < 0.006 && fabs(residual - 0.68) < 0.01);
  struct deposit moist = {.munsell = {20, 4, 3}};
  struct moisture_estimate estimate = moisture_estimate_dry(&moist);
  ck_assert(fabs(estimate.value - (slope * 4 + base)) < 0.005);
  ck_assert(fabs(estimate.spread - 1.96 * residual) < 0.005);
}
END_TEST

static struct moisture_shift shift_of(const char *dry, const char *moist, double variance)
{
  struct collection c = {0};
  struct deposits d;
  struct moisture_shift *list, shift;
  struct error error;
  size_t count;

  collect_photo(&c);
  collect_notation(&c, "1", MOISTURE_MOIST, moist, variance);
  collect_photo(&c);
  collect_notation(&c, "1", MOISTURE_DRY, dry, variance);
  ck_assert(deposits_make(&c, &d, &error) && moisture_shifts(&c, &d, &list, &count, &error));
  ck_assert_uint_eq(count, 1);
  shift = list[0];
  free(list);
  deposits_clear(&d);
  collection_clear(&c);
  return shift;
}

static const struct {
  const char *dry, *moist;
  double variance;
  enum moisture_remark remark;
  bool hue_odd, chroma_odd;
} STATE[] = {
    {"10YR 6/3", "10YR 4/3", 0.2, MOISTURE_FINE, false, false},
    {"10YR 5/3", "10YR 4/3", 0.2, MOISTURE_FINE, false, false},
    {"10YR 3/3", "10YR 5/3", 0.2, MOISTURE_SWAPPED, false, false},
    {"10YR 4/3", "10YR 4/3", 0.2, MOISTURE_NOT_DRIER, false, false},
    {"10YR 4/3", "10YR 4/3", 30, MOISTURE_FINE, false, false},         /* too unsure to say */
    {"10YR 3.9/3", "10YR 4/3", 0.2, MOISTURE_NOT_DRIER, false, false}, /* darker, but within the doubt */
    {"10YR 8/3", "10YR 4/3", 0.2, MOISTURE_LARGE, false, false},
    {"5YR 6/3", "2.5Y 4/3", 0.2, MOISTURE_FINE, true, false},
    {"10YR 6/6", "10YR 4/2", 0.2, MOISTURE_FINE, false, true},
};

START_TEST(shifts_are_remarked_on)
{
  struct moisture_shift shift = shift_of(STATE[_i].dry, STATE[_i].moist, STATE[_i].variance);

  ck_assert(shift.published);
  ck_assert_msg(shift.remark == STATE[_i].remark, "%s dry, %s moist: remark %d", STATE[_i].dry,
                STATE[_i].moist, (int)shift.remark);
  ck_assert_msg(shift.hue_odd == STATE[_i].hue_odd && shift.chroma_odd == STATE[_i].chroma_odd,
                "%s dry, %s moist: value %+.2f +-%.2f, pages %+.2f +-%.2f, chroma %+.2f +-%.2f",
                STATE[_i].dry, STATE[_i].moist, shift.steps.value, shift.value_spread, shift.steps.pages,
                shift.pages_spread, shift.steps.chroma, shift.chroma_spread);
}
END_TEST

/* Wet faces have no published figures; swapped states are told all the same. Three states make three pairs. */
START_TEST(wet_faces)
{
  struct collection c = {0};
  struct deposits d;
  struct moisture_shift *list;
  struct error error;
  size_t count;

  collect_photo(&c);
  collect_notation(&c, "1", MOISTURE_WET, "10YR 5/3", 0.2);
  collect_notation(&c, "1", MOISTURE_MOIST, "10YR 4/3", 0.2);
  collect_notation(&c, "1", MOISTURE_DRY, "10YR 6/3", 0.2);
  collect_notation(&c, "1", MOISTURE_UNSTATED, "10YR 2/3", 0.2); /* pairs with nothing */
  ck_assert(deposits_make(&c, &d, &error) && moisture_shifts(&c, &d, &list, &count, &error));
  ck_assert_uint_eq(count, 3);
  ck_assert(list[0].published && list[0].remark == MOISTURE_FINE);     /* dry, moist */
  ck_assert(!list[1].published && list[1].remark == MOISTURE_FINE);    /* dry, wet   */
  ck_assert(!list[2].published && list[2].remark == MOISTURE_SWAPPED); /* moist, wet */
  free(list);
  deposits_clear(&d);
  collection_clear(&c);
}
END_TEST

/* d L* = 1 is d V = 0.1 in round figures: the spread of a difference of two values is about 1.96 x 0.1 x sqrt(2 v). */
START_TEST(the_spread_of_a_shift)
{
  struct moisture_shift shift = shift_of("10YR 6/3", "10YR 4/3", 0.5);

  ck_assert_msg(fabs(shift.value_spread - 0.196) < 0.02, "%g", shift.value_spread);
  ck_assert(fabs(shift.steps.value - 2) < 1e-3);
}
END_TEST

/* Two deposits 2 apart in L* moist and 6 dry: the gain of wetting is negative and clear. */
START_TEST(in_which_state_deposits_stand_further_apart)
{
  struct collection c = {0};
  struct deposits d;
  struct moisture_contrast *list;
  struct error error;
  size_t count, all;

  collect_photo(&c);
  collect_lab(&c, "1", MOISTURE_DRY, (struct lab){60, 5, 15}, 0.05);
  collect_lab(&c, "2", MOISTURE_DRY, (struct lab){66, 5, 15}, 0.05);
  collect_lab(&c, "1", MOISTURE_MOIST, (struct lab){44, 5, 15}, 0.05);
  collect_lab(&c, "2", MOISTURE_MOIST, (struct lab){46, 5, 15}, 0.05);
  ck_assert(deposits_make(&c, &d, &error) && moisture_contrasts(&c, &d, 10, &list, &count, &all, &error));
  ck_assert(count == 1 && all == 1);
  ck_assert(list[0].apart_drier > 4 && list[0].apart_wetter < 2.5);
  ck_assert(fabs(list[0].gain - (list[0].apart_wetter - list[0].apart_drier)) < 1e-12);
  /* de00 per L* is 1 / S_L: 0.85 at 63, 0.92 at 45; four independent errors */
  double expected = 1.96 * sqrt(2 * 0.05 * (0.85 * 0.85 + 0.92 * 0.92));
  ck_assert_msg(fabs(list[0].spread - expected) < 0.1 * expected, "%g, not %g", list[0].spread, expected);
  ck_assert(list[0].gain < -list[0].spread);
  free(list);
  deposits_clear(&d);
  collection_clear(&c);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("moisture");
  TCase *tcase = tcase_create("moisture");

  tcase_add_test(tcase, the_table_gives_the_published_shares);
  tcase_add_test(tcase, the_share_never_falls);
  tcase_add_test(tcase, the_estimate_is_the_regression);
  tcase_add_loop_test(tcase, shifts_are_remarked_on, 0, sizeof STATE / sizeof *STATE);
  tcase_add_test(tcase, wet_faces);
  tcase_add_test(tcase, the_spread_of_a_shift);
  tcase_add_test(tcase, in_which_state_deposits_stand_further_apart);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
