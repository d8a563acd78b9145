/* SPDX-License-Identifier: MIT */
/* A step in the light that may or may not be there: what it does to readings beyond it, and to their differences. */
#include <check.h>
#include <math.h>
#include <string.h>

#include "colour/difference.h"
#include "measure/difference.h"
#include "measure/shared.h"
#include "measure/values.h"
#include "suite.h"
#include "white.h"

static const double EDGE_X = 100;
static const struct point HERE = {50, 50}, BEYOND = {150, 50}, FARTHER = {250, 90};

/* 95 % of a small step that is there as likely as not: 1.96 times its root mean square, sqrt(1/2). */
static const double OF_STEP = 1.386, OF_STEP_WITHIN = 0.04;

/* Even light but for a doubtful step of log gain; nothing else about it is unsure. */
static struct light with_doubt(double step)
{
  struct light light;

  memset(&light, 0, sizeof light);
  light.scale = 200;
  light.shadow_unsure = true;
  light.unsure = (struct light_edge){.place = {EDGE_X, 0}, .normal = {1, 0}};
  light.unsure_step = (struct vec3){{1.05 * step, step, 0.9 * step}};
  return light;
}

static struct reading reading_at(struct point place, const struct light *light, const struct region *region)
{
  static struct shared_unknowns unknowns; /* too large for some stacks */
  struct profile profile = profile_white_is_one();
  struct reading reading;

  memset(&reading, 0, sizeof reading);
  reading.region = region;
  reading.measured = true;
  reading.statistics.centre = place;
  reading.statistics.gain = (struct vec3){{1, 1, 1}};
  reading.statistics.linear = (struct vec3){{0.16, 0.12, 0.08}};
  reading.lab_d50 = profile_lab(&profile, reading.statistics.linear);
  shared_unknowns_make(&profile, light, &unknowns);
  shared_propagate(&profile, light, &unknowns, &reading);
  return reading;
}

/* CIEDE2000 from a reading to what it would be if the step were there. */
static double moved_by_step(const struct reading *reading, const struct light *light)
{
  struct profile profile = profile_white_is_one();
  struct vec3 linear = reading->statistics.linear;

  for (int k = 0; k < 3; k++) {
    linear.v[k] /= exp(light->unsure_step.v[k]);
  }
  return colour_de00(reading->lab_d50, profile_lab(&profile, linear));
}

START_TEST(radius_beyond_holds_the_step)
{
  static const double STEP[] = {-0.25, -0.5, -0.9, -1.3, 0.4};
  struct region region = {.moisture = MOISTURE_DRY};
  struct light light = with_doubt(STEP[_i]);
  struct reading here = reading_at(HERE, &light, &region), beyond = reading_at(BEYOND, &light, &region);
  double moved = moved_by_step(&beyond, &light);
  double radius = values_radius95(beyond.lab_d50, beyond.covariance);

  ck_assert_double_eq_tol(values_radius95(here.lab_d50, here.cause[BUDGET_LIGHT]), 0, 1e-9);
  ck_assert_msg(radius > moved, "step %g: moves by %.2f, radius %.2f", STEP[_i], moved, radius);
}
END_TEST

START_TEST(small_step_is_there_as_likely_as_not)
{
  struct region region = {.moisture = MOISTURE_DRY};
  struct light light = with_doubt(-0.05);
  struct reading beyond = reading_at(BEYOND, &light, &region);
  double moved = moved_by_step(&beyond, &light);
  double radius = values_radius95(beyond.lab_d50, beyond.cause[BUDGET_LIGHT]);

  ck_assert_msg(fabs(radius / moved - OF_STEP) < OF_STEP_WITHIN, "moves by %.3f, radius %.3f", moved, radius);
}
END_TEST

START_TEST(doubt_cancels_between_regions_beyond)
{
  struct region region = {.moisture = MOISTURE_DRY};
  struct light light = with_doubt(-0.5), sure = light;

  sure.shadow_unsure = false;
  struct reading here = reading_at(HERE, &light, &region), beyond = reading_at(BEYOND, &light, &region),
                 farther = reading_at(FARTHER, &light, &region);
  struct reading known_here = reading_at(HERE, &sure, &region), known = reading_at(BEYOND, &sure, &region),
                 known_too = reading_at(FARTHER, &sure, &region);
  double cancelled = difference_of(&beyond, &farther).uncertainty;

  ck_assert_double_eq_tol(cancelled, difference_of(&known, &known_too).uncertainty, 1e-9);
  ck_assert_double_gt(difference_of(&here, &beyond).uncertainty, moved_by_step(&beyond, &light));
  ck_assert_double_eq_tol(difference_across(&here, &beyond).uncertainty,
                          difference_of(&known_here, &known).uncertainty, 1e-9);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("shared");
  TCase *tc = tcase_create("a doubtful step");

  tcase_add_loop_test(tc, radius_beyond_holds_the_step, 0, 5);
  tcase_add_test(tc, small_step_is_there_as_likely_as_not);
  tcase_add_test(tc, doubt_cancels_between_regions_beyond);
  suite_add_tcase(suite, tc);
  return run_suite(suite);
}
