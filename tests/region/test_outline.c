/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "random.h"
#include "region/outline.h"
#include "suite.h"

enum { SEED = 7, RUNS = 60, SIDE = 50 };

/* Sums over 128 corners. */
static const double ROUNDING = 1e-6;

START_TEST(ellipse_has_the_area_of_an_ellipse)
{
  struct region circle = {.label = "a"}, ellipse = {.label = "b"};
  struct error error;

  ck_assert(outline_ellipse(&circle, REGION_CIRCLE, (struct point){50, 60}, 20, 20, &error));
  ck_assert(outline_ellipse(&ellipse, REGION_ELLIPSE, (struct point){50, 60}, 30, 10, &error));
  ck_assert_double_eq_tol(region_area(&circle), M_PI * 400, ROUNDING);
  ck_assert_double_eq_tol(region_area(&ellipse), M_PI * 300, ROUNDING);
  ck_assert_double_eq_tol(region_centroid(&ellipse).x, 50, ROUNDING);
  ck_assert_double_eq_tol(region_centroid(&ellipse).y, 60, ROUNDING);
  ck_assert_uint_eq(circle.vertices, OUTLINE_ROUND);
  ck_assert_int_eq(ellipse.shape, REGION_ELLIPSE);
  region_clear(&circle);
  region_clear(&ellipse);
}
END_TEST

START_TEST(repeated_corners_are_dropped)
{
  static const double number[] = {1, 1, 1, 1, 9, 1, 9, 9, 9, 9, 1, 9, 1, 1};
  struct region region = {.label = "a"};
  struct error error;

  ck_assert(outline_polygon(&region, number, sizeof number / sizeof *number, &error));
  ck_assert_uint_eq(region.vertices, 4);
  region_clear(&region);
}
END_TEST

/* A rectangle of whole pixels holds just these. */
START_TEST(whole_pixels)
{
  struct region region = {.label = "a"};
  struct error error;
  double crossing[4];
  struct outline_span span[4];

  ck_assert(outline_rectangle(&region, 3, 2, 5, 4, &error));
  ck_assert_uint_eq(outline_row(&region, 1, SIDE, crossing, span), 0);
  for (int y = 2; y < 6; y++) {
    ck_assert_uint_eq(outline_row(&region, y, SIDE, crossing, span), 1);
    ck_assert_int_eq(span[0].begin, 3);
    ck_assert_int_eq(span[0].end, 8);
  }
  ck_assert_uint_eq(outline_row(&region, 6, SIDE, crossing, span), 0);
  region_clear(&region);
}
END_TEST

/* Any polygon, also self-crossing and partly beyond the photo, against asking pixel by pixel. */
START_TEST(rows_agree_with_contains)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  size_t corners = 3 + (size_t)random_below(&random, 12);
  double number[30], crossing[15];
  struct outline_span span[15];
  struct region region = {.label = "a"};
  struct error error;

  for (size_t i = 0; i < 2 * corners; i++) {
    number[i] = random_between(&random, -10, SIDE + 10);
  }
  ck_assert(outline_polygon(&region, number, 2 * corners, &error));
  for (int y = 0; y < SIDE; y++) {
    char inside[SIDE] = {0};
    size_t spans = outline_row(&region, y, SIDE, crossing, span);
    for (size_t i = 0; i < spans; i++) {
      ck_assert_int_lt(span[i].begin, span[i].end);
      memset(inside + span[i].begin, 1, (size_t)(span[i].end - span[i].begin));
    }
    for (int x = 0; x < SIDE; x++) {
      ck_assert_msg(inside[x] == region_contains(&region, (struct point){x + 0.5, y + 0.5}),
                    "seed %d, pixel %d,%d", SEED + _i, x, y);
    }
  }
  region_clear(&region);
}
END_TEST

enum maker { RECTANGLE, CIRCLE, POLYGON };

static const struct {
  enum maker maker;
  double number[4];
  const char *says;
} FAULTS[] = {
    {RECTANGLE, {NAN, 0, 1, 1}, "no place"},   {RECTANGLE, {0, INFINITY, 1, 1}, "no place"},
    {RECTANGLE, {0, 0, 1e308, 1}, "no place"}, {RECTANGLE, {0, 0, -1, 1}, "width -1 is negative"},
    {RECTANGLE, {0, 0, 1, -2}, "height -2"},   {RECTANGLE, {0, 0, 1, 2e6}, "2e+06 is no place"},
    {CIRCLE, {0, 0, -3, 0}, "radius -3"},      {CIRCLE, {0, NAN, 3, 0}, "no place"},
    {CIRCLE, {0, 0, NAN, 0}, "no place"},      {CIRCLE, {-2e6, 0, 3, 0}, "no place"},
    {POLYGON, {0, 0, 1, -1e7}, "no place"},    {POLYGON, {NAN, 0, 1, 0}, "no place"},
};

START_TEST(numbers_that_are_no_place)
{
  struct region region = {.label = "a"};
  struct error error = {0};
  const double *v = FAULTS[_i].number;
  bool done = FAULTS[_i].maker == RECTANGLE ? outline_rectangle(&region, v[0], v[1], v[2], v[3], &error)
              : FAULTS[_i].maker == CIRCLE
                  ? outline_ellipse(&region, REGION_CIRCLE, (struct point){v[0], v[1]}, v[2], v[2], &error)
                  : outline_polygon(&region, v, 4, &error);

  ck_assert(!done);
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert_str_eq(error.code, "bad-regions");
  ck_assert_msg(strstr(error.text, FAULTS[_i].says), "%s", error.text);
  ck_assert_ptr_null(region.vertex);
}
END_TEST

START_TEST(wrong_counts_of_corners)
{
  static double many[2 * OUTLINE_CORNERS_MAX + 2];
  struct region region = {.label = "a"};
  struct error error = {0};

  ck_assert(!outline_polygon(&region, many, 0, &error) && strstr(error.text, "pairs"));
  ck_assert(!outline_polygon(&region, many, 7, &error) && strstr(error.text, "7 numbers"));
  ck_assert(!outline_polygon(&region, many, 2 * OUTLINE_CORNERS_MAX + 2, &error) &&
            strstr(error.text, "at most"));
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("region outline");
  TCase *tests = tcase_create("all");

  tcase_add_test(tests, ellipse_has_the_area_of_an_ellipse);
  tcase_add_test(tests, repeated_corners_are_dropped);
  tcase_add_test(tests, whole_pixels);
  tcase_add_loop_test(tests, rows_agree_with_contains, 0, RUNS);
  tcase_add_loop_test(tests, numbers_that_are_no_place, 0, sizeof FAULTS / sizeof *FAULTS);
  tcase_add_test(tests, wrong_counts_of_corners);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
