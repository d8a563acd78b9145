/* SPDX-License-Identifier: MIT */
/* Points of light at random places, blurred: what their scatter tells of their mean (Campbell's theorem). */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "measure/glint.h"
#include "random.h"
#include "suite.h"
#include "white.h"

enum { SIDE = 256, REACH = 12 };

static const double CAMPBELL_WITHIN = 0.12; /* a thousand points or so: of the mean of what they add */
static const double PART = 0.6;             /* of it that is taken out of a wet region               */
static const double BASE = 0.08;            /* linear light of the deposit                            */

/* Mean and variance of points, `chance` a pixel, of brightness 1, after a Gaussian of `blur` pixels. */
static void scatter(struct random *random, double chance, double blur, double *mean, double *variance)
{
  float *light = calloc((size_t)SIDE * SIDE, sizeof *light);
  double sum = 0, square = 0, n = 0;

  ck_assert_ptr_nonnull(light);
  for (int i = 0; i < SIDE * SIDE; i++) {
    if (random_unit(random) >= chance) {
      continue;
    }
    for (int d = 0; d < (2 * REACH + 1) * (2 * REACH + 1); d++) {
      int dx = d % (2 * REACH + 1) - REACH, dy = d / (2 * REACH + 1) - REACH;
      int x = (i % SIDE + dx + SIDE) % SIDE, y = (i / SIDE + dy + SIDE) % SIDE;
      light[y * SIDE + x] +=
          (float)(exp(-0.5 * (dx * dx + dy * dy) / (blur * blur)) / (6.2831853 * blur * blur));
    }
  }
  for (int i = 0; i < SIDE * SIDE; i++) {
    sum += (double)light[i];
    square += (double)light[i] * (double)light[i];
    n++;
  }
  *mean = sum / n;
  *variance = square / n - *mean * *mean;
  free(light);
}

static struct reading reading_of(const struct region *region, double mean, double variance)
{
  struct reading reading;

  memset(&reading, 0, sizeof reading);
  reading.region = region;
  for (int k = 0; k < 3; k++) {
    reading.statistics.linear.v[k] = BASE + mean;
    reading.statistics.spread.m[k][k] = variance;
  }
  return reading;
}

START_TEST(smeared_glint_is_told_from_its_scatter)
{
  static const struct {
    double chance, blur;
  } wet[] = {{0.005, 2.5}, {0.01, 2.5}, {0.015, 3}, {0.01, 4}};
  struct random random = random_start(40 + (uint64_t)_i);
  struct region region = {.moisture = MOISTURE_WET};
  struct profile profile = profile_white_is_one();
  double mean, variance;

  scatter(&random, wet[_i].chance, wet[_i].blur, &mean, &variance);
  struct reading reading = reading_of(&region, mean, variance);
  glint_take_out(&profile, wet[_i].blur, &reading);
  ck_assert_msg(fabs(reading.glint / mean - PART) < PART * CAMPBELL_WITHIN, "seed %d: %.4f of %.4f", 40 + _i,
                reading.glint, mean);
  ck_assert_double_eq_tol(reading.statistics.linear.v[1], BASE + mean - reading.glint, 1e-12);
  ck_assert_msg(reading.glint_doubt > 0.3 * reading.glint, "seed %d", 40 + _i);
}
END_TEST

START_TEST(sharp_and_dry_regions_stay)
{
  struct region wet = {.moisture = MOISTURE_WET}, moist = {.moisture = MOISTURE_MOIST},
                dry = {.moisture = MOISTURE_DRY};
  struct profile profile = profile_white_is_one();
  struct reading reading = reading_of(&wet, 0.01, 1e-4);

  glint_take_out(&profile, 1, &reading);
  ck_assert_double_eq(reading.glint, 0);
  reading = reading_of(&wet, 0.01, 1e-4);
  glint_take_out(&profile, 0, &reading);
  ck_assert_double_eq(reading.glint, 0);
  ck_assert_double_eq(reading.glint_doubt, 0);
  reading = reading_of(&dry, 0.01, 1e-4);
  glint_take_out(&profile, 3, &reading);
  ck_assert_double_eq(reading.glint, 0);
  ck_assert_double_eq(reading.glint_doubt, 0);
  reading = reading_of(&moist, 0.01, 1e-4);
  glint_take_out(&profile, 3, &reading);
  ck_assert_double_eq(reading.glint, 0);
  ck_assert_double_gt(reading.glint_doubt, 0);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("measure/glint");
  TCase *cases = tcase_create("smeared");

  tcase_set_timeout(cases, 120);
  tcase_add_loop_test(cases, smeared_glint_is_told_from_its_scatter, 0, 4);
  tcase_add_test(cases, sharp_and_dry_regions_stay);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
