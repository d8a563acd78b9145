/* SPDX-License-Identifier: MIT */
/* Patches as samples of the light: made-up cards of 6 x 4 patches, off by what cards and camera models are off by. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "light/on_card.h"
#include "random.h"
#include "suite.h"

enum { COLUMNS = 6, ROWS = 4, PITCH = 30 };

static const double DEGREES_WITHIN = 20; /* of a line over 6 x 4 samples, some near a corner       */
static const double PLACE_WITHIN = 15;   /* pixels: half a pitch                               */
static const double STEP_WITHIN = 0.12;  /* log light: 24 samples of 0.06 to 0.1               */
static const double SPREAD[3] = {0.07, 0.05, 0.05};

static void make(struct card_light *samples, struct random *random)
{
  *samples = (struct card_light){.count = COLUMNS * ROWS, .reach = hypot(2.5, 1.5) * PITCH};
  for (int i = 0; i < COLUMNS * ROWS; i++) {
    struct card_sample *sample = &samples->sample[i];
    sample->place = (struct point){(i % COLUMNS - 2.5) * PITCH, (i / COLUMNS - 1.5) * PITCH};
    for (int k = 0; k < 3; k++) {
      sample->spread.v[k] = SPREAD[k];
      sample->log.v[k] = SPREAD[k] * random_normal(random);
    }
  }
}

/* A shade of 0.8 in log G and bluer, beyond a line through `place`. */
static void shade(struct card_light *samples, struct point place, double radians, double half)
{
  const struct light light = {.shadow_edge = true,
                              .edge = {.place = place, .normal = {cos(radians), sin(radians)}, .half = half}};

  for (size_t i = 0; i < samples->count; i++) {
    double share = light_share_of_step(&light, samples->sample[i].place);
    samples->sample[i].log.v[0] -= 0.8 * share;
    samples->sample[i].log.v[1] -= 0.1 * share;
    samples->sample[i].log.v[2] += 0.15 * share;
  }
}

START_TEST(test_a_step_is_found_where_it_is)
{
  struct random random = random_start(100 + (uint64_t)_i);
  struct card_light *samples = malloc(sizeof *samples);
  double radians = random_between(&random, 0, 6.28);
  struct point place = {random_between(&random, -25, 25), random_between(&random, -15, 15)};

  ck_assert_ptr_nonnull(samples);
  make(samples, &random);
  shade(samples, place, radians, random_between(&random, 5, 25));
  struct card_step step = card_light_search(samples);
  double found = atan2(step.edge.normal.y, step.edge.normal.x);
  double turn = remainder(found - radians, 3.14159265358979) * 57.29578;
  double off =
      (place.x - step.edge.place.x) * step.edge.normal.x + (place.y - step.edge.place.y) * step.edge.normal.y;
  ck_assert_msg(step.evidence >= CARD_LIGHT_CERTAIN, "seed %d: evidence %.1f", 100 + _i, step.evidence);
  ck_assert_msg(fabs(turn) < DEGREES_WITHIN, "seed %d: turned by %.1f degrees", 100 + _i, turn);
  ck_assert_msg(fabs(off) < PLACE_WITHIN, "seed %d: %.1f pixels off", 100 + _i, off);
  ck_assert_msg(fabs(fabs(step.step.v[0]) - 0.8) < STEP_WITHIN, "seed %d: step %.2f", 100 + _i,
                step.step.v[0]);
  free(samples);
}
END_TEST

/* Neither chance, nor a slope of the light, nor patches that mirror a lamp. */
START_TEST(test_no_step_is_invented)
{
  struct random random = random_start(500 + (uint64_t)_i);
  struct card_light *samples = malloc(sizeof *samples);
  double slope = random_between(&random, -0.1, 0.1);

  ck_assert_ptr_nonnull(samples);
  make(samples, &random);
  for (size_t i = 0; i < samples->count; i++) {
    samples->sample[i].log.v[0] += slope * samples->sample[i].place.x / samples->reach;
  }
  for (int i = 0; i < _i % 5; i++) {
    struct card_sample *sample = &samples->sample[random_below(&random, COLUMNS * ROWS)];
    sample->log.v[0] += random_between(&random, 0.2, 1);
    sample->log.v[1] -= random_between(&random, -0.3, 0.3);
    sample->log.v[2] += random_between(&random, -0.3, 0.3);
  }
  struct card_step step = card_light_search(samples);
  ck_assert_msg(step.evidence < CARD_LIGHT_CERTAIN, "seed %d: evidence %.1f", 500 + _i, step.evidence);
  free(samples);
}
END_TEST

START_TEST(test_light_is_taken_out)
{
  struct random random = random_start(900);
  struct card_light *samples = malloc(sizeof *samples);
  const struct light light = {.scale = 100, .term = {0.2, -0.1}};

  ck_assert_ptr_nonnull(samples);
  make(samples, &random);
  struct card_sample first = samples->sample[0];
  card_light_even(&light, samples);
  double due = first.log.v[0] - log(light_gain(&light, first.place).v[1]);
  ck_assert_double_eq_tol(samples->sample[0].log.v[0], due, 1e-12);
  ck_assert_double_eq_tol(samples->sample[0].log.v[1], first.log.v[1], 1e-12);
  free(samples);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("light on the card");
  TCase *cases = tcase_create("steps");

  tcase_set_timeout(cases, 240);
  tcase_add_loop_test(cases, test_a_step_is_found_where_it_is, 0, 30);
  tcase_add_loop_test(cases, test_no_step_is_invented, 0, 60);
  tcase_add_test(cases, test_light_is_taken_out);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
