/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "compare/edge.h"
#include "random.h"
#include "suite.h"

enum { COUNT = 240, SEEDS = 60 };

/* Of 60 intervals of 95 %, fewer than 52 hold the truth once in 100,000 (binomial). The fit takes its estimate of the noise for true, so
 * its intervals come out narrow where slow noise is like a change; edge.c widens them by this. */
enum { HELD_LEAST = 52 };
static const double WIDER = 2;

static const struct edge_prior PRIOR = {.drift = {{1, 0.5, 0.5}, {0.5, 0.3, 0.3}}};
static const struct edge_limits LIMITS = {8, 232, 1, 190};

/* White noise and noise that fades over 12 samples. */
static void add_noise(double white, double slow, struct random *random, struct edge_sample *sample)
{
  double decay = exp(-1 / 12.0), state[3] = {0};

  for (int i = 0; i < COUNT; i++) {
    for (int k = 0; k < 3; k++) {
      double fresh = i ? sqrt(1 - decay * decay) : 1;
      state[k] = decay * state[k] + fresh * slow * random_normal(random);
      sample[i].y[k] += state[k] + white * random_normal(random);
    }
  }
}

static void make(double place, double thick, double change, uint64_t seed, struct edge_sample *sample)
{
  struct random random = random_start(seed);

  for (int i = 0; i < COUNT; i++) {
    double at = i + 0.5, z = 2 * at / COUNT - 1;
    double share = 0.5 * (1 + erf((at - place) * 2.5631 / thick / sqrt(2)));
    sample[i] = (struct edge_sample){
        at, {0.8 * z + change * share, 0.5 * change * share, 3 - 0.3 * change * share}, 1};
  }
  add_noise(0.3, 0.3, &random, sample);
}

START_TEST(share_is_ten_and_ninety_per_cent_at_half_the_thickness)
{
  ck_assert_double_eq_tol(edge_fit_share(-10, 20), 0.1, 1e-6);
  ck_assert_double_eq_tol(edge_fit_share(0, 20), 0.5, 1e-12);
  ck_assert_double_eq_tol(edge_fit_share(10, 20), 0.9, 1e-6);
}
END_TEST

START_TEST(intervals_hold_place_and_thickness)
{
  static const double thick[] = {4, 12, 40};
  struct edge_sample sample[COUNT];
  struct edge_fit fit;
  struct error error;
  int places = 0, thicknesses = 0;

  for (int seed = 1; seed <= SEEDS; seed++) {
    double place = 90 + seed % 60;
    make(place, thick[_i], 6, (uint64_t)seed, sample);
    ck_assert(edge_fit(sample, COUNT, &PRIOR, &LIMITS, &fit, &error));
    ck_assert_msg(fit.evidence > EDGE_EVIDENCE, "seed %d: evidence %.1f", seed, fit.evidence);
    ck_assert(fit.place_low <= fit.place && fit.place <= fit.place_high);
    ck_assert(fit.thick_low <= fit.thick && fit.thick <= fit.thick_high);
    places += fit.place + WIDER * (fit.place_low - fit.place) <= place &&
              place <= fit.place + WIDER * (fit.place_high - fit.place);
    double off = log(thick[_i] / fit.thick);
    thicknesses +=
        WIDER * log(fit.thick_low / fit.thick) <= off && off <= WIDER * log(fit.thick_high / fit.thick);
  }
  ck_assert_msg(places >= HELD_LEAST, "thickness %g: place held in %d of %d", thick[_i], places, SEEDS);
  ck_assert_msg(thicknesses >= HELD_LEAST, "thickness %g: held in %d of %d", thick[_i], thicknesses, SEEDS);
}
END_TEST

/* Channels that a camera blurs more and less show one thickness, which is stated without either blur. */
START_TEST(blur_of_each_channel_is_taken_out)
{
  struct edge_prior prior = PRIOR;
  struct edge_sample sample[COUNT];
  struct edge_fit fit;
  struct error error;
  const double width[3] = {hypot(6, 3), hypot(6, 8), hypot(6, 8)}, change[3] = {4, 8, -6};
  struct random random = random_start(77);

  for (int k = 0; k < 3; k++) {
    prior.blur[k] = k ? 8 : 3;
    ck_assert_double_eq_tol(edge_fit_width(&prior, k, 6), width[k], 1e-12);
  }
  for (int i = 0; i < COUNT; i++) {
    sample[i] = (struct edge_sample){.at = i + 0.5, .weight = 1};
    for (int k = 0; k < 3; k++) {
      sample[i].y[k] = change[k] * edge_fit_share(i + 0.5 - 120, width[k]) + 0.1 * random_normal(&random);
    }
  }
  ck_assert(edge_fit(sample, COUNT, &prior, &LIMITS, &fit, &error));
  ck_assert_double_eq_tol(fit.thick, 6, 0.5); /* white noise of 0.1 over changes of 4 to 8 */
  ck_assert(fit.thick_low <= 6 && 6 <= fit.thick_high);
  ck_assert_double_eq_tol(edge_fit_value(&fit, &prior, 0.5, COUNT - 0.5, 120 + width[1] / 2, 1), 7.2, 0.2);
}
END_TEST

START_TEST(levels_and_change_come_out)
{
  struct edge_sample sample[COUNT];
  struct edge_fit fit;
  struct error error;

  make(120, 10, 4, 7, sample);
  ck_assert(edge_fit(sample, COUNT, &PRIOR, &LIMITS, &fit, &error));
  /* slow noise of 0.3 over 12 samples leaves about 0.1 on the mean of a side; drift and change share the rest */
  ck_assert_double_eq_tol(fit.change[0], 4, 0.6);
  ck_assert_double_eq_tol(fit.change[1], 2, 0.6);
  ck_assert_double_eq_tol(fit.change[2], -1.2, 0.6);
  ck_assert_double_eq_tol(edge_fit_value(&fit, &PRIOR, 0.5, COUNT - 0.5, 200, 2), 3 - 1.2, 0.4);
  for (int k = 0; k < 3; k++) {
    double size = fit.noise[k].white + fit.noise[k].slow;
    ck_assert_msg(size > 0.09 && size < 0.36, "channel %d: variance %g", k, size);
  }
}
END_TEST

START_TEST(drift_and_noise_are_no_change)
{
  struct edge_sample sample[COUNT];
  struct edge_fit fit;
  struct error error;
  int told = 0;

  for (int seed = 1; seed <= SEEDS; seed++) {
    make(120, 10, 0, (uint64_t)(1000 + seed), sample);
    ck_assert(edge_fit(sample, COUNT, &PRIOR, &LIMITS, &fit, &error));
    told += fit.evidence > EDGE_EVIDENCE;
  }
  ck_assert_int_eq(told, 0);
}
END_TEST

START_TEST(a_step_of_light_at_a_known_shadow_is_no_change)
{
  struct edge_prior prior = PRIOR;
  struct edge_sample sample[COUNT];
  struct edge_fit without, with;
  struct error error;

  make(120, 1, 3, 5, sample);
  ck_assert(edge_fit(sample, COUNT, &prior, &LIMITS, &without, &error));
  prior.shadow = true;
  prior.shadow_at = 120;
  for (int k = 0; k < 3; k++) {
    prior.shadow_step[k] = 5;
  }
  ck_assert(edge_fit(sample, COUNT, &prior, &LIMITS, &with, &error));
  ck_assert_double_gt(without.evidence, EDGE_EVIDENCE);
  ck_assert_double_lt(with.evidence, EDGE_EVIDENCE / 2);
}
END_TEST

START_TEST(gaps_between_samples_are_bridged)
{
  struct edge_sample sample[COUNT];
  struct edge_fit fit;
  struct error error;
  size_t kept = 0;

  make(120, 20, 4, 11, sample);
  for (size_t i = 0; i < COUNT; i++) {
    if (i < 60 || i >= 80) {
      sample[kept++] = sample[i];
    }
  }
  ck_assert(edge_fit(sample, kept, &PRIOR, &LIMITS, &fit, &error));
  ck_assert(fit.place_low - 2 <= 120 && 120 <= fit.place_high + 2);
}
END_TEST

START_TEST(the_same_samples_give_the_same_fit)
{
  struct edge_sample sample[COUNT];
  struct edge_fit a, b;
  struct error error;

  make(120, 10, 2, 3, sample);
  ck_assert(edge_fit(sample, COUNT, &PRIOR, &LIMITS, &a, &error));
  ck_assert(edge_fit(sample, COUNT, &PRIOR, &LIMITS, &b, &error));
  ck_assert_mem_eq(&a, &b, sizeof a);
}
END_TEST

START_TEST(too_few_samples_are_refused)
{
  struct edge_sample sample[EDGE_SAMPLES_MIN] = {{0}};
  struct edge_fit fit;
  struct error error;

  ck_assert(!edge_fit(sample, EDGE_SAMPLES_MIN - 1, &PRIOR, &LIMITS, &fit, &error));
  ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
  ck_assert_str_eq(error.code, "few-samples");
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("edge_fit");
  TCase *tcase = tcase_create("edge_fit");

  tcase_set_timeout(tcase, 240);
  tcase_add_test(tcase, share_is_ten_and_ninety_per_cent_at_half_the_thickness);
  tcase_add_loop_test(tcase, intervals_hold_place_and_thickness, 0, 3);
  tcase_add_test(tcase, blur_of_each_channel_is_taken_out);
  tcase_add_test(tcase, levels_and_change_come_out);
  tcase_add_test(tcase, drift_and_noise_are_no_change);
  tcase_add_test(tcase, a_step_of_light_at_a_known_shadow_is_no_change);
  tcase_add_test(tcase, gaps_between_samples_are_bridged);
  tcase_add_test(tcase, the_same_samples_give_the_same_fit);
  tcase_add_test(tcase, too_few_samples_are_refused);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
