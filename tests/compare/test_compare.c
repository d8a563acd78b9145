/* SPDX-License-Identifier: MIT */
/* Comparisons of readings whose uncertainty is made up, against drawing what it stands for. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "colour/difference.h"
#include "compare/compare.h"
#include "random.h"
#include "region/outline.h"
#include "suite.h"

enum { SEED = 2000, DRAWS = 4000, MANY = 1000 };

/* Two readings of one photo: true Lab, what they share and their own. */
struct pair {
  struct measurement measurement;
  struct reading reading[2];
  struct region region[2];
};

/* All parts of the uncertainty are scaled by `size`; unknowns move both readings nearly alike, as a wrong exposure does. */
static void make_uncertainty(struct reading *reading, struct random *random, double size, double common[3][4])
{
  for (int row = 0; row < 3; row++) {
    for (int k = 0; k < 4; k++) {
      reading->shared[row][k] = size * (common[row][k] + 0.15 * random_normal(random));
    }
  }
  for (int i = 0; i < 3; i++) {
    reading->own.m[i][i] = size * size * random_between(random, 0.02, 0.2);
  }
}

static void make_pair(struct pair *pair, struct lab a, struct lab b, double size, uint64_t seed)
{
  struct random random = random_start(seed);
  struct error error;
  double common[3][4];

  *pair = (struct pair){.measurement = {.readings = 2}};
  for (int i = 0; i < 12; i++) {
    common[i / 4][i % 4] = random_normal(&random);
  }
  for (int i = 0; i < 2; i++) {
    struct reading *reading = &pair->reading[i];
    ck_assert(outline_rectangle(&pair->region[i], 100 * i, 0, 100, 100, &error));
    reading->region = &pair->region[i];
    reading->measured = true;
    reading->chip = munsell_soil_chip((size_t)(20 * i));
    reading->lab_d50 = i == 0 ? a : b;
    make_uncertainty(reading, &random, size, common);
  }
  pair->measurement.reading = pair->reading;
}

static void clear_pair(struct pair *pair)
{
  region_clear(&pair->region[0]);
  region_clear(&pair->region[1]);
}

static struct comparison compare(const struct measurement *measurement)
{
  struct comparison *list, first;
  size_t count;
  struct error error;

  ck_assert(compare_measurement(measurement, &list, &count, &error));
  ck_assert_uint_eq(count, 1);
  first = list[0];
  free(list);
  return first;
}

/* What the camera might have read: shared unknowns drawn once, own ones twice. */
static void draw(const struct pair *truth, struct pair *read, struct random *random)
{
  double z[4];

  for (int k = 0; k < 4; k++) {
    z[k] = random_normal(random);
  }
  for (int i = 0; i < 2; i++) {
    struct vec3 lab = colour_vec_from_lab(truth->reading[i].lab_d50);
    for (int row = 0; row < 3; row++) {
      for (int k = 0; k < 4; k++) {
        lab.v[row] += truth->reading[i].shared[row][k] * z[k];
      }
      lab.v[row] += sqrt(truth->reading[i].own.m[row][row]) * random_normal(random);
    }
    read->reading[i].lab_d50 = colour_lab_from_vec(lab);
  }
}

static const struct {
  const char *name;
  struct lab a, b;
  double size;
} SITUATION[] = {
    {"the same brown", {40, 8, 20}, {40, 8, 20}, 1},
    {"the same grey", {50, 0, 0}, {50, 0, 0}, 1},
    {"a little apart", {40, 8, 20}, {41, 8.5, 20.5}, 1},
    {"a little apart, unsure", {40, 8, 20}, {41, 8.5, 20.5}, 2},
    {"as far as the doubt", {40, 8, 20}, {42.5, 8, 21}, 1},
    {"chips apart", {40, 8, 20}, {50, 8, 20}, 1},
    {"other hue", {40, 8, 20}, {40, 15, 14}, 1},
    {"other chroma", {60, 3, 6}, {60, 8, 18}, 1.5},
    {"far", {30, 5, 8}, {75, 3, 25}, 2},
};

/* The half-width holds the truth in 95 of 100 draws, and is not much too wide. 4000 draws know 0.95 to 0.0035; the
 * half-width is an approximation between two exact ends, and 93.5 to 99 % is what is asked of it. */
START_TEST(half_width_covers)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct pair truth, read;
  int inside = 0;

  make_pair(&truth, SITUATION[_i].a, SITUATION[_i].b, SITUATION[_i].size, SEED + (uint64_t)_i);
  read = truth;
  read.measurement.reading = read.reading;
  double de00 = colour_de00(SITUATION[_i].a, SITUATION[_i].b);
  for (int i = 0; i < DRAWS; i++) {
    draw(&truth, &read, &random);
    struct comparison c = compare(&read.measurement);
    inside += fabs(c.de00 - de00) <= c.uncertainty;
  }
  double share = inside / (double)DRAWS;
  ck_assert_msg(share > 0.935 && share < 0.99, "%s: %.3f", SITUATION[_i].name, share);
  clear_pair(&truth);
}
END_TEST

/* Two readings of the same colour are called apart in 5 of 100; 0.95 known to four standard errors. */
START_TEST(apart_is_a_test_of_five_percent)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct pair truth, read;
  int apart = 0;

  make_pair(&truth, (struct lab){45, 6, 18}, (struct lab){45, 6, 18}, 0.5 + _i, SEED + (uint64_t)_i);
  read = truth;
  read.measurement.reading = read.reading;
  for (int i = 0; i < DRAWS; i++) {
    draw(&truth, &read, &random);
    apart += compare(&read.measurement).apart;
  }
  ck_assert_double_eq_tol(apart / (double)DRAWS, 0.05, 4 * 0.00345);
  clear_pair(&truth);
}
END_TEST

/* A doubt that moves both alike says nothing about their difference; the same doubt each on its own does. */
START_TEST(what_is_shared_cancels)
{
  struct pair pair;

  make_pair(&pair, (struct lab){45, 6, 18}, (struct lab){47, 6, 18}, 0, SEED);
  for (int i = 0; i < 2; i++) {
    pair.reading[i].shared[0][7] = 5;
    pair.reading[i].own = mat3_diagonal((struct vec3){{0.05, 0.05, 0.05}});
  }
  struct comparison together = compare(&pair.measurement);
  ck_assert(together.apart);
  ck_assert_double_lt(together.uncertainty, 0.8);
  pair.reading[1].shared[0][7] = 0;
  pair.reading[1].shared[0][8] = 5;
  struct comparison alone = compare(&pair.measurement);
  ck_assert(!alone.apart);
  ck_assert_double_gt(alone.uncertainty, 8);
  ck_assert_double_eq(alone.de00, together.de00);
  clear_pair(&pair);
}
END_TEST

/* No doubt at all: a difference is a difference, and none is none. */
START_TEST(without_doubt)
{
  struct pair pair;

  make_pair(&pair, (struct lab){45, 6, 18}, (struct lab){45, 6, 18}, 0, SEED);
  struct comparison same = compare(&pair.measurement);
  ck_assert(!same.apart);
  ck_assert_double_eq(same.de00, 0);
  ck_assert_double_lt(same.uncertainty, 0.05);
  pair.reading[1].lab_d50.L = 46;
  struct comparison other = compare(&pair.measurement);
  ck_assert(other.apart);
  ck_assert_double_lt(other.uncertainty, 0.05);
  clear_pair(&pair);
}
END_TEST

static const struct {
  enum region_moisture a, b;
  int same;
} MOISTURES[] = {{MOISTURE_DRY, MOISTURE_DRY, 1},
                 {MOISTURE_DRY, MOISTURE_MOIST, 0},
                 {MOISTURE_UNSTATED, MOISTURE_MOIST, -1},
                 {MOISTURE_WET, MOISTURE_UNSTATED, -1},
                 {MOISTURE_UNSTATED, MOISTURE_UNSTATED, -1}};

START_TEST(moisture_is_compared)
{
  struct pair pair;

  make_pair(&pair, (struct lab){45, 6, 18}, (struct lab){47, 6, 18}, 1, SEED);
  pair.region[0].moisture = MOISTURES[_i].a;
  pair.region[1].moisture = MOISTURES[_i].b;
  struct comparison c = compare(&pair.measurement);
  ck_assert_int_eq(c.same_moisture, MOISTURES[_i].same);
  ck_assert(c.touching);
  ck_assert_int_eq(c.contrast, contrast_of(pair.reading[0].chip->colour, pair.reading[1].chip->colour));
  clear_pair(&pair);
}
END_TEST

/* `count` readings in rows of 25, circles of 40 pixels radius that touch their neighbours to the right and below; the first
 * `unmeasured` failed. */
static void make_many(struct measurement *m, struct region *region, int count, int unmeasured)
{
  struct random random = random_start(SEED);
  double common[3][4] = {{1, 0.2, 0, 0}, {0, 0.5, 0.3, 0}, {0, 0, 0.4, 0.2}};
  struct error error;

  *m = (struct measurement){.readings = (size_t)count,
                            .reading = calloc((size_t)count, sizeof(struct reading))};
  for (int i = 0; i < count; i++) {
    struct point centre = {50 + 81 * (i % 25), 50 + 81 * (i / 25)};
    region[i] = (struct region){.label = "a"};
    ck_assert(outline_ellipse(&region[i], REGION_CIRCLE, centre, 40, 40, &error));
    m->reading[i].region = &region[i];
    m->reading[i].measured = i >= unmeasured;
    if (m->reading[i].measured) {
      m->reading[i].chip = munsell_soil_chip((size_t)i % munsell_soil_chip_count());
      m->reading[i].lab_d50 = (struct lab){random_between(&random, 20, 80), random_between(&random, 0, 15),
                                           random_between(&random, 5, 35)};
      make_uncertainty(&m->reading[i], &random, 1, common);
    }
  }
}

static void clear_many(struct measurement *m, struct region *region)
{
  for (size_t i = 0; i < m->readings; i++) {
    region_clear(&region[i]);
  }
  free(m->reading);
}

/* Up to 100 measured readings all pairs, in order, each once; more: the touching ones. */
START_TEST(which_pairs_are_listed)
{
  static struct region region[104];
  struct measurement m;
  struct comparison *list;
  size_t count;
  struct error error;
  int readings = _i ? 104 : 103, unmeasured = 3;

  make_many(&m, region, readings, unmeasured);
  ck_assert(compare_measurement(&m, &list, &count, &error));
  size_t touching = 0;
  for (size_t k = 0; k < count; k++) {
    ck_assert(list[k].a < list[k].b && m.reading[list[k].a].measured && m.reading[list[k].b].measured);
    ck_assert(k == 0 || list[k - 1].a < list[k].a ||
              (list[k - 1].a == list[k].a && list[k - 1].b < list[k].b));
    bool neighbours = list[k].b - list[k].a == 25 || (list[k].b - list[k].a == 1 && list[k].b % 25 != 0);
    ck_assert_int_eq(list[k].touching, neighbours);
    touching += list[k].touching;
  }
  ck_assert_uint_eq(count, _i ? touching : 100 * 99 / 2);
  free(list);
  clear_many(&m, region);
}
END_TEST

START_TEST(nothing_to_compare)
{
  struct measurement m = {.readings = 0};
  struct comparison *list;
  size_t count;
  struct error error;

  ck_assert(compare_measurement(&m, &list, &count, &error));
  ck_assert_uint_eq(count, 0);
  free(list);
}
END_TEST

/* Half a second of processor time for a thousand readings; sanitizers are allowed ten times as much. */
START_TEST(a_thousand_readings)
{
  static struct region region[MANY];
  struct measurement m;
  struct comparison *list;
  size_t count;
  struct error error;

  make_many(&m, region, MANY, 0);
  clock_t start = clock();
  ck_assert(compare_measurement(&m, &list, &count, &error));
  double seconds = (double)(clock() - start) / CLOCKS_PER_SEC;
  ck_assert_uint_eq(count, 40 * 24 + 39 * 25);
  ck_assert_msg(seconds < 5, "%.2f s", seconds);
  free(list);
  clear_many(&m, region);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compare compare");
  TCase *tests = tcase_create("all");

  tcase_set_timeout(tests, 120);
  tcase_add_loop_test(tests, half_width_covers, 0, sizeof SITUATION / sizeof *SITUATION);
  tcase_add_loop_test(tests, apart_is_a_test_of_five_percent, 0, 3);
  tcase_add_test(tests, what_is_shared_cancels);
  tcase_add_test(tests, without_doubt);
  tcase_add_loop_test(tests, moisture_is_compared, 0, sizeof MOISTURES / sizeof *MOISTURES);
  tcase_add_loop_test(tests, which_pairs_are_listed, 0, 2);
  tcase_add_test(tests, nothing_to_compare);
  tcase_add_test(tests, a_thousand_readings);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
