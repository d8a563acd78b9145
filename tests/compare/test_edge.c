/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "edge_scene.h"
#include "suite.h"

/* Across the boundary of edge_scene(), which stands at 200 pixels of it. */
static const struct edge_line ACROSS = {{420, 320}, {820, 320}};

static struct card_list cards;
static struct measurement m;
static struct edge edge;

static void open_cards(void)
{
  struct error error;

  ck_assert(card_list_open("chart24", &cards, &error));
}

static void close_all(void)
{
  edge_clear(&edge);
  measurement_clear(&m);
  card_list_clear(&cards);
}

static void measure(const struct scene *scene, const struct edge_line *line)
{
  struct error error;

  edge_scene_measure(scene, &cards, &m);
  ck_assert(m.card_found);
  ck_assert_msg(edge_measure(&m, line, &edge, &error), "%s", error.text);
}

static void expect_refusal(const struct edge_line *line, const char *code)
{
  struct error error = {0};

  ck_assert(!edge_measure(&m, line, &edge, &error));
  ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
  ck_assert_msg(strcmp(error.code, code) == 0, "%s in place of %s: %s", error.code, code, error.text);
  ck_assert_ptr_nonnull(strstr(error.text, "; "));
}

/* Of four 95 % intervals one may miss. */
enum { TRIES = 4, HELD_LEAST = 3 };

START_TEST(place_thickness_and_slant_are_found)
{
  static const struct {
    double thick, degrees;
  } row[] = {{12, 0}, {30, 0}, {30, 25}, {60, -15}, {10, -35}};
  int places = 0, thicknesses = 0;

  for (int i = 0; i < TRIES; i++) {
    struct scene scene;
    edge_scene(row[_i].thick, row[_i].degrees, (uint64_t)(21 + 10 * i), &scene);
    measure(&scene, &ACROSS);
    ck_assert_msg(edge.told, "row %d: evidence %.1f", _i, edge.fit.evidence);
    places += fabs(edge.place.value - 200) <= 2 || (edge.place.low <= 200 && 200 <= edge.place.high);
    thicknesses += edge.thick.low <= row[_i].thick && row[_i].thick <= edge.thick.high;
    /* half the band is 25 pixels: a lean moves its rim by little against a thick change, and then need not be found */
    ck_assert_msg(fabs(fabs(edge.slant) - fabs(row[_i].degrees)) < 5 + 0.25 * row[_i].thick,
                  "row %d: slant %.1f", _i, edge.slant);
    edge_clear(&edge);
    measurement_clear(&m);
  }
  ck_assert_msg(places >= HELD_LEAST, "row %d: place held in %d of %d", _i, places, TRIES);
  ck_assert_msg(thicknesses >= HELD_LEAST, "row %d: thickness held in %d of %d", _i, thicknesses, TRIES);
}
END_TEST

START_TEST(a_clean_cut_is_at_most)
{
  struct scene scene;

  edge_scene(0, 10, 5, &scene);
  measure(&scene, &ACROSS);
  ck_assert(edge.told && edge.at_most);
  ck_assert_double_eq_tol(edge.place.value, 200, 2);
  ck_assert_double_eq(edge.thick.low, 0);
  ck_assert_double_lt(edge.thick.high, 8);
}
END_TEST

/* A cut between two soils of the same lightness, which a JPEG keeps at every second pixel and in coarse steps: it comes out four to eight
 * pixels thick, and must not be taken for a boundary of that thickness. */
START_TEST(a_clean_cut_in_colour_alone_is_at_most)
{
  enum { MOST = 16 }; /* pixels that a block of colour spans in such a JPEG */

  for (uint64_t seed = 61; seed < 65; seed++) {
    struct scene scene;
    edge_scene(0, 10, seed, &scene);
    scene.file.jpeg_quality = 87;
    for (int i = 0; i < SPECTRUM_BANDS; i++) {
      scene.deposit[1].reflectance.band[i] =
          scene.deposit[0].reflectance.band[i] * (1 + 0.25 * (555 - 380 - 5 * i) / 175.0);
    }
    measure(&scene, &ACROSS);
    ck_assert_msg(fabs(edge.fit.change[0]) < 0.3 * hypot(edge.fit.change[1], edge.fit.change[2]),
                  "seed %d: %.1f of lightness", (int)seed, edge.fit.change[0]);
    ck_assert_msg(edge.told && edge.at_most && edge.thick.high < MOST, "seed %d: %.1f, up to %.1f pixels",
                  (int)seed, edge.thick.value, edge.thick.high);
    ck_assert_double_eq_tol(edge.place.value, 200, 2);
    edge_clear(&edge);
    measurement_clear(&m);
  }
}
END_TEST

/* The blur of a photo out of focus is seen at the card's patches and taken out: the boundary is as thick as in a sharp one. */
START_TEST(a_photo_out_of_focus_shows_the_same_thickness)
{
  struct scene scene;

  edge_scene(12, 0, 66, &scene);
  scene.camera.blur = 3;
  measure(&scene, &ACROSS);
  ck_assert_double_eq_tol(m.patches.blur, 3, 0.5);
  ck_assert(edge.told);
  ck_assert_msg(edge.thick.low <= 12 && 12 <= edge.thick.high, "%.1f (%.1f to %.1f)", edge.thick.value,
                edge.thick.low, edge.thick.high);
  ck_assert_double_eq_tol(edge.thick.value, 12, 1.5); /* unseen, the blur would make 14 of it */
}
END_TEST

START_TEST(mm_are_those_of_the_cards_plane)
{
  struct scene scene;
  struct mat3 back;

  edge_scene(20, 0, 8, &scene);
  scene.card.tilt_degrees = 12;
  scene.card.tilt_direction_degrees = 0;
  measure(&scene, &ACROSS);
  ck_assert(mat3_invert(scene_card_plane(&scene), &back));
  struct point from = scene_project(back, ACROSS.from.x, ACROSS.from.y);
  struct point to = scene_project(back, 620, 320);
  double truth = hypot(to.x - from.x, to.y - from.y);
  ck_assert(edge.scaled && edge.told);
  /* the card's corners are found to about a third of a pixel, over 250 pixels, and the line lies two cards away */
  ck_assert_msg(fabs(edge.place_mm.value - truth) < 0.02 * truth, "%.2f, not %.2f mm", edge.place_mm.value,
                truth);
  ck_assert_msg(edge.thick_mm.low < edge.thick_mm.value && edge.thick_mm.value < edge.thick_mm.high,
                "thickness in mm");
}
END_TEST

START_TEST(the_difference_is_that_of_the_deposits)
{
  struct scene scene;

  edge_scene(15, 0, 9, &scene);
  measure(&scene, &ACROSS);
  ck_assert(edge.compared && edge.difference.apart);
  for (int i = 0; i < 2; i++) {
    ck_assert(edge.side[i].reading.measured);
  }
  ck_assert_double_gt(edge.difference.lab.v[0], 0); /* the second soil is lighter and yellower */
  ck_assert_double_gt(edge.difference.lab.v[2], 0);
}
END_TEST

/* The way that measure_region() reads. */
START_TEST(sides_read_like_regions)
{
  struct scene scene;
  struct reading plain[2];

  edge_scene(15, 0, 10, &scene);
  measure(&scene, &ACROSS);
  for (int i = 0; i < 2; i++) {
    measure_region(&m, &edge.side[i].region, &plain[i]);
    ck_assert_double_eq(plain[i].lab_d50.L, edge.side[i].reading.lab_d50.L);
  }
  struct difference expected = difference_across(&plain[0], &plain[1]);
  ck_assert_double_eq(edge.difference.de00, expected.de00);
  ck_assert_double_eq(edge.difference.uncertainty, expected.uncertainty);
}
END_TEST

/* The long form asks for silence in 95 of 100; of 8 scenes two or more are then told in one of 17 runs of other seeds. */
START_TEST(one_deposit_in_drifting_light_shows_no_boundary)
{
  enum { SCENES = 8, TOLD_MOST = 1 };
  int told = 0;

  for (int i = 0; i < SCENES; i++) {
    struct scene scene;
    edge_scene_plain((uint64_t)(31 + i), &scene);
    scene.light.gradient[0] = 0.2;
    scene.light.vignette = 0.3;
    measure(&scene, &ACROSS);
    ck_assert(edge.bins > 100);
    ck_assert(edge.told || (!edge.compared && edge.caveats == 0));
    told += edge.told;
    edge_clear(&edge);
    measurement_clear(&m);
  }
  ck_assert_msg(told <= TOLD_MOST, "told in %d of %d", told, SCENES);
}
END_TEST

START_TEST(the_edge_of_a_shadow_is_said_and_is_no_boundary)
{
  struct scene scene;

  edge_scene(0, 90, 41, &scene); /* the second soil lies below, clear of the line */
  scene.boundary.present = false;
  for (int i = 0; i < 4; i++) {
    scene.deposit[1].vertex[i].y += 80;
  }
  scene.light.edges = 1;
  scene.light.edge[0] = (struct scene_edge){{620, 320}, 0, 16};
  scene.light.sky_share = 0.2;
  scene.light.depth = 0.7;
  measure(&scene, &ACROSS);
  ck_assert(m.light.shadow_edge);
  ck_assert(edge.shadow);
  ck_assert_msg(edge.shadow_from < 200 && 200 < edge.shadow_to, "%.1f to %.1f", edge.shadow_from,
                edge.shadow_to);
  ck_assert(!edge.told);
  ck_assert_uint_eq(edge.caveats, 1);
  ck_assert_str_eq(edge.caveat[0].code, "shadow-edge");
}
END_TEST

/* A weak step of lightness may be damp as well; a strong one along a straight line may be a shadow's edge. */
START_TEST(a_step_of_lightness_is_called_out)
{
  static const struct {
    double share;
    const char *code;
  } step[] = {{0.8, "lightness-alone"}, {0.6, "shadow-unsure"}};
  struct scene scene;

  edge_scene(6, 0, 43, &scene);
  scene.deposit[1].reflectance = scene.deposit[0].reflectance;
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    scene.deposit[1].reflectance.band[i] *= step[_i].share;
  }
  measure(&scene, &ACROSS);
  ck_assert(edge.told);
  bool said = false;
  for (size_t i = 0; i < edge.caveats; i++) {
    said |= strcmp(edge.caveat[i].code, step[_i].code) == 0;
  }
  ck_assert_msg(said, "%s", step[_i].code);
}
END_TEST

START_TEST(pebbles_over_the_band_are_no_boundary)
{
  struct scene scene;

  edge_scene_plain(47, &scene);
  scene.deposit[0].texture.stones = 0.05;
  scene.deposit[0].texture.stone_pixels = 11;
  measure(&scene, &ACROSS);
  ck_assert_msg(!edge.told, "evidence %.1f", edge.fit.evidence);
}
END_TEST

START_TEST(lines_that_can_not_be_read_are_refused)
{
  struct scene scene;

  edge_scene(10, 0, 51, &scene);
  edge_scene_measure(&scene, &cards, &m);
  expect_refusal(&(struct edge_line){{420, 320}, {920, 320}}, "outside");
  expect_refusal(&(struct edge_line){{-1, 320}, {420, 320}}, "outside");
  expect_refusal(&(struct edge_line){{610, 320}, {629, 320}}, "short");
  expect_refusal(&(struct edge_line){{20, 160}, {500, 160}}, "on-card");
  expect_refusal(&(struct edge_line){{620, 120}, {620, 560}}, "along");
  expect_refusal(&(struct edge_line){{590, 100}, {650, 560}}, "along");
}
END_TEST

START_TEST(a_model_that_tells_no_colours_apart_is_refused)
{
  struct scene scene;

  edge_scene(10, 0, 55, &scene);
  edge_scene_measure(&scene, &cards, &m);
  memset(m.profile.matrix, 0, sizeof m.profile.matrix);
  expect_refusal(&ACROSS, "no-colours");
}
END_TEST

START_TEST(without_a_card_nothing_is_read)
{
  struct scene scene;
  struct error error;

  edge_scene(10, 0, 52, &scene);
  scene.card.present = false;
  edge_scene_measure(&scene, &cards, &m);
  ck_assert(!edge_measure(&m, &ACROSS, &edge, &error));
  ck_assert_str_eq(error.code, "no-card");
}
END_TEST

START_TEST(a_card_without_a_size_gives_pixels_alone)
{
  struct scene scene;
  struct error error;

  edge_scene(20, 0, 53, &scene);
  edge_scene_measure(&scene, &cards, &m);
  m.card.sized = false;
  ck_assert(edge_measure(&m, &ACROSS, &edge, &error));
  ck_assert(edge.told && !edge.scaled);
  ck_assert_double_eq(edge.thick_mm.value, 0);
}
END_TEST

/* As if the card's plane were so slanted that its horizon crosses the line behind the boundary. */
START_TEST(a_line_to_the_horizon_has_no_mm)
{
  const double horizon = 700;
  struct scene scene;
  struct error error;

  edge_scene(20, 0, 56, &scene);
  edge_scene_measure(&scene, &cards, &m);
  for (int k = 0; k < 3; k++) {
    m.pose.photo_from_card.m[2][k] += m.pose.photo_from_card.m[0][k] / horizon;
  }
  ck_assert(edge_measure(&m, &ACROSS, &edge, &error));
  ck_assert(edge.told && m.card.sized && !edge.scaled);
  ck_assert(edge.length_mm == 0 && edge.place_mm.value == 0 && edge.thick_mm.value == 0);
}
END_TEST

/* Place and colours of the bins: in order, all within the line, near the two soils. */
START_TEST(colours_along_the_line_are_given)
{
  struct scene scene;

  edge_scene(10, 0, 54, &scene);
  measure(&scene, &ACROSS);
  for (size_t i = 0; i < edge.bins; i++) {
    ck_assert(edge.bin[i].at > 0 && edge.bin[i].at < edge.length && edge.bin[i].pixels > 0);
    ck_assert(i == 0 || edge.bin[i].at > edge.bin[i - 1].at);
    ck_assert(edge.bin[i].covariance.m[0][0] > 0);
  }
  struct lab first = edge_fitted(&m, &edge, 20);
  ck_assert_double_eq_tol(first.L, edge.side[0].reading.lab_d50.L, 2);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("edge");
  TCase *tcase = tcase_create("edge");

  tcase_set_timeout(tcase, 400);
  tcase_add_checked_fixture(tcase, open_cards, close_all);
  tcase_add_loop_test(tcase, place_thickness_and_slant_are_found, 0, 5);
  tcase_add_test(tcase, a_clean_cut_is_at_most);
  tcase_add_test(tcase, a_clean_cut_in_colour_alone_is_at_most);
  tcase_add_test(tcase, a_photo_out_of_focus_shows_the_same_thickness);
  tcase_add_test(tcase, mm_are_those_of_the_cards_plane);
  tcase_add_test(tcase, the_difference_is_that_of_the_deposits);
  tcase_add_test(tcase, sides_read_like_regions);
  tcase_add_test(tcase, one_deposit_in_drifting_light_shows_no_boundary);
  tcase_add_test(tcase, the_edge_of_a_shadow_is_said_and_is_no_boundary);
  tcase_add_loop_test(tcase, a_step_of_lightness_is_called_out, 0, 2);
  tcase_add_test(tcase, pebbles_over_the_band_are_no_boundary);
  tcase_add_test(tcase, lines_that_can_not_be_read_are_refused);
  tcase_add_test(tcase, a_model_that_tells_no_colours_apart_is_refused);
  tcase_add_test(tcase, without_a_card_nothing_is_read);
  tcase_add_test(tcase, a_card_without_a_size_gives_pixels_alone);
  tcase_add_test(tcase, a_line_to_the_horizon_has_no_mm);
  tcase_add_test(tcase, colours_along_the_line_are_given);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
