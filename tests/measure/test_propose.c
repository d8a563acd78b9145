/* SPDX-License-Identifier: MIT */
/* What is proposed for painted faces: letters, outlines, boundaries, and every cause of leaving something out. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "painted.h"
#include "suite.h"

enum { SEED = 8200 };

static const double INSIDE_MOST = 0.01;   /* of a thing's pixels, inside outlines          */
static const double LOWER_LAYER = 0.525;  /* of the face, which lacks the card in the upper one */
static const double SHARE_WITHIN = 0.015; /* of the face, of what is left out or a deposit */
static const double BOUNDARY_WITHIN = 20; /* pixels, of the waving boundary's mean height  */

static double share_of_face(double pixels)
{
  return pixels / ((double)PAINTED_WIDTH * PAINTED_HEIGHT);
}

/* Outlines hold, and each label stands once. */
static void check_outlines(const struct proposal *proposal)
{
  struct error error;

  for (size_t i = 0; i < proposal->regions.count; i++) {
    ck_assert_msg(region_check(&proposal->regions.region[i], PAINTED_WIDTH, PAINTED_HEIGHT, &error), "%s: %s",
                  proposal->regions.region[i].label, error.text);
    for (size_t k = 0; k < i; k++) {
      ck_assert_str_ne(proposal->regions.region[i].label, proposal->regions.region[k].label);
    }
  }
}

static void expect_labels(const struct proposal *proposal, size_t count, const char *const *label)
{
  check_outlines(proposal);
  ck_assert_msg(proposal->regions.count == count, "%zu regions in place of %zu", proposal->regions.count,
                count);
  for (size_t i = 0; i < count; i++) {
    ck_assert_str_eq(proposal->regions.region[i].label, label[i]);
  }
}

static void end(struct painted *p, struct proposal *proposal)
{
  proposal_clear(proposal);
  painted_end(p);
}

START_TEST(one_deposit_has_one_letter)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + (uint64_t)_i, true, false);
  painted_propose(&p, &proposal);
  expect_labels(&proposal, 1, (const char *const[]){"a"});
  ck_assert_uint_eq(proposal.boundaries, 0);
  ck_assert_double_gt(proposal.share[0], 0.97);
  end(&p, &proposal);
}
END_TEST

/* With and without a string through one of them: one outline each, and the string in neither. */
START_TEST(two_layers_and_a_string)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 10 + (uint64_t)_i, false, true);
  if (_i > 0) {
    painted_box(&p, (struct point){640, _i == 1 ? 250 : 470}, 2000, 4, _i == 1 ? 1 : 12, PAINTED_WHITE, false,
                true);
  }
  painted_propose(&p, &proposal);
  expect_labels(&proposal, 2, (const char *const[]){"a", "b"});
  ck_assert_double_le(painted_inside(&p, &proposal), INSIDE_MOST);
  ck_assert_uint_eq(proposal.boundaries, 1);
  ck_assert_double_eq_tol(proposal.boundary[0].middle.y, PAINTED_LAYER, BOUNDARY_WITHIN);
  ck_assert_double_eq_tol(proposal.share[0], LOWER_LAYER, SHARE_WITHIN);
  ck_assert_double_eq(proposal.left_out[PROPOSAL_THING], 0);
  end(&p, &proposal);
}
END_TEST

/* A string along the whole boundary hides it: no place of it is drawn. */
START_TEST(no_boundary_is_drawn_under_a_string)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 20, false, false);
  painted_box(&p, (struct point){640, PAINTED_LAYER}, 2000, 5, 0, PAINTED_WHITE, false, true);
  painted_propose(&p, &proposal);
  ck_assert_uint_eq(proposal.regions.count, 2);
  ck_assert_uint_eq(proposal.boundaries, 0);
  ck_assert_double_le(painted_inside(&p, &proposal), INSIDE_MOST);
  end(&p, &proposal);
}
END_TEST

/* The string's contrast is hidden from the reading of the deposit that it crosses. */
START_TEST(a_string_moves_no_reading)
{
  struct vec3 linear[2];

  for (int with = 0; with < 2; with++) {
    struct painted p;
    struct proposal proposal;
    struct region_statistics statistics;
    struct error error;
    painted_begin(&p, SEED + 21, true, false);
    if (with) {
      painted_box(&p, (struct point){640, 500}, 2000, 4, 1, PAINTED_WHITE, false, true);
    }
    painted_propose(&p, &proposal);
    expect_labels(&proposal, 1, (const char *const[]){"a"});
    ck_assert_msg(region_measure(&p.m.image, &p.m.profile, &p.m.light, &proposal.regions.region[0],
                                 &statistics, &error),
                  "%s", error.text);
    linear[with] = statistics.linear;
    end(&p, &proposal);
  }
  for (int k = 0; k < 3; k++) {
    ck_assert_double_eq_tol(linear[1].v[k] / linear[0].v[k], 1, 0.003);
  }
}
END_TEST

START_TEST(boards_and_bars_are_said)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 30, false, true);
  painted_box(&p, (struct point){500, 260}, 160, 110, 7, PAINTED_BLACK, false, true);
  painted_box(&p, (struct point){500, 720}, 360, 28, 3, PAINTED_WHITE, false, true);
  painted_box(&p, (struct point){500, 720}, 120, 28, 3, PAINTED_BLACK, false, true);
  painted_propose(&p, &proposal);
  expect_labels(&proposal, 2, (const char *const[]){"a", "b"});
  ck_assert_double_le(painted_inside(&p, &proposal), INSIDE_MOST);
  ck_assert_double_eq_tol(proposal.left_out[PROPOSAL_THING], share_of_face(160 * 110 + 360 * 28),
                          SHARE_WITHIN);
  ck_assert_double_ge(proposal.left_out[PROPOSAL_THING], share_of_face(160 * 110 + 360 * 28));
  end(&p, &proposal);
}
END_TEST

/* A colour that soils do not have, in a shape that is none of a thing. */
START_TEST(strange_colours_are_left_out)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 31, true, false);
  painted_disc(&p, (struct point){500, 600}, 130, PAINTED_BLUE, true, false);
  painted_propose(&p, &proposal);
  expect_labels(&proposal, 1, (const char *const[]){"a"});
  ck_assert_double_eq_tol(proposal.left_out[PROPOSAL_STRANGE], share_of_face(3.1416 * 130 * 130),
                          SHARE_WITHIN);
  end(&p, &proposal);
}
END_TEST

/* White without texture is paint or plaster, whatever its shape; the same white as rough as soil is marl. */
START_TEST(white_without_texture_is_left_out)
{
  struct painted p;
  struct proposal proposal;
  bool rough = _i == 1;

  painted_begin(&p, SEED + 32, true, false);
  painted_disc(&p, (struct point){500, 600}, 150, PAINTED_WHITE, rough, false);
  painted_propose(&p, &proposal);
  ck_assert_uint_eq(proposal.regions.count, rough ? 2 : 1);
  ck_assert_double_eq_tol(proposal.left_out[PROPOSAL_STRANGE], rough ? 0 : share_of_face(3.1416 * 150 * 150),
                          SHARE_WITHIN);
  end(&p, &proposal);
}
END_TEST

/* A smooth rectangle of the colour of a deposit elsewhere on the face: texture and shape alone tell. */
START_TEST(smooth_rectangles_are_left_out)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 33, false, true);
  painted_box(&p, (struct point){500, 250}, 240, 180, 0, PAINTED_PALE, false, true);
  painted_propose(&p, &proposal);
  ck_assert_double_eq_tol(proposal.left_out[PROPOSAL_THING], share_of_face(240 * 180), SHARE_WITHIN);
  ck_assert_double_le(painted_inside(&p, &proposal), 0.03);
  end(&p, &proposal);
}
END_TEST

/* A rough rectangle may be a pit cut square. */
START_TEST(rough_rectangles_are_deposits)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 34, true, false);
  painted_box(&p, (struct point){500, 500}, 300, 200, 0, PAINTED_PALE, true, false);
  painted_propose(&p, &proposal);
  expect_labels(&proposal, 2, (const char *const[]){"a", "b"});
  ck_assert_double_eq_tol(proposal.share[1], share_of_face(300 * 200), SHARE_WITHIN);
  ck_assert_double_eq(proposal.left_out[PROPOSAL_THING], 0);
  end(&p, &proposal);
}
END_TEST

START_TEST(specks_are_left_out)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 35, true, false);
  painted_disc(&p, (struct point){500, 600}, 34, PAINTED_PALE, true, false);
  painted_propose(&p, &proposal);
  expect_labels(&proposal, 1, (const char *const[]){"a"});
  ck_assert_double_ge(proposal.left_out[PROPOSAL_SPECKS], 0.8 * share_of_face(3.1416 * 34 * 34));
  end(&p, &proposal);
}
END_TEST

/* Two pits of one soil in another are alike, and not one place. */
START_TEST(like_parts_share_a_letter)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 36, true, false);
  painted_disc(&p, (struct point){300, 600}, 140, PAINTED_PALE, true, false);
  painted_disc(&p, (struct point){850, 600}, 110, PAINTED_PALE, true, false);
  painted_propose(&p, &proposal);
  expect_labels(&proposal, 3, (const char *const[]){"a", "b-1", "b-2"});
  ck_assert_uint_eq(proposal.boundaries, 2);
  ck_assert_uint_ge(proposal.boundary[0].places, proposal.boundary[1].places);
  end(&p, &proposal);
}
END_TEST

/* A clipped face has nothing to read: no part, and no error. */
START_TEST(a_clipped_face_has_no_parts)
{
  struct painted p;
  struct proposal proposal;

  painted_begin(&p, SEED + 37, true, false);
  memset(p.m.image.codes, 255, (size_t)PAINTED_WIDTH * PAINTED_HEIGHT * 3);
  painted_propose(&p, &proposal);
  ck_assert_uint_eq(proposal.regions.count, 0);
  ck_assert_uint_eq(proposal.boundaries, 0);
  end(&p, &proposal);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("measure/propose");
  TCase *cases = tcase_create("painted");

  tcase_set_timeout(cases, 120);
  tcase_add_loop_test(cases, one_deposit_has_one_letter, 0, 3);
  tcase_add_loop_test(cases, two_layers_and_a_string, 0, 3);
  tcase_add_test(cases, no_boundary_is_drawn_under_a_string);
  tcase_add_test(cases, a_string_moves_no_reading);
  tcase_add_test(cases, boards_and_bars_are_said);
  tcase_add_test(cases, strange_colours_are_left_out);
  tcase_add_loop_test(cases, white_without_texture_is_left_out, 0, 2);
  tcase_add_test(cases, smooth_rectangles_are_left_out);
  tcase_add_test(cases, rough_rectangles_are_deposits);
  tcase_add_test(cases, specks_are_left_out);
  tcase_add_test(cases, like_parts_share_a_letter);
  tcase_add_test(cases, a_clipped_face_has_no_parts);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
