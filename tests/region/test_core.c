/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "random.h"
#include "region/core.h"
#include "suite.h"

enum { SEED = 31, COUNT = 4000, STRANGERS = 12 };

static const struct mat3 LEAST = {{{1e-6, 0, 0}, {0, 1e-6, 0}, {0, 0, 1e-6}}};

/* A deposit in log R, G, B: brightness varies by 0.15, the colour by 0.03. */
static struct vec3 deposit(struct random *random)
{
  double brightness = 0.15 * random_normal(random);
  struct vec3 c = {{-1.9, -2.3, -2.8}};

  for (int k = 0; k < 3; k++) {
    c.v[k] += brightness + 0.03 * random_normal(random);
  }
  return c;
}

/* A tight cluster off the deposit by `off`, or, for spread > 0.5, anything at all. */
static struct vec3 stranger(struct random *random, struct vec3 off, double spread)
{
  struct vec3 c = {{-1.9, -2.3, -2.8}};

  for (int k = 0; k < 3; k++) {
    c.v[k] += off.v[k] + spread * random_normal(random);
  }
  return c;
}

static struct core core_of(int strangers_percent, struct vec3 off, double spread, uint64_t seed)
{
  static struct vec3 colour[COUNT];
  struct random random = random_start(seed);
  struct core core;

  for (int i = 0; i < COUNT; i++) {
    colour[i] = i % 100 < strangers_percent ? stranger(&random, off, spread) : deposit(&random);
  }
  ck_assert(core_find(colour, COUNT, LEAST, &core));
  return core;
}

/* Largest distance of the centre from the truth, in standard deviations of the deposit. */
static double miss(const struct core *core)
{
  static const struct vec3 truth = {{-1.9, -2.3, -2.8}};
  struct vec3 d = vec3_subtract(core->centre, truth);

  return fmax(fabs(d.v[0]), fmax(fabs(d.v[1]), fabs(d.v[2]))) / sqrt(0.15 * 0.15 + 0.03 * 0.03);
}

/* What estimating from 4000 colours leaves: a window of 64 % has 1.5 times the variance of the mean, four such deviations. */
static const double SAMPLING = 4 * 1.25 / 63;

START_TEST(clean_cloud)
{
  struct core core = core_of(0, (struct vec3){{0}}, 0, SEED + (uint64_t)_i);

  ck_assert_msg(miss(&core) < SAMPLING, "seed %d: %g", SEED + _i, miss(&core));
  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      double truth = 0.15 * 0.15 + (i == j ? 0.03 * 0.03 : 0);
      ck_assert_double_eq_tol(core.covariance.m[i][j], truth, 0.1 * truth); /* 4 sqrt(2 * 1.5 / 4000) */
    }
  }
}
END_TEST

START_TEST(whitening_is_the_inverse_root)
{
  struct core core = core_of(0, (struct vec3){{0}}, 0, SEED);
  struct mat3 unit = mat3_congruence(core.whiten, core.covariance);

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      ck_assert_double_eq_tol(unit.m[i][j], i == j, 1e-9);
    }
  }
}
END_TEST

/* A third of the cloud, anywhere outside the deposit, moves its centre by less than a quarter of its standard deviation; tight
 * clusters, which draw a median by 0.6, too. */
static const struct {
  const char *name;
  struct vec3 off;
  double spread;
} CROWD[STRANGERS] = {
    {"lighter", {{0.9, 0.9, 0.9}}, 0.02},          {"lighter, spread", {{0.9, 0.9, 0.9}}, 0.1},
    {"much lighter", {{2, 2.2, 2.5}}, 0.1},        {"darker", {{-0.8, -0.8, -0.8}}, 0.02},
    {"darker, spread", {{-0.8, -0.8, -0.8}}, 0.1}, {"as light, redder", {{0.2, 0, -0.2}}, 0.02},
    {"as light, yellower", {{0, 0, -0.4}}, 0.02},  {"as light, bluer", {{-0.1, 0, 0.3}}, 0.05},
    {"lighter, greyer", {{0.5, 0.8, 1.1}}, 0.1},   {"anything", {{0, 0, 0}}, 1},
    {"anything light", {{1.5, 1.5, 1.5}}, 0.6},    {"anything dark", {{-1.5, -1.5, -1.5}}, 0.6},
};

START_TEST(strangers_have_no_say)
{
  for (int percent = 10; percent <= 30; percent += 10) {
    struct core core = core_of(percent, CROWD[_i].off, CROWD[_i].spread, SEED + (uint64_t)_i);
    ck_assert_msg(miss(&core) < 0.25, "%s, %d %%: %g", CROWD[_i].name, percent, miss(&core));
  }
}
END_TEST

/* Where all colours are the same there is still a core, as wide as rounding. */
START_TEST(one_colour)
{
  struct vec3 colour[40];
  struct core core;

  for (int i = 0; i < 40; i++) {
    colour[i] = (struct vec3){{-1, -2, -3}};
  }
  ck_assert(core_find(colour, 40, LEAST, &core));
  ck_assert_double_eq_tol(core.centre.v[1], -2, 1e-12);
  ck_assert_double_eq_tol(core.covariance.m[1][1], 1e-6, 1e-7);
}
END_TEST

/* The shares that the header names, by counting. */
START_TEST(window_and_limit)
{
  struct random random = random_start(SEED);
  int inside = 0, beyond = 0, draws = 400000;
  double square = 0;

  for (int i = 0; i < draws; i++) {
    double x = random_normal(&random), y = random_normal(&random), z = random_normal(&random);
    double r2 = x * x + y * y + z * z;
    if (r2 <= CORE_WINDOW * CORE_WINDOW) {
      inside++;
      square += x * x;
    }
    beyond += r2 > CORE_LIMIT * CORE_LIMIT;
  }
  ck_assert_double_eq_tol(inside / (double)draws, 0.9, 0.002); /* 4 standard errors, likewise below */
  ck_assert_double_eq_tol(beyond / (double)draws, 0.007, 0.0006);
  ck_assert_double_eq_tol(square / inside, CORE_WINDOW_VARIANCE, 0.006);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("region core");
  TCase *tests = tcase_create("all");

  tcase_add_loop_test(tests, clean_cloud, 0, 10);
  tcase_add_test(tests, whitening_is_the_inverse_root);
  tcase_add_loop_test(tests, strangers_have_no_say, 0, STRANGERS);
  tcase_add_test(tests, one_colour);
  tcase_add_test(tests, window_and_limit);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
