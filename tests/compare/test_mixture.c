/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "compare/mixture.h"
#include "csv.h"
#include "random.h"
#include "suite.h"

enum { SEED = 40, RUNS = 20, COUNT = 600 };

static const struct mat3 NOTHING = {{{0}}};

/* Colours and the likeliest mixture by another implementation (tests/data/make_mixture.py): SciPy's general optimiser stops when
 * the likelihood is flat to about 1e-9, which knows its place to 1e-4 or so; ours to ENOUGH below. */
static const double PLACE = 2e-4, LIKELIHOOD = 1e-6, ENOUGH = 1e-11;

struct table {
  struct mixture expected;
  struct vec3 colour[400];
  size_t count;
};

static struct vec3 row_of(const struct csv *csv, size_t row, size_t first)
{
  return (struct vec3){
      {csv_number(csv, row, first), csv_number(csv, row, first + 1), csv_number(csv, row, first + 2)}};
}

static void read_table(struct table *table)
{
  struct csv csv;
  struct error error;

  ck_assert_msg(csv_read(TAWNY_SOURCE_ROOT "/tests/data/mixture.csv", &csv, &error), "%s", error.text);
  ck_assert_uint_eq(csv.rows, 307);
  table->expected.parts = 3;
  table->count = csv.rows - 7;
  for (size_t k = 0; k < 3; k++) {
    struct vec3 row = row_of(&csv, 3 + k, 0);
    table->expected.share[k] = csv_number(&csv, k, 0);
    table->expected.mean[k] = row_of(&csv, k, 1);
    for (int j = 0; j < 3; j++) {
      table->expected.covariance.m[k][j] = row.v[j];
    }
  }
  table->expected.likelihood = csv_number(&csv, 6, 0);
  for (size_t i = 0; i < table->count; i++) {
    table->colour[i] = row_of(&csv, 7 + i, 0);
  }
  csv_clear(&csv);
}

static void check_same(const struct mixture *m, const struct mixture *expected)
{
  ck_assert_uint_eq(m->parts, expected->parts);
  ck_assert_double_eq_tol(m->likelihood, expected->likelihood, LIKELIHOOD);
  for (size_t k = 0; k < m->parts; k++) {
    size_t same = 0;
    for (size_t j = 1; j < m->parts; j++) {
      struct vec3 d = vec3_subtract(expected->mean[k], m->mean[j]);
      struct vec3 best = vec3_subtract(expected->mean[k], m->mean[same]);
      same = vec3_dot(d, d) < vec3_dot(best, best) ? j : same;
    }
    ck_assert_double_eq_tol(m->share[same], expected->share[k], PLACE);
    for (int i = 0; i < 3; i++) {
      ck_assert_double_eq_tol(m->mean[same].v[i], expected->mean[k].v[i], PLACE);
      for (int j = 0; j < 3; j++) {
        ck_assert_double_eq_tol(m->covariance.m[i][j], expected->covariance.m[i][j], PLACE);
      }
    }
  }
}

START_TEST(as_another_implementation)
{
  static struct table table;

  read_table(&table);
  struct mixture m = table.expected;
  m.mean[1].v[0] += 0.1;
  m.share[0] = m.share[1] = m.share[2] = 1.0 / 3;
  mixture_fit(table.colour, table.count, NOTHING, 500, ENOUGH, &m);
  check_same(&m, &table.expected);
}
END_TEST

/* Grown from one part, with no start near the others. */
START_TEST(grown_from_one_part)
{
  static struct table table;

  read_table(&table);
  struct mixture m = {.parts = 1, .share = {1}, .mean = {table.expected.mean[0]}};
  m.covariance = table.expected.covariance;
  ck_assert(mixture_grow(table.colour, table.count, NOTHING, &m));
  ck_assert(mixture_grow(table.colour, table.count, NOTHING, &m));
  mixture_fit(table.colour, table.count, NOTHING, 500, ENOUGH, &m);
  check_same(&m, &table.expected);
}
END_TEST

static void draw(struct random *random, double share, double apart, struct vec3 colour[COUNT])
{
  for (int i = 0; i < COUNT; i++) {
    double off = random_unit(random) < share ? apart : 0;
    colour[i] = (struct vec3){
        {0.1 * random_normal(random) + 0.1 * off, 0.1 * random_normal(random), 0.1 * random_normal(random)}};
  }
}

/* The likelihood never falls, and shares stay shares. */
START_TEST(likelihood_rises)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct vec3 colour[COUNT];
  struct mixture m = {.parts = 2,
                      .share = {0.5, 0.5},
                      .mean = {{{-0.2, 0.1, 0}}, {{0.3, 0, 0.1}}},
                      .covariance = mat3_diagonal((struct vec3){{0.02, 0.02, 0.02}})};
  double before = -INFINITY;

  draw(&random, 0.2, 5, colour);
  for (int round = 0; round < 40; round++) {
    mixture_fit(colour, COUNT, NOTHING, 1, 0, &m);
    ck_assert_msg(m.likelihood >= before - 1e-12, "seed %d, round %d: %g after %g", SEED + _i, round,
                  m.likelihood, before);
    ck_assert_double_eq_tol(m.share[0] + m.share[1], 1, 1e-12);
    before = m.likelihood;
  }
  ck_assert_msg(fabs(fmin(m.share[0], m.share[1]) - 0.2) < 0.06, "seed %d: share %g", SEED + _i, m.share[1]);
}
END_TEST

START_TEST(no_more_than_the_most)
{
  struct random random = random_start(SEED);
  struct vec3 colour[COUNT];
  struct mixture m = {.parts = MIXTURE_PARTS_MAX};

  draw(&random, 0.2, 5, colour);
  ck_assert(!mixture_grow(colour, COUNT, NOTHING, &m));
  ck_assert_uint_eq(m.parts, MIXTURE_PARTS_MAX);
}
END_TEST

START_TEST(distance_in_deviations)
{
  struct mat3 covariance = {{{4, 1, 0}, {1, 2, 0.5}, {0, 0.5, 1}}}, inverse;
  struct vec3 mean = {{1, 2, 3}}, colour = {{2, 0, 5}}, d = vec3_subtract(colour, mean);

  ck_assert(mat3_invert(covariance, &inverse));
  ck_assert_double_eq_tol(mixture_distance2(mixture_whitening(covariance), mean, colour),
                          vec3_dot(d, mat3_apply(inverse, d)), 1e-12);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compare mixture");
  TCase *tests = tcase_create("all");

  tcase_add_test(tests, as_another_implementation);
  tcase_add_test(tests, grown_from_one_part);
  tcase_add_loop_test(tests, likelihood_rises, 0, RUNS);
  tcase_add_test(tests, no_more_than_the_most);
  tcase_add_test(tests, distance_in_deviations);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
