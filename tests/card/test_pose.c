/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "card/pose.h"
#include "random.h"
#include "suite.h"

/* Rounding of doubles at coordinates of some thousand pixels. */
static const double EXACT_PIXELS = 1e-7;
static const uint64_t SEED = 1989;

/* Two rows of three patches, 40 mm at 45.5 mm, as in the classic chart's corner. */
static struct card_patch patch[6];

static struct card_reference card_by_hand(void)
{
  static const size_t corner[4] = {0, 2, 5, 3};
  struct card_reference card = {.name = "six", .patch = patch, .count = 6};

  for (size_t i = 0; i < 6; i++) {
    patch[i] = (struct card_patch){.x_mm = 20 + 45.5 * (double)(i % 3),
                                   .y_mm = 20 + 45.5 * (double)(i / 3),
                                   .width_mm = 40,
                                   .height_mm = 40};
  }
  for (int k = 0; k < 4; k++) {
    card.corner[k] = corner[k];
    card.corner_place[k] = (struct card_place){patch[corner[k]].x_mm, patch[corner[k]].y_mm};
  }
  return card;
}

/* A pinhole camera that looks at the card; the second implementation of the plane map. */
struct camera {
  double focal, turn, tilt, direction; /* pixels, radians */
  double x, y, distance;               /* of the card's origin, mm */
  int width, height;
};

static struct camera any_camera(struct random *random)
{
  return (struct camera){.focal = random_between(random, 2500, 6000),
                         .turn = random_between(random, -3.1, 3.1),
                         .tilt = random_between(random, 0, 1.0),
                         .direction = random_between(random, -3.1, 3.1),
                         .x = random_between(random, -250, 150),
                         .y = random_between(random, -200, 150),
                         .distance = random_between(random, 500, 3000),
                         .width = 6000,
                         .height = 4000};
}

/* Turned in its plane, then tilted about an axis at `direction` in the plane (Rodrigues), then moved. */
static struct point see(const struct camera *camera, double x_mm, double y_mm)
{
  double x = x_mm * cos(camera->turn) - y_mm * sin(camera->turn);
  double y = x_mm * sin(camera->turn) + y_mm * cos(camera->turn);
  double kx = cos(camera->direction), ky = sin(camera->direction), along = kx * x + ky * y;
  double c = cos(camera->tilt), s = sin(camera->tilt);
  double px = x * c + kx * along * (1 - c), py = y * c + ky * along * (1 - c), pz = (kx * y - ky * x) * s;
  double depth = camera->distance + pz;

  return (struct point){camera->width / 2.0 + camera->focal * (px + camera->x) / depth,
                        camera->height / 2.0 + camera->focal * (py + camera->y) / depth};
}

static struct card_pose pose_of(const struct card_reference *card, const struct camera *camera)
{
  struct card_pose pose;
  struct error error;
  struct point corner[4];

  for (int k = 0; k < 4; k++) {
    corner[k] = see(camera, card->corner_place[k].x_mm, card->corner_place[k].y_mm);
  }
  ck_assert_msg(card_pose_from_corners(card, corner, &pose, &error), "%s", error.text);
  return pose;
}

static void assert_near(struct point a, struct point b, double within, int round)
{
  ck_assert_msg(hypot(a.x - b.x, a.y - b.y) <= within, "%.9f %.9f and %.9f %.9f, round %d of seed %d", a.x,
                a.y, b.x, b.y, round, (int)SEED);
}

START_TEST(every_patch_lies_where_a_pinhole_camera_sees_it)
{
  struct card_reference card = card_by_hand();
  struct random random = random_start(SEED);

  for (int round = 0; round < 500; round++) {
    struct camera camera = any_camera(&random);
    struct card_pose pose = pose_of(&card, &camera);
    for (size_t i = 0; i < card.count; i++) {
      assert_near(card_pose_project(&pose, &card, patch[i].x_mm, patch[i].y_mm),
                  see(&camera, patch[i].x_mm, patch[i].y_mm), EXACT_PIXELS, round);
    }
    for (int k = 0; k < 4; k++) {
      assert_near(pose.corner[k], see(&camera, card.corner_place[k].x_mm, card.corner_place[k].y_mm),
                  EXACT_PIXELS, round);
    }
    ck_assert_double_eq(pose.fit, 1);
  }
}
END_TEST

START_TEST(unproject_undoes_project)
{
  struct card_reference card = card_by_hand();
  struct random random = random_start(SEED);

  for (int round = 0; round < 500; round++) {
    struct camera camera = any_camera(&random);
    struct card_pose pose = pose_of(&card, &camera);
    double x, y, wanted_x = random_between(&random, 0, 130), wanted_y = random_between(&random, 0, 85);
    if (round % 2) { /* up to a tenth of a patch */
      pose.bend = (struct point){random_between(&random, -0.1, 0.1) * pose.patch_pixels,
                                 random_between(&random, -0.1, 0.1) * pose.patch_pixels};
    }
    struct point place = card_pose_project(&pose, &card, wanted_x, wanted_y);
    ck_assert(card_pose_unproject(&pose, &card, place, &x, &y));
    ck_assert_msg(hypot(x - wanted_x, y - wanted_y) < 1e-6, "%g %g, round %d of seed %d", x - wanted_x,
                  y - wanted_y, round, (int)SEED);
  }
}
END_TEST

START_TEST(scale_is_that_of_the_camera)
{
  struct card_reference card = card_by_hand();
  struct random random = random_start(SEED);

  for (int round = 0; round < 200; round++) {
    struct camera camera = any_camera(&random);
    struct card_pose pose = pose_of(&card, &camera);
    double cx = 65.5, cy = 42.75, h = 1e-4; /* middle of the corners */
    struct point left = see(&camera, cx - h, cy), right = see(&camera, cx + h, cy);
    struct point above = see(&camera, cx, cy - h), below = see(&camera, cx, cy + h);
    double scale =
        h / hypot(right.x - left.x, right.y - left.y) + h / hypot(below.x - above.x, below.y - above.y);
    ck_assert_msg(fabs(pose.mm_per_pixel / scale - 1) < 1e-5, "%f for %f, round %d of seed %d",
                  pose.mm_per_pixel, scale, round, (int)SEED);
  }
}
END_TEST

/* Seen from afar the tilt is the camera's, whatever the focal length. */
START_TEST(tilt_from_afar_needs_no_focal_length)
{
  struct card_reference card = card_by_hand();
  struct camera camera = {
      .focal = 3e6, .turn = 0.3, .tilt = 0.5, .direction = 1, .distance = 1e6, .width = 6000, .height = 4000};
  struct card_pose pose = pose_of(&card, &camera);

  ck_assert_double_eq_tol(pose.tilt_degrees, 0.5 * 180 / M_PI, 0.01);
}
END_TEST

START_TEST(flat_on_the_scale_is_plain)
{
  struct card_reference card = card_by_hand();
  struct point corner[4] = {{100, 200}, {282, 200}, {282, 291}, {100, 291}}; /* 2 pixels a mm */
  struct card_pose pose;
  struct error error;
  struct point outline[4];

  ck_assert(card_pose_from_corners(&card, corner, &pose, &error));
  ck_assert_double_eq_tol(pose.mm_per_pixel, 0.5, 1e-12);
  ck_assert_double_eq_tol(pose.patch_pixels, 80, 1e-9);
  ck_assert_double_eq_tol(pose.tilt_degrees, 0, 1e-5);
  card_pose_outline(&pose, &card, 5, 0.6, outline);
  assert_near(outline[0], (struct point){258, 267}, EXACT_PIXELS, 0);
  assert_near(outline[1], (struct point){306, 267}, EXACT_PIXELS, 0);
  assert_near(outline[2], (struct point){306, 315}, EXACT_PIXELS, 0);
  assert_near(outline[3], (struct point){258, 315}, EXACT_PIXELS, 0);
}
END_TEST

START_TEST(bend_moves_the_middle_and_not_the_corners)
{
  struct card_reference card = card_by_hand();
  struct point corner[4] = {{100, 200}, {282, 200}, {282, 291}, {100, 291}};
  struct card_pose pose;
  struct error error;

  ck_assert(card_pose_from_corners(&card, corner, &pose, &error));
  pose.bend = (struct point){1, 3};
  card_pose_complete(&card, &pose);
  for (int k = 0; k < 4; k++) {
    assert_near(pose.corner[k], corner[k], EXACT_PIXELS, k);
  }
  assert_near(card_pose_project(&pose, &card, 65.5, 20), (struct point){192, 203}, EXACT_PIXELS, 0);
}
END_TEST

START_TEST(places_beyond_the_horizon_are_told)
{
  struct card_reference card = card_by_hand();
  struct camera camera = {.focal = 3000, .tilt = 1.2, .distance = 400, .width = 6000, .height = 4000};
  struct card_pose pose = pose_of(&card, &camera);
  double x, y, horizon = 2000 + 3000 / tan(1.2); /* the card's lower edge is the farther one */

  ck_assert(card_pose_unproject(&pose, &card, (struct point){3000, horizon - 50}, &x, &y));
  ck_assert(!card_pose_unproject(&pose, &card, (struct point){3000, horizon + 50}, &x, &y));
}
END_TEST

static const struct {
  const char *name, *says;
  struct point corner[4];
} REFUSED[] = {
    {"mirrored", "wrong way round", {{282, 200}, {100, 200}, {100, 291}, {282, 291}}},
    {"crossing", "without a notch", {{100, 200}, {282, 291}, {282, 200}, {100, 291}}},
    {"notch", "without a notch", {{100, 200}, {282, 200}, {160, 220}, {100, 291}}},
    {"three on a line", "without a notch", {{100, 200}, {200, 200}, {282, 200}, {100, 291}}},
    {"all on one place", "without a notch", {{100, 200}, {100, 200}, {100, 200}, {100, 200}}},
    {"two on one place", "without a notch", {{100, 200}, {100, 200}, {282, 291}, {100, 291}}},
    {"no number", "without a notch", {{NAN, 200}, {282, 200}, {282, 291}, {100, 291}}},
};

START_TEST(corners_that_cannot_be_are_refused)
{
  struct card_reference card = card_by_hand();
  struct card_pose pose;
  struct error error;

  ck_assert_msg(!card_pose_from_corners(&card, REFUSED[_i].corner, &pose, &error), "%s", REFUSED[_i].name);
  ck_assert(error.kind == ERROR_USAGE);
  ck_assert_str_eq(error.code, "corners");
  ck_assert_msg(strstr(error.text, REFUSED[_i].says), "%s: %s", REFUSED[_i].name, error.text);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("card/pose");
  TCase *cases = tcase_create("pose");

  tcase_add_test(cases, every_patch_lies_where_a_pinhole_camera_sees_it);
  tcase_add_test(cases, unproject_undoes_project);
  tcase_add_test(cases, scale_is_that_of_the_camera);
  tcase_add_test(cases, tilt_from_afar_needs_no_focal_length);
  tcase_add_test(cases, flat_on_the_scale_is_plain);
  tcase_add_test(cases, bend_moves_the_middle_and_not_the_corners);
  tcase_add_test(cases, places_beyond_the_horizon_are_told);
  tcase_add_loop_test(cases, corners_that_cannot_be_are_refused, 0, sizeof REFUSED / sizeof *REFUSED);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
