/* SPDX-License-Identifier: MIT */
/* Few columns for many: what they keep of the covariance of readings and of differences. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "measure/compact.h"
#include "random.h"
#include "suite.h"

enum { SEED = 3100, READINGS = 40, DIRECTIONS = 50 };

/* Shared effects as of a photo: a few unknowns count for much and the rest for ever less, and all readings feel them alike. */
static struct reading *make_readings(uint64_t seed)
{
  struct reading *reading = calloc(READINGS, sizeof *reading);
  struct random random = random_start(seed);
  double common[3][READING_SHARED];

  ck_assert_ptr_nonnull(reading);
  for (int i = 0; i < 3 * READING_SHARED; i++) {
    common[i / READING_SHARED][i % READING_SHARED] = random_normal(&random);
  }
  for (int a = 0; a < READINGS; a++) {
    reading[a].measured = a != 3;
    for (int i = 0; i < 3; i++) {
      for (int k = 0; k < READING_SHARED; k++) {
        reading[a].shared[i][k] = exp(-k / 5.0) * (common[i][k] + 0.3 * random_normal(&random));
      }
      reading[a].own.m[i][i] = random_between(&random, 0.02, 0.2);
    }
    reading[a].own.m[0][1] = reading[a].own.m[1][0] = 0.01;
  }
  return reading;
}

static double along(const struct reading *reading, struct vec3 x, int k)
{
  return x.v[0] * reading->shared[0][k] + x.v[1] * reading->shared[1][k] + x.v[2] * reading->shared[2][k];
}

/* Variance of the difference of two readings in direction x, in full. */
static double variance(const struct reading *a, const struct reading *b, struct vec3 x)
{
  double sum = vec3_dot(x, mat3_apply(mat3_add(a->own, b->own), x));

  for (int k = 0; k < READING_SHARED; k++) {
    double effect = along(a, x, k) - along(b, x, k);
    sum += effect * effect;
  }
  return sum;
}

/* As saved: columns along the basis, and own = covariance - columns columns'. */
static struct reading saved(const struct reading *reading, const struct compact_basis *basis)
{
  struct reading made = {.own = reading->own};

  compact_columns(basis, reading, made.shared);
  for (int k = 0; k < READING_SHARED; k++) {
    struct vec3 full = {{reading->shared[0][k], reading->shared[1][k], reading->shared[2][k]}};
    struct vec3 kept = {{made.shared[0][k], made.shared[1][k], made.shared[2][k]}};
    made.own = mat3_add(made.own, mat3_add(mat3_outer(full, full), mat3_scale(mat3_outer(kept, kept), -1)));
  }
  return made;
}

START_TEST(differences_keep_their_covariance)
{
  struct random random = random_start(SEED + 100 + (uint64_t)_i);
  struct reading *reading = make_readings(SEED + (uint64_t)_i);
  struct compact_basis basis;
  struct error error;

  ck_assert(compact_find(reading, READINGS, &basis, &error));
  ck_assert_msg(basis.columns > 3 && basis.columns < READING_SHARED / 2, "seed %d: %zu columns", SEED + _i,
                basis.columns);
  for (int n = 0; n < DIRECTIONS; n++) {
    size_t i = (size_t)random_below(&random, READINGS), j = (size_t)random_below(&random, READINGS);
    struct vec3 x = {{random_normal(&random), random_normal(&random), random_normal(&random)}};
    if (i == j || i == 3 || j == 3) {
      continue;
    }
    struct reading a = saved(&reading[i], &basis), b = saved(&reading[j], &basis);
    double full = variance(&reading[i], &reading[j], x), kept = variance(&a, &b, x);
    ck_assert_msg(fabs(kept - full) <= COMPACT_LOST * full, "seed %d: %g, not %g", SEED + _i, kept, full);
  }
  free(reading);
}
END_TEST

START_TEST(readings_that_share_nothing_need_no_column)
{
  struct reading reading = {.measured = true, .own = mat3_identity()};
  struct compact_basis basis;
  struct error error;

  ck_assert(compact_find(&reading, 1, &basis, &error));
  ck_assert_uint_eq(basis.columns, 0);
  ck_assert(compact_find(&reading, 0, &basis, &error));
  ck_assert_uint_eq(basis.columns, 0);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compact");
  TCase *tcase = tcase_create("compact");

  tcase_add_loop_test(tcase, differences_keep_their_covariance, 0, 10);
  tcase_add_test(tcase, readings_that_share_nothing_need_no_column);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
