/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "compare/edge_outline.h"
#include "edge_scene.h"
#include "region/outline.h"
#include "suite.h"

/* The fill: round about here, right of the card. */
static const struct point CENTRE = {620, 330};
static const double RADIUS = 170;
enum { CORNERS = 90 };

static struct card_list cards;
static struct measurement m;
static struct edge_outline outline;
static struct region drawn;

static void open_cards(void)
{
  struct error error;

  ck_assert(card_list_open("chart24", &cards, &error));
}

static void close_all(void)
{
  edge_outline_clear(&outline);
  measurement_clear(&m);
  region_clear(&drawn);
  card_list_clear(&cards);
}

/* A fill whose rim swings by `swing` pixels `waves` times round; `sharp` makes narrow pockets of it. */
static void make_fill(double swing, int waves, double sharp, uint64_t seed, struct scene *scene)
{
  struct scene_deposit *fill = &scene->deposit[1];

  edge_scene(0, 0, seed, scene);
  scene->boundary.present = false;
  fill->vertices = CORNERS;
  for (int i = 0; i < CORNERS; i++) {
    double angle = 2 * M_PI * i / CORNERS, wave = pow(0.5 + 0.5 * cos(waves * angle), sharp);
    double r = RADIUS - swing * wave;
    fill->vertex[i] = (struct point){CENTRE.x + r * cos(angle), CENTRE.y + r * sin(angle)};
  }
}

static void draw_circle(double radius)
{
  struct error error;

  ck_assert(outline_ellipse(&drawn, REGION_CIRCLE, CENTRE, radius, radius, &error));
  strcpy(drawn.label, "fill");
}

/* The rim as it is, drawn. */
static void draw_rim(const struct scene *scene)
{
  const struct scene_deposit *fill = &scene->deposit[1];
  double number[2 * CORNERS];
  struct error error;

  for (int i = 0; i < CORNERS; i++) {
    number[2 * i] = fill->vertex[i].x;
    number[2 * i + 1] = fill->vertex[i].y;
  }
  ck_assert(outline_polygon(&drawn, number, 2 * CORNERS, &error));
  strcpy(drawn.label, "fill");
}

static void measure(const struct scene *scene)
{
  struct error error;

  edge_scene_measure(scene, &cards, &m);
  ck_assert(m.card_found);
  ck_assert(edge_outline_measure(&m, &drawn, &outline, &error));
}

START_TEST(an_outline_drawn_aside_is_found_aside)
{
  static const double aside[] = {-8, 0, 8};
  struct scene scene;

  make_fill(0, 1, 1, 61, &scene);
  draw_circle(RADIUS + aside[_i]);
  measure(&scene);
  ck_assert(outline.measured);
  ck_assert_msg(outline.fades < 0.1, "fades along %.2f", outline.fades);
  ck_assert_double_eq_tol(outline.offset.value, -aside[_i], 1);
  ck_assert(outline.offset.low <= outline.offset.value && outline.offset.value <= outline.offset.high);
  ck_assert(outline.scaled);
  ck_assert_double_eq_tol(outline.offset_mm.value, -aside[_i], 1.3); /* a mm a pixel */
  ck_assert(outline.coursed && outline.course == EDGE_SMOOTH);
  ck_assert(outline.at_most);
  ck_assert(outline.compared && outline.difference.apart);
  ck_assert_double_lt(outline.difference.lab.v[0], 0); /* inside is lighter; outside minus inside */
}
END_TEST

START_TEST(a_swinging_rim_is_wavy)
{
  struct scene scene;

  make_fill(26, 7, 1, 62, &scene);
  draw_rim(&scene);
  measure(&scene);
  ck_assert(outline.measured && outline.coursed);
  ck_assert_int_eq(outline.course, EDGE_WAVY);
  /* half the swing to either side of the trend; half a wave wide */
  ck_assert_double_eq_tol(outline.pocket_deep, 13, 4);
  ck_assert_double_eq_tol(outline.pocket_wide, 2 * M_PI * RADIUS / 14, 30);
}
END_TEST

START_TEST(narrow_deep_pockets_are_irregular)
{
  struct scene scene;

  make_fill(120, 6, 9, 63, &scene);
  draw_rim(&scene);
  measure(&scene);
  ck_assert(outline.measured && outline.coursed);
  ck_assert_msg(outline.course == EDGE_IRREGULAR, "%s, %.1f deep, %.1f wide",
                edge_course_word(outline.course), outline.pocket_deep, outline.pocket_wide);
}
END_TEST

START_TEST(where_the_fill_is_missing_the_boundary_fades)
{
  struct scene scene;

  make_fill(0, 1, 1, 64, &scene);
  for (int i = 0; i < CORNERS; i++) { /* the lower part ends far inside the outline drawn */
    scene.deposit[1].vertex[i].y = fmin(scene.deposit[1].vertex[i].y, CENTRE.y + 60);
  }
  draw_circle(RADIUS);
  measure(&scene);
  ck_assert(outline.measured);
  ck_assert_msg(outline.fades > 0.2 && outline.fades < 0.6, "fades along %.2f", outline.fades);
  ck_assert_int_eq(outline.course, EDGE_BROKEN);
  size_t low = 0;
  for (size_t i = 0; i < outline.places; i++) {
    low += !outline.place[i].told && outline.place[i].at.y > CENTRE.y + 60;
  }
  ck_assert_uint_ge(low, outline.read - outline.told - 2);
}
END_TEST

START_TEST(one_deposit_has_no_boundary)
{
  struct scene scene;

  edge_scene_plain(65 + (uint64_t)_i, &scene);
  draw_circle(RADIUS);
  measure(&scene);
  ck_assert(outline.measured);
  ck_assert_uint_eq(outline.told, 0);
  ck_assert_double_eq(outline.fades, 1);
  ck_assert(!outline.coursed && !outline.compared);
}
END_TEST

/* What is stated of the region is known of its sides: glint out of focus is taken out of a wet face as out of any wet region. */
START_TEST(sides_are_as_wet_as_stated)
{
  struct scene scene;

  make_fill(0, 1, 1, 68, &scene);
  scene.camera.blur = 3;
  draw_circle(RADIUS);
  drawn.moisture = _i ? MOISTURE_WET : MOISTURE_UNSTATED;
  strcpy(drawn.zone, "glaze");
  measure(&scene);
  ck_assert(outline.compared);
  for (int side = 0; side < 2; side++) {
    const struct reading *reading = &outline.side[side].reading;
    bool glossy = _i == 1 || side == 0;
    ck_assert_int_eq(reading->region->moisture, drawn.moisture);
    ck_assert_int_eq(reading->glint > 0 && reading->glint_doubt > 0, _i);
    ck_assert_int_eq(reading->cause[BUDGET_SURFACE].m[0][0] > 0, glossy);
    ck_assert_str_eq(reading->region->zone, side ? "" : "glaze");
  }
}
END_TEST

START_TEST(what_can_not_be_measured_says_why)
{
  struct scene scene;
  struct error error;

  make_fill(0, 1, 1, 66, &scene);
  edge_scene_measure(&scene, &cards, &m);
  ck_assert(outline_rectangle(&drawn, 700, 500, 400, 100, &error));
  ck_assert(edge_outline_measure(&m, &drawn, &outline, &error));
  ck_assert(!outline.measured);
  ck_assert_str_eq(outline.error.code, "outside");
  region_clear(&drawn);
  ck_assert(outline_rectangle(&drawn, 130, 120, 120, 80, &error)); /* on the card */
  ck_assert(edge_outline_measure(&m, &drawn, &outline, &error));
  ck_assert(!outline.measured);
  ck_assert_str_eq(outline.error.code, "few-places");
  region_clear(&drawn);
  edge_outline_clear(&outline);
  draw_circle(RADIUS);
  memset(m.profile.matrix, 0, sizeof m.profile.matrix);
  ck_assert(edge_outline_measure(&m, &drawn, &outline, &error));
  ck_assert(!outline.measured);
  ck_assert_str_eq(outline.error.code, "no-colours");
}
END_TEST

START_TEST(a_card_without_a_size_gives_pixels_alone)
{
  struct scene scene;
  struct error error;

  make_fill(0, 1, 1, 67, &scene);
  draw_circle(RADIUS);
  edge_scene_measure(&scene, &cards, &m);
  m.card.sized = false;
  ck_assert(edge_outline_measure(&m, &drawn, &outline, &error));
  ck_assert(outline.measured && outline.told > 0 && !outline.scaled);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("edge_outline");
  TCase *tcase = tcase_create("edge_outline");

  tcase_set_timeout(tcase, 400);
  tcase_add_checked_fixture(tcase, open_cards, close_all);
  tcase_add_loop_test(tcase, an_outline_drawn_aside_is_found_aside, 0, 3);
  tcase_add_test(tcase, a_swinging_rim_is_wavy);
  tcase_add_test(tcase, narrow_deep_pockets_are_irregular);
  tcase_add_test(tcase, where_the_fill_is_missing_the_boundary_fades);
  tcase_add_loop_test(tcase, one_deposit_has_no_boundary, 0, 3);
  tcase_add_loop_test(tcase, sides_are_as_wet_as_stated, 0, 2);
  tcase_add_test(tcase, what_can_not_be_measured_says_why);
  tcase_add_test(tcase, a_card_without_a_size_gives_pixels_alone);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
