/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "compare/touching.h"
#include "random.h"
#include "region/outline.h"
#include "suite.h"

enum { SEED = 5, RUNS = 40 };

static struct region square(double x, double y, double side)
{
  struct region region = {.label = "a"};
  struct error error;

  ck_assert(outline_rectangle(&region, x, y, side, side, &error));
  return region;
}

static bool touching(const struct region *a, const struct region *b)
{
  struct outline_extent ea = outline_extent_of(a), eb = outline_extent_of(b);
  bool both = outline_touching(&ea, &eb);

  ck_assert_int_eq(both, outline_touching(&eb, &ea));
  return both;
}

/* A square of 200 pixels at 0,0 and another; 3 % of a side is what counts as touching, at least 2 pixels. */
static const struct {
  const char *name;
  double x, y, side;
  bool touching;
} SQUARES[] = {
    {"common edge", 200, 0, 200, true},
    {"apart by less than 3 %", 205.9, 0, 200, true},
    {"apart by more than 3 %", 206.1, 0, 200, false},
    {"corner to corner", 204, 204, 200, true},
    {"corner to corner, too far", 204.5, 204.5, 200, false},
    {"overlapping", 150, 150, 200, true},
    {"one in the other", 50, 50, 20, true},
    {"small one beside, 2 pixels", 201.9, 50, 20, true},
    {"small one beside, more", 202.1, 50, 20, false},
    {"the same", 0, 0, 200, true},
    {"across, no corner inside", 50, -50, 300, true},
    {"far away", 1000, 1000, 200, false},
};

START_TEST(squares)
{
  struct region a = square(0, 0, 200), b = square(SQUARES[_i].x, SQUARES[_i].y, SQUARES[_i].side);

  ck_assert_msg(touching(&a, &b) == SQUARES[_i].touching, "%s", SQUARES[_i].name);
  region_clear(&a);
  region_clear(&b);
}
END_TEST

/* A cross of two bars, neither of which has a corner inside the other. */
START_TEST(crossing_bars)
{
  struct region a = {.label = "a"}, b = {.label = "b"};
  struct error error;

  ck_assert(outline_rectangle(&a, 0, 100, 300, 20, &error) && outline_rectangle(&b, 140, 0, 20, 300, &error));
  ck_assert(touching(&a, &b));
  region_clear(&a);
  region_clear(&b);
}
END_TEST

static struct region star(struct random *random, double x, double y)
{
  double number[2 * 15];
  size_t corners = 3 + (size_t)random_below(random, 12);
  struct region region = {.label = "a"};
  struct error error;

  for (size_t i = 0; i < corners; i++) {
    double angle = 2 * M_PI * ((double)i + random_between(random, 0, 0.9)) / (double)corners;
    double radius = random_between(random, 20, 60);
    number[2 * i] = x + radius * cos(angle);
    number[2 * i + 1] = y + radius * sin(angle);
  }
  ck_assert(outline_polygon(&region, number, 2 * corners, &error));
  return region;
}

/* Smallest distance of places along the two outlines, every tenth of a pixel or so; 0 where one holds a corner of the other. */
static double distance_by_stepping(const struct region *a, const struct region *b)
{
  double nearest = INFINITY;

  for (size_t i = 0; i < a->vertices; i++) {
    struct point p = a->vertex[i], q = a->vertex[(i + 1) % a->vertices];
    for (int s = 0; s < 400; s++) {
      struct point at = {p.x + (q.x - p.x) * s / 400, p.y + (q.y - p.y) * s / 400};
      if (region_contains(b, at)) {
        return 0;
      }
      for (size_t j = 0; j < b->vertices; j++) {
        struct point c = b->vertex[j], d = b->vertex[(j + 1) % b->vertices];
        for (int t = 0; t < 100; t++) {
          nearest =
              fmin(nearest, hypot(c.x + (d.x - c.x) * t / 100 - at.x, c.y + (d.y - c.y) * t / 100 - at.y));
        }
      }
    }
  }
  return region_contains(a, b->vertex[0]) ? 0 : nearest;
}

START_TEST(stars_agree_with_stepping)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct region a = star(&random, 100, 100), b = star(&random, 100 + random_between(&random, 0, 120), 120);
  struct outline_extent ea = outline_extent_of(&a), eb = outline_extent_of(&b);
  double distance = distance_by_stepping(&a, &b), near = fmin(ea.near, eb.near);

  if (fabs(distance - near) > 0.6) { /* half of the steps on both outlines */
    ck_assert_msg(touching(&a, &b) == (distance < near), "seed %d: %g, near is %g", SEED + _i, distance,
                  near);
  }
  region_clear(&a);
  region_clear(&b);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compare touching");
  TCase *tests = tcase_create("all");

  tcase_set_timeout(tests, 60);
  tcase_add_loop_test(tests, squares, 0, sizeof SQUARES / sizeof *SQUARES);
  tcase_add_test(tests, crossing_bars);
  tcase_add_loop_test(tests, stars_agree_with_stepping, 0, RUNS);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
