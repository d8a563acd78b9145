/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>

#include "csv.h"
#include "munsell/notation.h"
#include "munsell/tables.h"
#include "random.h"
#include "suite.h"

enum { RUNS = 20000, SEED = 1943 };

/* What a colour may lose on the way there and back. */
static const double ROUND_TRIP = 1e-7;
/* Arithmetic in double, in xy. */
static const double ROUNDING = 1e-9;
/* No step of the forward map over a border of cells may be larger, in xy, for a step of 2e-7 in hue, value or chroma. */
static const double CONTINUITY = 1e-5;

static double hue_between(double a, double b)
{
  return fabs(remainder(a - b, 100));
}

static struct munsell some_notation(struct random *random, double low_value, double high_value,
                                    double most_chroma)
{
  double hue = random_between(random, 0, 100), value = random_between(random, low_value, high_value);

  return (struct munsell){hue, value, random_between(random, 0, most_chroma)};
}

/* A notation at a place in the rows that is not beyond `worst`. */
static struct munsell notation_in_rows(struct random *random, enum munsell_place worst)
{
  struct munsell m;

  do {
    m = some_notation(random, 0, 10, 50);
  } while (munsell_place_in_rows(m) > worst);
  return m;
}

/* Every row of the table but those that are no colours (y <= 0), which stand behind no other row. */
START_TEST(rows_come_back)
{
  struct csv rows;
  struct error error;
  size_t left_out = 0;

  ck_assert_msg(csv_read(TAWNY_SOURCE_ROOT "/calibration/munsell/renotation.csv", &rows, &error), "%s",
                error.text);
  ck_assert_uint_eq(rows.rows, 4995);
  for (size_t i = 0; i < rows.rows; i++) {
    char text[80];
    struct munsell m;
    snprintf(text, sizeof text, "%s %s/%s", rows.cells[i][0], rows.cells[i][1], rows.cells[i][2]);
    ck_assert_msg(munsell_parse(text, &m, &error), "%s", error.text);
    struct xyY c = munsell_to_xyY(m);
    double x = csv_number(&rows, i, 3), y = csv_number(&rows, i, 4);
    left_out += y <= 0;
    ck_assert_msg(y <= 0 || hypot(c.x - x, c.y - y) <= ROUNDING, "%s: %.9f %.9f, not %g %g", text, c.x, c.y,
                  x, y);
    bool published = rows.cells[i][5][0] == '1';
    ck_assert_msg(y <= 0 ||
                      munsell_place_in_rows(m) == (published ? MUNSELL_PUBLISHED : MUNSELL_EXTRAPOLATED),
                  "%s: place %d", text, munsell_place_in_rows(m));
  }
  ck_assert_uint_eq(left_out, 3);
  csv_clear(&rows);
}
END_TEST

static void check_round_trip(struct munsell m)
{
  struct xyY c = munsell_to_xyY(m);
  struct munsell back;
  enum munsell_place place;

  ck_assert_msg(munsell_from_xyY(c, &back, &place), "%.9f %.9f %.9f: no solution", m.hue, m.value, m.chroma);
  /* the angle of a colour is lost as its distance from grey is */
  double hue = ROUND_TRIP / fmax(fmin(m.chroma * m.value, 1), 1e-6);
  ck_assert_msg(fabs(back.value - m.value) <= ROUND_TRIP && fabs(back.chroma - m.chroma) <= ROUND_TRIP &&
                    hue_between(back.hue, m.hue) <= hue,
                "%.9f %.9f %.9f comes back as %.9f %.9f %.9f", m.hue, m.value, m.chroma, back.hue, back.value,
                back.chroma);
  ck_assert_int_ge(place, munsell_place_in_rows(m));
}

START_TEST(round_trip)
{
  struct random random = random_start(SEED + (uint64_t)_i);

  for (int i = 0; i < RUNS; i++) {
    check_round_trip(notation_in_rows(&random, (enum munsell_place)_i));
  }
}
END_TEST

/* xyY to notation to xyY, all over the chromaticity diagram: every colour has a notation. */
START_TEST(every_colour_has_a_notation)
{
  struct random random = random_start(SEED);

  for (int i = 0; i < RUNS; i++) {
    struct xyY c = {random_between(&random, 0, 0.8), random_between(&random, 0.001, 0.9),
                    random_between(&random, 0, 100)};
    struct munsell m;
    ck_assert_msg(munsell_from_xyY(c, &m, NULL), "%.9f %.9f %.9f: no notation", c.x, c.y, c.Y);
    struct xyY back = munsell_to_xyY(m);
    ck_assert_msg(hypot(back.x - c.x, back.y - c.y) <= 1e-6, "%.9f %.9f %.9f comes back as %.9f %.9f %.9f",
                  c.x, c.y, c.Y, back.x, back.y, back.Y);
  }
}
END_TEST

/* Twice the signed area of a cell's corner, in the plane of angle and radius, at a part of the way between two planes. */
static double corner_area(int plane, int hue, int chroma, int side, int ring, double part)
{
  struct munsell_node n[2][2];

  for (int i = 0; i < 4; i++) {
    struct munsell_node low = MUNSELL_NODES[plane][hue + i / 2][chroma + i % 2];
    struct munsell_node high = MUNSELL_NODES[plane + 1][hue + i / 2][chroma + i % 2];
    n[i / 2][i % 2] = (struct munsell_node){low.angle + part * (high.angle - low.angle),
                                            low.radius + part * (high.radius - low.radius)};
  }
  return (n[1][ring].angle - n[0][ring].angle) * (n[side][1].radius - n[side][0].radius) -
         (n[1][ring].radius - n[0][ring].radius) * (n[side][1].angle - n[side][0].angle);
}

/* Least value over 0..1 of the quadratic that has these values at 0, 1/2 and 1. */
static double least_of_quadratic(double start, double middle, double end)
{
  double square = 2 * (start - 2 * middle + end), linear = end - start - square, top = -linear / (2 * square);
  double least = fmin(start, end);

  return square > 0 && top > 0 && top < 1 ? fmin(least, start + top * (linear + top * square)) : least;
}

/* The map of a cell at one value is bilinear, so its Jacobian is least at a corner; there it is a quadratic in the part of the
 * way between the planes. If that is never 0 no cell is folded, and since each ring of constant chroma turns once round grey
 * the map is one to one. Below value 0.2 the map is that of 0.2 drawn together. */
START_TEST(no_cell_is_folded)
{
  for (int plane = 1; plane < MUNSELL_PLANE_COUNT - 1; plane++) {
    for (int i = 0; i < MUNSELL_HUE_STEPS * (MUNSELL_CHROMA_STEPS - 1) * 4; i++) {
      int hue = i / 4 % MUNSELL_HUE_STEPS, chroma = i / 4 / MUNSELL_HUE_STEPS, side = i % 2, ring = i / 2 % 2;
      double start = corner_area(plane, hue, chroma, side, ring, 0);
      double middle = corner_area(plane, hue, chroma, side, ring, 0.5);
      double end = corner_area(plane, hue, chroma, side, ring, 1);
      ck_assert_msg(least_of_quadratic(start, middle, end) > 0,
                    "value %g on, hue step %d, chroma %d is folded", MUNSELL_PLANES[plane], hue, 2 * chroma);
    }
  }
}
END_TEST

START_TEST(value_0_is_black)
{
  for (int hue = 0; hue <= MUNSELL_HUE_STEPS; hue++) {
    for (int chroma = 0; chroma < MUNSELL_CHROMA_STEPS; chroma++) {
      ck_assert_double_eq(MUNSELL_NODES[0][hue][chroma].radius, 0);
      ck_assert_double_eq(MUNSELL_NODES[0][hue][chroma].angle, MUNSELL_NODES[1][hue][chroma].angle);
    }
  }
}
END_TEST

START_TEST(rings_close_after_one_turn)
{
  for (int plane = 0; plane < MUNSELL_PLANE_COUNT; plane++) {
    for (int chroma = 0; chroma < MUNSELL_CHROMA_STEPS; chroma++) {
      const struct munsell_node *first = &MUNSELL_NODES[plane][0][chroma];
      const struct munsell_node *last = &MUNSELL_NODES[plane][MUNSELL_HUE_STEPS][chroma];
      ck_assert_double_eq_tol(last->angle - first->angle, 2 * acos(-1), 1e-12);
      ck_assert_double_eq_tol(last->radius, first->radius, 1e-12);
    }
  }
}
END_TEST

/* A notation on a border between cells: of hue, value or chroma. */
static struct munsell notation_on_border(struct random *random, int axis)
{
  struct munsell m;

  do {
    m = notation_in_rows(random, MUNSELL_EXTRAPOLATED);
    if (axis == 0) {
      m.hue = 2.5 * random_below(random, 40);
    } else if (axis == 1) {
      m.value = MUNSELL_PLANES[1 + random_below(random, MUNSELL_PLANE_COUNT - 2)];
    } else {
      m.chroma = 2 * floor(m.chroma / 2 + 1);
    }
  } while (m.value < 0.1 || munsell_place_in_rows(m) == MUNSELL_OUTSIDE);
  return m;
}

START_TEST(forward_is_continuous)
{
  struct random random = random_start(SEED);

  for (int i = 0; i < RUNS; i++) {
    struct munsell m = notation_on_border(&random, _i), below, above;
    double step[3] = {0, 0, 0};
    step[_i] = 1e-7;
    below = (struct munsell){m.hue - step[0], m.value - step[1], m.chroma - step[2]};
    above = (struct munsell){m.hue + step[0], m.value + step[1], m.chroma + step[2]};
    struct xyY a = munsell_to_xyY(below), b = munsell_to_xyY(above);
    ck_assert_msg(hypot(a.x - b.x, a.y - b.y) <= CONTINUITY && fabs(a.Y - b.Y) <= CONTINUITY,
                  "a step at %.9f %.9f %.9f: from %.9f %.9f to %.9f %.9f", m.hue, m.value, m.chroma, a.x, a.y,
                  b.x, b.y);
  }
}
END_TEST

/* Grey has the chromaticity of C and no hue, at every value. */
START_TEST(neutrals)
{
  for (int i = 0; i <= 80; i++) {
    double value = i / 8.0;
    struct xyY c = munsell_to_xyY((struct munsell){0, value, 0});
    struct munsell m;
    enum munsell_place place;
    ck_assert_double_eq_tol(c.x, 0.31006, ROUNDING);
    ck_assert_double_eq_tol(c.y, 0.31616, ROUNDING);
    ck_assert_double_eq(c.Y, munsell_luminance(value));
    ck_assert(munsell_from_xyY(c, &m, &place) && munsell_is_neutral(m));
    ck_assert_double_eq_tol(m.value, value, ROUNDING);
    ck_assert_double_le(m.chroma, ROUNDING);
    ck_assert_int_eq(place, MUNSELL_PUBLISHED);
  }
  ck_assert(munsell_is_neutral((struct munsell){20, 5, 0.0499}));
  ck_assert(!munsell_is_neutral((struct munsell){20, 5, 0.05}));
}
END_TEST

/* What is no colour, and what comes of it. */
static const struct {
  struct xyY colour;
  double value, chroma;
} REFUSED[] = {
    {{NAN, 0.3, 20}, 0, 0},           {{0.3, NAN, 20}, 0, 0},         {{0.3, 0.3, NAN}, 0, 0},
    {{INFINITY, 0.3, 20}, 0, 0},      {{0.3, 0, 20}, 0, 0},           {{0.3, -0.1, 20}, 0, 0},
    {{0.31006, 0.31616, 101}, 10, 0}, {{0.31006, 0.31616, -1}, 0, 0}, {{0.3, 1e-320, 20}, 5.09, 0},
    {{1e308, 1e-10, 20}, 5.09, 0},
};

START_TEST(refused)
{
  struct munsell m = {1, 1, 1};
  enum munsell_place place = MUNSELL_PUBLISHED;

  ck_assert_msg(!munsell_from_xyY(REFUSED[_i].colour, &m, &place), "case %d is taken", _i);
  ck_assert_int_eq(place, MUNSELL_OUTSIDE);
  ck_assert_double_eq_tol(m.value, REFUSED[_i].value, 0.01);
  ck_assert_double_eq_tol(m.chroma, REFUSED[_i].chroma, 0.01);
}
END_TEST

START_TEST(odd_notations)
{
  struct xyY none = munsell_to_xyY((struct munsell){NAN, 5, 4});

  ck_assert(none.x == 0 && none.y == 0 && none.Y == 0);
  none = munsell_to_xyY((struct munsell){5, NAN, 4});
  ck_assert(none.x == 0 && none.y == 0 && none.Y == 0);
  struct xyY turned = munsell_to_xyY((struct munsell){-80, 5, 4}),
             plain = munsell_to_xyY((struct munsell){20, 5, 4});
  ck_assert(turned.x == plain.x && turned.y == plain.y);
  ck_assert_double_eq_tol(munsell_to_xyY((struct munsell){20, 11, 4}).Y, 100, ROUNDING);
  ck_assert_double_eq(munsell_to_xyY((struct munsell){20, -1, 4}).Y, 0);
  ck_assert_int_eq(munsell_place_in_rows((struct munsell){NAN, 5, 4}), MUNSELL_OUTSIDE);
  ck_assert_int_eq(munsell_place_in_rows((struct munsell){20, NAN, 4}), MUNSELL_OUTSIDE);
  ck_assert_int_eq(munsell_place_in_rows((struct munsell){20, 5, NAN}), MUNSELL_OUTSIDE);
  ck_assert_int_eq(munsell_place_in_rows((struct munsell){20, 10.1, 4}), MUNSELL_OUTSIDE);
}
END_TEST

/* Published at both corners only, extrapolated where one is, outside past the last row. */
START_TEST(places)
{
  static const struct {
    const char *text;
    enum munsell_place place;
  } CASES[] = {
      {"10YR 4/3", MUNSELL_PUBLISHED},       {"10YR 4/10", MUNSELL_PUBLISHED},
      {"10YR 4/10.1", MUNSELL_EXTRAPOLATED}, {"10YR 4/12", MUNSELL_EXTRAPOLATED},
      {"10YR 4/12.1", MUNSELL_OUTSIDE},      {"10YR 3.99/9", MUNSELL_EXTRAPOLATED},
      {"10YR 9/6", MUNSELL_PUBLISHED},       {"10YR 9.1/2", MUNSELL_EXTRAPOLATED},
      {"5R 0.1/1", MUNSELL_EXTRAPOLATED},    {"N 9.8/", MUNSELL_PUBLISHED},
  };

  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    struct munsell m;
    struct error error;
    ck_assert_msg(munsell_parse(CASES[i].text, &m, &error), "%s", error.text);
    ck_assert_msg(munsell_place_in_rows(m) == CASES[i].place, "%s: place %d", CASES[i].text,
                  munsell_place_in_rows(m));
  }
}
END_TEST

/* The Jacobian against differences of the inverse, away from the borders of cells. */
START_TEST(jacobian_of_inverse)
{
  struct random random = random_start(SEED);
  const double step = 1e-4;

  for (int i = 0; i < 2000; i++) {
    double hue = 2.5 * random_below(&random, 40) + random_between(&random, 0.3, 2.2);
    struct munsell m = {hue, random_below(&random, 7) + random_between(&random, 2.1, 2.9),
                        2 * random_below(&random, 3) + 1};
    struct mat3 jacobian;
    struct xyz c = colour_xyz_from_xyY(munsell_to_xyY(m));
    ck_assert(munsell_jacobian(m, &jacobian));
    for (int axis = 0; axis < 3; axis++) {
      struct vec3 low = colour_vec_from_xyz(c), high = low;
      struct munsell a, b;
      low.v[axis] -= step, high.v[axis] += step;
      munsell_from_xyY(colour_xyY_from_xyz(colour_xyz_from_vec(low), COLOUR_WHITE_C), &a, NULL);
      munsell_from_xyY(colour_xyY_from_xyz(colour_xyz_from_vec(high), COLOUR_WHITE_C), &b, NULL);
      double expected[3] = {remainder(b.hue - a.hue, 100), b.value - a.value, b.chroma - a.chroma};
      for (int row = 0; row < 3; row++) {
        double slope = expected[row] / (2 * step), tolerance = 1e-4 * (1 + fabs(slope));
        ck_assert_msg(fabs(jacobian.m[row][axis] - slope) <= tolerance, "at %g %g %g: %d %d is %g, not %g",
                      m.hue, m.value, m.chroma, row, axis, jacobian.m[row][axis], slope);
      }
    }
  }
}
END_TEST

START_TEST(jacobian_near_grey)
{
  struct mat3 jacobian;

  ck_assert(!munsell_jacobian((struct munsell){20, 5, 0.2}, &jacobian));
  ck_assert(jacobian.m[0][0] == 0 && jacobian.m[0][1] == 0 && jacobian.m[0][2] == 0);
  ck_assert_double_gt(jacobian.m[1][1], 0);
  ck_assert(!munsell_jacobian((struct munsell){0, 5, 0}, &jacobian));
  ck_assert_double_gt(jacobian.m[1][1], 0);
}
END_TEST

START_TEST(jacobian_where_not_finite)
{
  static const struct munsell NOT_FINITE[] = {{NAN, 5, 4},      {20, NAN, 4},      {20, 5, NAN},
                                              {INFINITY, 5, 4}, {20, INFINITY, 4}, {20, 5, INFINITY}};
  static const struct mat3 ZERO = {{{0}}};

  for (size_t i = 0; i < sizeof NOT_FINITE / sizeof *NOT_FINITE; i++) {
    struct mat3 jacobian = mat3_identity();
    ck_assert_msg(!munsell_jacobian(NOT_FINITE[i], &jacobian), "%zu is said to have a derivative", i);
    ck_assert_mem_eq(&jacobian, &ZERO, sizeof ZERO);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("munsell renotation");
  TCase *tcase = tcase_create("renotation");

  tcase_set_timeout(tcase, 60);
  tcase_add_test(tcase, rows_come_back);
  tcase_add_loop_test(tcase, round_trip, MUNSELL_PUBLISHED, MUNSELL_OUTSIDE);
  tcase_add_test(tcase, every_colour_has_a_notation);
  tcase_add_test(tcase, no_cell_is_folded);
  tcase_add_test(tcase, value_0_is_black);
  tcase_add_test(tcase, rings_close_after_one_turn);
  tcase_add_loop_test(tcase, forward_is_continuous, 0, 3);
  tcase_add_test(tcase, neutrals);
  tcase_add_loop_test(tcase, refused, 0, sizeof REFUSED / sizeof *REFUSED);
  tcase_add_test(tcase, odd_notations);
  tcase_add_test(tcase, places);
  tcase_add_test(tcase, jacobian_of_inverse);
  tcase_add_test(tcase, jacobian_near_grey);
  tcase_add_test(tcase, jacobian_where_not_finite);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
