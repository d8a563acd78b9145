/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "colour/adapt.h"
#include "colour/difference.h"
#include "measure/values.h"
#include "suite.h"

/* The radius comes from a chi-square matched in two moments, and CIEDE2000 is only locally a quadratic form. */
static const double COVERAGE_TOLERANCE = 0.012;
/* 600 even draws against 40,000 random ones. */
static const double CHANCE_TOLERANCE = 0.02;

static const uint64_t SEED = 20260501;

static double uniform(uint64_t *state)
{
  *state = *state * 6364136223846793005u + 1442695040888963407u; /* Knuth's MMIX */
  return (double)(*state >> 11) / 9007199254740992.0;
}

static struct vec3 normal(uint64_t *state)
{
  struct vec3 z;

  for (int k = 0; k < 3; k++) { /* Box & Muller 1958 */
    double radius = sqrt(-2 * log(1 - uniform(state)));
    z.v[k] = radius * cos(2 * M_PI * uniform(state));
  }
  return z;
}

static const struct {
  const char *name;
  struct lab lab;
  double sd[3]; /* along L, a, b */
  double turn;  /* correlation of a and b */
} CASE[] = {
    {"even, soil", {42, 8, 18}, {0.5, 0.5, 0.5}, 0},
    {"lightness only", {42, 8, 18}, {1.0, 1e-6, 1e-6}, 0},
    {"along the hue", {55, 10, 25}, {0.3, 0.9, 0.9}, 0.8},
    {"near grey", {50, 0.5, 1}, {0.4, 0.6, 0.6}, -0.5},
    {"dark", {15, 2, 3}, {0.8, 0.4, 0.4}, 0.3},
};

static struct mat3 covariance_of_case(int i)
{
  struct mat3 c = mat3_diagonal((struct vec3){
      {CASE[i].sd[0] * CASE[i].sd[0], CASE[i].sd[1] * CASE[i].sd[1], CASE[i].sd[2] * CASE[i].sd[2]}});

  c.m[1][2] = c.m[2][1] = CASE[i].turn * CASE[i].sd[1] * CASE[i].sd[2];
  return c;
}

START_TEST(radius_holds_95_of_100)
{
  enum { DRAWS = 20000 };
  struct mat3 covariance = covariance_of_case(_i), root = mat3_cholesky(covariance);
  double radius = values_radius95(CASE[_i].lab, covariance);
  uint64_t state = SEED;
  int inside = 0;

  for (int i = 0; i < DRAWS; i++) {
    struct vec3 c = vec3_add(colour_vec_from_lab(CASE[_i].lab), mat3_apply(root, normal(&state)));
    inside += colour_de00(CASE[_i].lab, colour_lab_from_vec(c)) <= radius;
  }
  double coverage = (double)inside / DRAWS;
  ck_assert_msg(fabs(coverage - 0.95) <= COVERAGE_TOLERANCE, "%s: radius %.3f covers %.4f (seed %llu)",
                CASE[_i].name, radius, coverage, (unsigned long long)SEED);
}
END_TEST

static struct reading reading_at(struct lab lab, struct mat3 covariance)
{
  return (struct reading){.lab_d50 = lab, .covariance = covariance};
}

/* The chances against plain random draws through the whole way from Lab D50 to the nearest chip. */
START_TEST(chip_chance_agrees_with_random_draws)
{
  enum { DRAWS = 4000 };
  struct mat3 covariance = covariance_of_case(_i), root = mat3_cholesky(covariance);
  struct reading reading = reading_at(CASE[_i].lab, covariance);
  struct error error;
  uint64_t state = SEED;
  int hits = 0;

  ck_assert(values_fill(&reading, &error));
  for (int i = 0; i < DRAWS; i++) {
    struct vec3 c = vec3_add(colour_vec_from_lab(CASE[_i].lab), mat3_apply(root, normal(&state)));
    struct xyz xyz = colour_object_c_from_d50(colour_xyz_from_lab(colour_lab_from_vec(c), COLOUR_WHITE_D50));
    hits += munsell_nearest_soil_chip(colour_lab_from_xyz(xyz, COLOUR_WHITE_C), NULL) == reading.chip;
  }
  double expected = (double)hits / DRAWS;
  ck_assert_msg(fabs(reading.chip_chance - expected) <= 2 * CHANCE_TOLERANCE,
                "%s: chance %.3f, random draws say %.3f (seed %llu)", CASE[_i].name, reading.chip_chance,
                expected, (unsigned long long)SEED);
}
END_TEST

/* Spreads of hue, value and chroma against the scatter of converted draws. */
START_TEST(spread_agrees_with_random_draws)
{
  enum { DRAWS = 4000 };
  struct mat3 covariance = mat3_scale(covariance_of_case(_i), 0.09), root = mat3_cholesky(covariance);
  struct reading reading = reading_at(CASE[_i].lab, covariance);
  struct error error;
  uint64_t state = SEED;
  double sum = 0, squares = 0;

  ck_assert(values_fill(&reading, &error));
  for (int i = 0; i < DRAWS; i++) {
    struct vec3 c = vec3_add(colour_vec_from_lab(CASE[_i].lab), mat3_apply(root, normal(&state)));
    struct reading drawn = reading_at(colour_lab_from_vec(c), covariance);
    struct xyz xyz = colour_object_c_from_d50(colour_xyz_from_lab(drawn.lab_d50, COLOUR_WHITE_D50));
    struct munsell m;
    munsell_from_xyY(colour_xyY_from_xyz(xyz, COLOUR_WHITE_C), &m, NULL);
    sum += m.chroma;
    squares += m.chroma * m.chroma;
  }
  double sd = sqrt(fmax(squares / DRAWS - sum / DRAWS * sum / DRAWS, 0));
  /* 5 %: scatter of 4,000 draws, and kinks of the renotation's cells */
  ck_assert_msg(fabs(reading.spread95.chroma - 1.96 * sd) <= 0.05 * 1.96 * sd + 0.01,
                "%s: chroma spread %.4f, draws say %.4f", CASE[_i].name, reading.spread95.chroma, 1.96 * sd);
}
END_TEST

START_TEST(no_colour_is_refused)
{
  struct reading reading = reading_at((struct lab){NAN, 0, 0}, mat3_identity());
  struct error error;

  ck_assert(!values_fill(&reading, &error));
  ck_assert_str_eq(error.code, "no-colour");
  reading = reading_at((struct lab){-5, 0, 0}, mat3_identity());
  ck_assert(!values_fill(&reading, &error));
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("values");
  TCase *tcase = tcase_create("values");
  int cases = sizeof CASE / sizeof *CASE;

  tcase_set_timeout(tcase, 120);
  tcase_add_loop_test(tcase, radius_holds_95_of_100, 0, cases);
  tcase_add_loop_test(tcase, chip_chance_agrees_with_random_draws, 0, cases);
  tcase_add_loop_test(tcase, spread_agrees_with_random_draws, 0, cases);
  tcase_add_test(tcase, no_colour_is_refused);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
