/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <lcms2.h>
#include <stdio.h>
#include <stdlib.h>

#include "colour/adapt.h"
#include "colour/difference.h"
#include "object_matrix.h"
#include "shared.h"
#include "suite.h"

enum { HELD_OUT = 2000, HELD_OUT_SEED = 76 };

/* What the way from D50 to C may leave on soils, CIEDE2000. */
static const double MEDIAN_MAX = 0.10, P95_MAX = 0.20;

struct distances {
  size_t count;
  double fitted[HELD_OUT], bradford[HELD_OUT];
};

static int rising(const void *a, const void *b)
{
  double d = *(const double *)a - *(const double *)b;

  return (d > 0) - (d < 0);
}

static double quantile(double *value, size_t count, double share)
{
  double place = share * (double)(count - 1);
  size_t k = (size_t)place;

  qsort(value, count, sizeof *value, rising);
  return k + 1 < count ? value[k] + (place - (double)k) * (value[k + 1] - value[k]) : value[k];
}

static double miss(struct xyz found, struct xyz truth)
{
  return colour_de00(colour_lab_from_xyz(found, COLOUR_WHITE_C), colour_lab_from_xyz(truth, COLOUR_WHITE_C));
}

static void add_distance(struct distances *distances, const struct spectrum *reflectance)
{
  struct object_colours object = object_colours_of(reflectance);
  struct mat3 bradford = colour_adaptation_matrix(COLOUR_BRADFORD, COLOUR_WHITE_D50, COLOUR_WHITE_C);
  struct vec3 adapted = mat3_apply(bradford, colour_vec_from_xyz(object.d50));
  size_t n = distances->count++;

  ck_assert_uint_lt(n, HELD_OUT);
  distances->fitted[n] = miss(colour_object_c_from_d50(object.d50), object.c);
  distances->bradford[n] = miss(colour_xyz_from_vec(adapted), object.c);
}

static void judge(struct distances *d, const char *name)
{
  double median = quantile(d->fitted, d->count, 0.5), p95 = quantile(d->fitted, d->count, 0.95);

  printf("%s (%zu): median %.3f, 95 %% %.3f; Bradford %.3f, %.3f\n", name, d->count, median, p95,
         quantile(d->bradford, d->count, 0.5), quantile(d->bradford, d->count, 0.95));
  ck_assert_msg(median <= MEDIAN_MAX && p95 <= P95_MAX, "%s: median %.3f, 95 %% %.3f", name, median, p95);
}

/* The sums of the fit run in one order everywhere; the mathematical library's last digits are what is left. */
START_TEST(constants_are_what_the_fit_gives)
{
  struct mat3 fitted = object_matrix_fit(OBJECT_MATRIX_SEED, OBJECT_MATRIX_COUNT);
  struct mat3 constants = colour_object_matrix_c_from_d50();

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      ck_assert_msg(fabs(fitted.m[i][j] - constants.m[i][j]) <= 1e-10, "row %d column %d: fit gives %.15g", i,
                    j, fitted.m[i][j]);
    }
  }
}
END_TEST

START_TEST(white_stays_white)
{
  struct xyz c = colour_object_c_from_d50(COLOUR_WHITE_D50), d50 = colour_object_d50_from_c(COLOUR_WHITE_C);

  ck_assert_double_eq_tol(c.X, COLOUR_WHITE_C.X, 1e-11);
  ck_assert_double_eq_tol(c.Y, COLOUR_WHITE_C.Y, 1e-11);
  ck_assert_double_eq_tol(c.Z, COLOUR_WHITE_C.Z, 1e-11);
  ck_assert_double_eq_tol(d50.X, COLOUR_WHITE_D50.X, 1e-11);
  ck_assert_double_eq_tol(d50.Y, COLOUR_WHITE_D50.Y, 1e-11);
  ck_assert_double_eq_tol(d50.Z, COLOUR_WHITE_D50.Z, 1e-11);
}
END_TEST

START_TEST(there_and_back)
{
  struct random random = random_start(HELD_OUT_SEED);

  for (int run = 0; run < 1000; run++) {
    struct xyz c = {random_between(&random, 0, 100), random_between(&random, 0, 100),
                    random_between(&random, 0, 100)};
    struct xyz back = colour_object_d50_from_c(colour_object_c_from_d50(c));
    ck_assert_double_eq_tol(back.X, c.X, 1e-11);
    ck_assert_double_eq_tol(back.Y, c.Y, 1e-11);
    ck_assert_double_eq_tol(back.Z, c.Z, 1e-11);
  }
}
END_TEST

START_TEST(holds_on_other_spectra_of_the_formula)
{
  struct random random = random_start(HELD_OUT_SEED);
  struct distances distances = {0};

  for (int i = 0; i < HELD_OUT; i++) {
    struct spectrum reflectance = object_reflectance(&random);
    add_distance(&distances, &reflectance);
  }
  judge(&distances, "formula");
}
END_TEST

static const char *const SOILS[] = {"soil_pairs_dry", "soil_pairs_moist", "soil_pairs_wet", "soil_geeves_dry",
                                    "soil_australia"};

/* Outside judge: measured soils, integrated under both lights. */
START_TEST(holds_on_measured_soils)
{
  struct distances distances = {0};
  struct spectra soils;
  struct error error;
  char name[64], path[512];

  snprintf(name, sizeof name, "spectra/%s.csv", SOILS[_i]);
  if (!shared_path(name, path, sizeof path)) {
    printf("skipped: no ../shared/%s\n", name);
    return;
  }
  ck_assert_msg(spectra_read(path, 1, &soils, &error), "%s", error.text);
  for (size_t i = 0; i < soils.count; i++) {
    add_distance(&distances, &soils.spectrum[i]);
  }
  spectra_clear(&soils);
  judge(&distances, SOILS[_i]);
}
END_TEST

/* Second implementation of linear Bradford: Little-CMS. Its white is the profile connection space's D50. */
START_TEST(bradford_agrees_with_little_cms)
{
  const cmsCIEXYZ from = {COLOUR_WHITE_C.X / 100, 1, COLOUR_WHITE_C.Z / 100};
  const cmsCIEXYZ to = {COLOUR_WHITE_D50.X / 100, 1, COLOUR_WHITE_D50.Z / 100};
  struct mat3 ours = colour_adaptation_matrix(COLOUR_BRADFORD, COLOUR_WHITE_C, COLOUR_WHITE_D50);
  struct random random = random_start(HELD_OUT_SEED + 1);

  for (int run = 0; run < 1000; run++) {
    cmsCIEXYZ c = {random_unit(&random), random_unit(&random), random_unit(&random)}, theirs;
    struct vec3 adapted = mat3_apply(ours, (struct vec3){{c.X, c.Y, c.Z}});
    ck_assert(cmsAdaptToIlluminant(&theirs, &from, &to, &c));
    ck_assert_double_eq_tol(adapted.v[0], theirs.X, 1e-9);
    ck_assert_double_eq_tol(adapted.v[1], theirs.Y, 1e-9);
    ck_assert_double_eq_tol(adapted.v[2], theirs.Z, 1e-9);
  }
}
END_TEST

START_TEST(adaptation_takes_white_to_white)
{
  const enum colour_adaptation method[2] = {COLOUR_BRADFORD, COLOUR_CAT16};
  struct mat3 matrix = colour_adaptation_matrix(method[_i], COLOUR_WHITE_D65, COLOUR_WHITE_C);
  struct vec3 white = mat3_apply(matrix, colour_vec_from_xyz(COLOUR_WHITE_D65));

  ck_assert_double_eq_tol(white.v[0], COLOUR_WHITE_C.X, 1e-10);
  ck_assert_double_eq_tol(white.v[1], COLOUR_WHITE_C.Y, 1e-10);
  ck_assert_double_eq_tol(white.v[2], COLOUR_WHITE_C.Z, 1e-10);
}
END_TEST

/* Li et al. 2017: CAT16's rows sum to 1 for the equal-energy white, as the authors chose them. */
START_TEST(cat16_leaves_equal_energy_alone)
{
  struct xyz equal = {100, 100, 100}, red_light = {150, 100, 40};
  struct mat3 matrix = colour_adaptation_matrix(COLOUR_CAT16, equal, red_light);
  struct vec3 white = mat3_apply(matrix, (struct vec3){{100, 100, 100}});

  ck_assert_double_eq_tol(white.v[0], 150, 1e-10);
  ck_assert_double_eq_tol(white.v[2], 40, 1e-10);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("colour/adapt");
  TCase *cases = tcase_create("adapt");

  tcase_add_test(cases, constants_are_what_the_fit_gives);
  tcase_add_test(cases, white_stays_white);
  tcase_add_test(cases, there_and_back);
  tcase_add_test(cases, holds_on_other_spectra_of_the_formula);
  tcase_add_loop_test(cases, holds_on_measured_soils, 0, sizeof SOILS / sizeof *SOILS);
  tcase_add_test(cases, bradford_agrees_with_little_cms);
  tcase_add_loop_test(cases, adaptation_takes_white_to_white, 0, 2);
  tcase_add_test(cases, cat16_leaves_equal_energy_alone);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
