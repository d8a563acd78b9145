/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "random.h"
#include "region/outline.h"
#include "region/region.h"
#include "suite.h"

enum { SEED = 1042, RUNS = 400, CORNERS = 24 };

/* Sums of some ten products in double arithmetic at a few hundred pixels. */
static const double ROUNDING = 1e-8;

static struct region polygon(const double *number, size_t count)
{
  struct region region = {.label = "a"};
  struct error error;

  ck_assert_msg(outline_polygon(&region, number, count, &error), "%s", error.text);
  return region;
}

/* Corners in the order of their angle round a middle: never crosses itself. */
static struct region star(struct random *random, size_t corners)
{
  double number[2 * CORNERS];

  for (size_t i = 0; i < corners; i++) {
    double angle = 2 * M_PI * ((double)i + random_between(random, 0, 0.9)) / (double)corners;
    double radius = random_between(random, 10, 90);
    number[2 * i] = 100 + radius * cos(angle);
    number[2 * i + 1] = 100 + radius * sin(angle);
  }
  return polygon(number, 2 * corners);
}

START_TEST(area_and_centroid_of_a_triangle)
{
  struct region region = polygon((const double[]){10, 10, 40, 10, 10, 50}, 6);

  ck_assert_double_eq_tol(region_area(&region), 600, ROUNDING);
  ck_assert_double_eq_tol(region_centroid(&region).x, 20, ROUNDING);
  ck_assert_double_eq_tol(region_centroid(&region).y, 70.0 / 3, ROUNDING);
  region_clear(&region);
}
END_TEST

/* An angle of two rectangles, 40 x 10 and 10 x 20: the centroid lies outside of it. */
START_TEST(area_and_centroid_of_an_angle)
{
  struct region region = polygon((const double[]){0, 0, 40, 0, 40, 10, 10, 10, 10, 30, 0, 30}, 12);

  ck_assert_double_eq_tol(region_area(&region), 600, ROUNDING);
  ck_assert_double_eq_tol(region_centroid(&region).x, (400 * 20 + 200 * 5) / 600.0, ROUNDING);
  ck_assert_double_eq_tol(region_centroid(&region).y, (400 * 5 + 200 * 20) / 600.0, ROUNDING);
  ck_assert(!region_contains(&region, region_centroid(&region)));
  ck_assert(region_contains(&region, (struct point){5, 25}));
  ck_assert(!region_contains(&region, (struct point){20, 20}));
  region_clear(&region);
}
END_TEST

/* Far from the origin nothing is lost. */
START_TEST(small_outline_far_away)
{
  struct region region = polygon((const double[]){60000, 60000, 60002, 60000, 60002, 60001, 60000, 60001}, 8);

  ck_assert_double_eq_tol(region_area(&region), 2, ROUNDING);
  ck_assert_double_eq_tol(region_centroid(&region).x, 60001, ROUNDING);
  region_clear(&region);
}
END_TEST

START_TEST(nothing_has_a_middle_too)
{
  struct region line = polygon((const double[]){10, 10, 30, 20}, 4), none = {.label = "a"};

  ck_assert_double_eq(region_area(&line), 0);
  ck_assert_double_eq_tol(region_centroid(&line).x, 20, ROUNDING);
  ck_assert_double_eq(region_area(&none), 0);
  ck_assert_double_eq(region_centroid(&none).x, 0);
  ck_assert(!region_contains(&none, (struct point){0, 0}));
  region_clear(&line);
}
END_TEST

/* Area and centroid against counting a fine grid of places inside: two codes that share nothing but the even-odd rule. */
START_TEST(area_agrees_with_counting)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct region region = star(&random, 3 + (size_t)random_below(&random, CORNERS - 3));
  double step = 0.5, count = 0, x_sum = 0, y_sum = 0;

  for (double y = step / 2; y < 200; y += step) {
    for (double x = step / 2; x < 200; x += step) {
      if (region_contains(&region, (struct point){x, y})) {
        count++;
        x_sum += x;
        y_sum += y;
      }
    }
  }
  /* the grid misses by about half a step along the rim, mostly cancelling: 1 % and half a pixel are wide */
  ck_assert_msg(fabs(count * step * step - region_area(&region)) < 0.01 * region_area(&region) + 10,
                "seed %d", SEED + _i);
  ck_assert_double_eq_tol(region_centroid(&region).x, x_sum / count, 0.5);
  ck_assert_double_eq_tol(region_centroid(&region).y, y_sum / count, 0.5);
  region_clear(&region);
}
END_TEST

static double turn(struct point o, struct point a, struct point b)
{
  return (a.x - o.x) * (b.y - o.y) - (a.y - o.y) * (b.x - o.x);
}

/* All pairs of edges, without sweeping. */
static bool crosses_by_trying(const struct region *region)
{
  size_t n = region->vertices;
  const struct point *v = region->vertex;

  for (size_t i = 0; i < n; i++) {
    for (size_t j = i + 1; j < n; j++) {
      struct point a = v[i], b = v[(i + 1) % n], c = v[j], d = v[(j + 1) % n];
      if (turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0) {
        return true;
      }
    }
  }
  return false;
}

START_TEST(crossing_agrees_with_trying_all_pairs)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct region region = star(&random, 4 + (size_t)random_below(&random, CORNERS - 4));
  struct error error = {0};

  ck_assert_msg(region_check(&region, 200, 200, &error), "seed %d: %s", SEED + _i, error.text);
  size_t i = (size_t)random_below(&random, (int)region.vertices),
         j = (size_t)random_below(&random, (int)region.vertices);
  struct point kept = region.vertex[i];
  region.vertex[i] = region.vertex[j];
  region.vertex[j] = kept;
  bool simple = region_check(&region, 200, 200, &error);
  ck_assert_msg(simple == !crosses_by_trying(&region), "seed %d", SEED + _i);
  ck_assert(simple || strcmp(error.code, "self-crossing") == 0);
  region_clear(&region);
}
END_TEST

/* Outlines as a hand draws them: what only touches itself is no crossing, what goes through itself is one. */
static const struct {
  const char *name, *code; /* NULL: passes */
  double number[24];
  size_t count;
} OUTLINES[] = {
    {"square", NULL, {10, 10, 50, 10, 50, 50, 10, 50}, 8},
    {"counter-clockwise", NULL, {10, 10, 10, 50, 50, 50, 50, 10}, 8},
    {"whole photo", NULL, {0, 0, 200, 0, 200, 100, 0, 100}, 8},
    {"half a pixel over", NULL, {-0.5, -0.5, 200.5, -0.5, 200.5, 100.5, -0.5, 100.5}, 8},
    {"more than half a pixel over, left", "outside", {-0.6, 10, 50, 10, 50, 50}, 6},
    {"more than half a pixel over, right", "outside", {10, 10, 200.6, 10, 50, 50}, 6},
    {"above", "outside", {10, -5, 50, 10, 50, 50}, 6},
    {"below", "outside", {10, 10, 50, 10, 50, 101}, 6},
    {"wholly outside", "outside", {300, 300, 350, 300, 350, 350}, 6},
    {"bow tie", "self-crossing", {10, 10, 50, 50, 50, 10, 10, 50}, 8},
    {"five-pointed star in one stroke", "self-crossing", {50, 10, 75, 85, 10, 40, 90, 40, 25, 85}, 10},
    {"two triangles through one corner",
     "self-crossing",
     {10, 10, 30, 30, 50, 50, 50, 10, 30, 30, 10, 50},
     12},
    {"through its own edge at a corner",
     "self-crossing",
     {10, 10, 50, 10, 50, 50, 30, 10, 20, 5, 10, 50},
     12},
    {"touches its own edge at a corner", NULL, {10, 10, 50, 10, 50, 50, 30, 10, 10, 50}, 10},
    {"spike there and back", NULL, {10, 10, 50, 10, 50, 50, 70, 70, 50, 50, 10, 50}, 12},
    {"ring with a bridge",
     NULL,
     {10, 10, 90, 10, 90, 90, 10, 90, 10, 10, 30, 30, 30, 70, 70, 70, 70, 30, 30, 30},
     20},
    {"two triangles that touch at a corner", NULL, {10, 10, 30, 30, 50, 10, 50, 50, 30, 30, 10, 50}, 12},
    {"line", "no-area", {10, 10, 50, 50, 90, 90}, 6},
    {"two corners", "no-area", {10, 10, 50, 50}, 4},
    {"one corner", "no-area", {10, 10}, 2},
    {"under a pixel", "no-area", {10, 10, 10.9, 10, 10.9, 10.9, 10, 10.9}, 8},
    {"a pixel", NULL, {10, 10, 11, 10, 11, 11, 10, 11}, 8},
};

START_TEST(outline_is_checked)
{
  struct region region = polygon(OUTLINES[_i].number, OUTLINES[_i].count);
  struct error error = {0};
  bool done = region_check(&region, 200, 100, &error);

  ck_assert_msg(done == !OUTLINES[_i].code, "%s: %s", OUTLINES[_i].name, error.text);
  if (!done) {
    ck_assert_msg(strcmp(error.code, OUTLINES[_i].code) == 0, "%s: %s", OUTLINES[_i].name, error.code);
    ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
    ck_assert_msg(strchr(error.text, ';'), "%s says what to do: %s", OUTLINES[_i].name, error.text);
  }
  region_clear(&region);
}
END_TEST

/* The largest outline that is read, all edges long and side by side: the slowest case of the sweep. */
START_TEST(many_corners_take_no_time)
{
  double *number = malloc(2 * OUTLINE_CORNERS_MAX * sizeof *number);
  struct error error = {0};

  for (int i = 0; i < OUTLINE_CORNERS_MAX; i++) {
    number[2 * i] = i % 2 == 0 ? 0 : 1000;
    number[2 * i + 1] = 100.0 * i / OUTLINE_CORNERS_MAX;
  }
  number[2 * OUTLINE_CORNERS_MAX - 2] = -0.4; /* the last goes back to the first on the left */
  struct region region = polygon(number, 2 * OUTLINE_CORNERS_MAX);
  ck_assert_msg(region_check(&region, 1000, 100, &error), "%s", error.text);
  region_clear(&region);
  free(number);
}
END_TEST

static const struct {
  const char *a, *b;
  bool in;
} ROLES[] = {
    {"fill", "surrounding deposit", true},
    {"Surrounding", "fill", true},
    {"fill", "SURROUNDING SUBSOIL", true},
    {"fill", "lining", false},
    {"surrounding", "surrounding deposit", false},
    {"", "surrounding deposit", false},
    {"fill", "not surrounding", false},
};

START_TEST(a_fill_is_in_what_surrounds_it)
{
  struct region a = {0}, b = {0};

  snprintf(a.role, sizeof a.role, "%s", ROLES[_i].a);
  snprintf(b.role, sizeof b.role, "%s", ROLES[_i].b);
  ck_assert_msg(region_is_in(&a, &b) == ROLES[_i].in && region_is_in(&b, &a) == ROLES[_i].in, "%s, %s",
                ROLES[_i].a, ROLES[_i].b);
}
END_TEST

START_TEST(moisture_words)
{
  enum region_moisture moisture = MOISTURE_WET;

  ck_assert(region_moisture_parse("", &moisture) && moisture == MOISTURE_UNSTATED);
  ck_assert(region_moisture_parse("dry", &moisture) && moisture == MOISTURE_DRY);
  ck_assert(region_moisture_parse("Moist", &moisture) && moisture == MOISTURE_MOIST);
  ck_assert(region_moisture_parse("WET", &moisture) && moisture == MOISTURE_WET);
  ck_assert(!region_moisture_parse("damp", &moisture) && moisture == MOISTURE_WET);
  ck_assert_str_eq(region_moisture_word(MOISTURE_MOIST), "moist");
  ck_assert_ptr_null(region_moisture_word(MOISTURE_UNSTATED));
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("region region");
  TCase *tests = tcase_create("all");

  tcase_add_test(tests, area_and_centroid_of_a_triangle);
  tcase_add_test(tests, area_and_centroid_of_an_angle);
  tcase_add_test(tests, small_outline_far_away);
  tcase_add_test(tests, nothing_has_a_middle_too);
  tcase_add_loop_test(tests, area_agrees_with_counting, 0, 20);
  tcase_add_loop_test(tests, crossing_agrees_with_trying_all_pairs, 0, RUNS);
  tcase_add_loop_test(tests, outline_is_checked, 0, sizeof OUTLINES / sizeof *OUTLINES);
  tcase_add_test(tests, many_corners_take_no_time);
  tcase_add_test(tests, moisture_words);
  tcase_add_loop_test(tests, a_fill_is_in_what_surrounds_it, 0, sizeof ROLES / sizeof *ROLES);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
