/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "card/find.h"
#include "photos.h"
#include "scene.h"
#include "shared.h"
#include "suite.h"

/* Found places lie within this share of the patch spacing: ours on rendered scenes, where truth is exact, and what a photo's
 * truth by eye allows. */
static const double NEAR_RENDERED = 0.05;
static const double NEAR_PHOTO = 0.15;
static const uint64_t SEED = 1931;

static struct card_list cards;

static void cards_open(void)
{
  struct error error;

  ck_assert_msg(card_list_open("chart24", &cards, &error), "%s", error.text);
}

static void cards_close(void)
{
  card_list_clear(&cards);
}

static bool search_image(const struct image *image, struct card_search *search, struct error *error)
{
  struct image_blocks blocks;
  bool found;

  ck_assert(image_blocks_make(image, 8, &blocks, error));
  found = card_find(image, &blocks, &cards, search, error);
  image_blocks_clear(&blocks);
  return found;
}

/* Renders and searches; the error's code is "" when a card was found. */
static struct card_search search_scene(const struct scene *scene, struct random *random, char code[32])
{
  struct card_search search;
  struct error error = {0};
  struct image image;

  scene_render(scene, random, &image);
  if (search_image(&image, &search, &error))
    error.code[0] = '\0';
  else
    ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
  memcpy(code, error.code, 32);
  image_clear(&image);
  return search;
}

/* Largest distance of the four corners from their true places, in pitches. */
static double corners_off(const struct card_pose *pose, const struct scene_card *card)
{
  static const int corner[4][2] = {{0, 0}, {5, 0}, {5, 3}, {0, 3}};
  struct point a = scene_point(card, 2, 1.5), b = scene_point(card, 3, 1.5);
  double worst = 0;

  for (int k = 0; k < 4; k++) {
    struct point p = scene_point(card, corner[k][0], corner[k][1]);

    worst = fmax(worst, hypot(pose->corner[k].x - p.x, pose->corner[k].y - p.y));
  }
  return worst / hypot(a.x - b.x, a.y - b.y);
}

static struct scene plain_scene(int width, int height)
{
  return (struct scene){.width = width,
                        .height = height,
                        .cards = 1,
                        .card = {scene_chart(&cards.card[0])},
                        .cast = {{1, 1, 1}},
                        .gamma = 2.2,
                        .noise = 0.01,
                        .clutter = 40,
                        .bits = 8};
}

/* Any size, place, turn, tilt, cast and tone. */
static struct scene any_scene(struct random *random)
{
  struct scene scene = plain_scene(400 + random_below(random, 500), 300 + random_below(random, 400));
  struct scene_card *card = &scene.card[0];

  for (int i = 0; i < 3; i++)
    scene.cast.v[i] = exp(0.35 * random_normal(random) - 0.3);
  scene.gamma = random_between(random, 1.0, 2.6);
  scene.veil = random_between(random, 0, 0.04);
  scene.noise = random_between(random, 0, 0.02);
  scene.clutter = random_below(random, 150);
  card->fill = random_between(random, 0.76, 1.0);
  do {
    struct point centre = {random_between(random, 0, scene.width), random_between(random, 0, scene.height)};

    scene_place(card, exp(random_between(random, log(12.5), log(90))), random_between(random, 0, 6.3),
                random_between(random, 0, 0.7), random_between(random, 0, 6.3), centre);
  } while (!scene_inside(&scene, card));
  return scene;
}

START_TEST(a_rendered_card_is_found)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct scene scene = any_scene(&random);
  char code[32];
  struct card_search search = search_scene(&scene, &random, code);

  ck_assert_msg(search.count == 1, "seed %d: %s", (int)SEED + _i, code);
  ck_assert_msg(corners_off(&search.pose[0], &scene.card[0]) < NEAR_RENDERED, "seed %d: off by %.3f pitches",
                (int)SEED + _i, corners_off(&search.pose[0], &scene.card[0]));
  ck_assert_uint_eq(search.pose[0].card, 0);
  ck_assert(search.pose[0].fit > 0.5 && search.pose[0].fit <= 1);
}
END_TEST

START_TEST(a_mirrored_card_is_declined)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct scene scene = any_scene(&random);
  static const struct mat3 mirror = {{{-1, 0, 5}, {0, 1, 0}, {0, 0, 1}}};
  char code[32];

  scene.card[0].photo_from_grid = mat3_multiply(scene.card[0].photo_from_grid, mirror);
  search_scene(&scene, &random, code);
  ck_assert_msg(strcmp(code, "card-mirrored") == 0, "seed %d: %s", (int)SEED + _i, code);
}
END_TEST

START_TEST(clutter_is_no_card)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct scene scene = any_scene(&random);
  char code[32];

  scene.cards = 0;
  search_scene(&scene, &random, code);
  ck_assert_msg(strcmp(code, "no-card") == 0, "seed %d: %s", (int)SEED + _i, code);
}
END_TEST

/* Patches of a chart in another order, or of any colours. */
START_TEST(another_chart_is_declined)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct scene scene = any_scene(&random);
  char code[32];

  for (int k = 23; k > 0; k--) {
    int other = random_below(&random, k + 1);
    struct vec3 kept = scene.card[0].linear[k];

    scene.card[0].linear[k] = scene.card[0].linear[other];
    scene.card[0].linear[other] = kept;
  }
  search_scene(&scene, &random, code);
  ck_assert_msg(strcmp(code, "other-card") == 0 || strcmp(code, "no-card") == 0, "seed %d: '%s'",
                (int)SEED + _i, code);
}
END_TEST

START_TEST(a_card_cut_by_the_frame_is_declined)
{
  static const double beyond[4] = {0.4, 0.9, 1.4,
                                   2.0}; /* pitches of the board's far side, from the last centres */
  struct random random = random_start(SEED);
  struct scene scene = plain_scene(400, 300);
  char code[32];

  scene_place(&scene.card[0], 30, 1.5708, 0, 0, (struct point){200, 300 - 30 * (2.5 - beyond[_i])});
  search_scene(&scene, &random, code);
  ck_assert_msg(strcmp(code, "card-cut") == 0, "%.1f: '%s'", beyond[_i], code);
}
END_TEST

START_TEST(a_card_half_hidden_is_declined)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct scene scene = plain_scene(500, 400);
  struct vec3 hand = {{0.45, 0.28, 0.2}};
  char code[32];

  scene_place(&scene.card[0], 40, random_between(&random, 0, 6.3), 0.2, 1, (struct point){250, 200});
  for (int k = 0; k < 24; k++)
    if (_i == 0 ? k % 6 < 2 : _i == 1 ? k % 6 > 3 : k < 9)
      scene.card[0].linear[k] = hand;
  search_scene(&scene, &random, code);
  ck_assert_msg(strcmp(code, "card-cut") == 0, "'%s'", code);
}
END_TEST

START_TEST(a_card_too_small_is_declined)
{
  static const double side[3] = {6.3, 7.0, 7.6};
  struct random random = random_start(SEED);
  struct scene scene = plain_scene(300, 240);
  char code[32];

  scene_place(&scene.card[0], side[_i] / scene.card[0].fill, 0.2, 0, 0, (struct point){150, 120});
  search_scene(&scene, &random, code);
  ck_assert_msg(strcmp(code, "card-too-small") == 0, "%.1f px: '%s'", side[_i], code);
}
END_TEST

/* Patches of 8 pixels in a photo so large that the first look sees them as one pixel each. */
START_TEST(a_small_card_in_a_large_photo_is_found)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct scene scene = plain_scene(3000, 2000);
  char code[32];
  struct card_search search;

  scene_place(&scene.card[0], 8.5 / scene.card[0].fill, random_between(&random, 0, 6.3), 0, 0,
              (struct point){random_between(&random, 100, 2900), random_between(&random, 100, 1900)});
  search = search_scene(&scene, &random, code);
  ck_assert_msg(search.count == 1, "seed %d: '%s'", (int)SEED + _i, code);
  ck_assert(corners_off(&search.pose[0], &scene.card[0]) < 2 * NEAR_RENDERED);
}
END_TEST

START_TEST(two_cards_are_both_found)
{
  struct random random = random_start(SEED);
  struct scene scene = plain_scene(900, 500);
  char code[32];
  struct card_search search;
  bool same;

  scene.cards = 2;
  scene.card[1] = scene.card[0];
  scene_place(&scene.card[0], 40, 0.3, 0.3, 1, (struct point){250, 250});
  scene_place(&scene.card[1], 30, 2.0, 0.2, 2, (struct point){680, 250});
  search = search_scene(&scene, &random, code);
  ck_assert_msg(search.count == 2, "%zu found, '%s'", search.count, code);
  same = corners_off(&search.pose[0], &scene.card[0]) < NEAR_RENDERED;
  ck_assert(corners_off(&search.pose[same ? 0 : 1], &scene.card[0]) < NEAR_RENDERED);
  ck_assert(corners_off(&search.pose[same ? 1 : 0], &scene.card[1]) < NEAR_RENDERED);
}
END_TEST

/* The 24 colours inside a larger target of the same pitch are not the chart. */
START_TEST(a_larger_target_is_declined)
{
  struct random random = random_start(SEED);
  struct scene scene = plain_scene(700, 500);
  struct scene_card *card = &scene.card[0], chart = *card;
  char code[32];

  card->columns = 10;
  card->rows = 8;
  for (int k = 0; k < 80; k++) {
    int column = k % 10 - 2, row = k / 10 - 2;

    if (column >= 0 && row >= 0 && column < 6 && row < 4)
      card->linear[k] = chart.linear[row * 6 + column];
    else
      card->linear[k] =
          (struct vec3){{random_between(&random, 0.1, 0.9), random_unit(&random), random_unit(&random)}};
  }
  scene_place(card, 45, 0.1, 0.1, 1, (struct point){350, 250});
  search_scene(&scene, &random, code);
  ck_assert_str_eq(code, "other-card");
}
END_TEST

/* The same light in 16 bits is found at the same place, and twice the same is the same to the last bit. */
START_TEST(depth_and_repetition_change_nothing)
{
  struct random one = random_start(SEED), two = random_start(SEED), three = random_start(SEED);
  struct scene scene = plain_scene(500, 400);
  struct card_search a, b, deep;
  char code[32];

  scene_place(&scene.card[0], 50, 0.7, 0.3, 1, (struct point){250, 200});
  a = search_scene(&scene, &one, code);
  b = search_scene(&scene, &two, code);
  scene.bits = 16;
  deep = search_scene(&scene, &three, code);
  ck_assert(a.count == 1 && b.count == 1 && deep.count == 1);
  ck_assert_mem_eq(&a.pose[0], &b.pose[0], sizeof a.pose[0]);
  ck_assert(corners_off(&deep.pose[0], &scene.card[0]) < NEAR_RENDERED);
}
END_TEST

/* What the pose says of size agrees with how the scene was made. */
START_TEST(the_pose_is_complete)
{
  struct random random = random_start(SEED);
  struct scene scene = plain_scene(500, 400);
  char code[32];
  struct card_search search;

  scene_place(&scene.card[0], 50, 0.7, 0, 0, (struct point){250, 200});
  search = search_scene(&scene, &random, code);
  ck_assert_uint_eq(search.count, 1);
  ck_assert_double_eq_tol(search.pose[0].mm_per_pixel, 45.5 / 50, 0.005);
  ck_assert_double_eq_tol(search.pose[0].patch_pixels, 44, 0.4);
  ck_assert_double_lt(search.pose[0].tilt_degrees, 5);
}
END_TEST

START_TEST(grey_cards_are_not_searched_for)
{
  struct random random = random_start(SEED);
  struct scene scene = plain_scene(400, 300);
  struct card_list grey;
  struct card_search search;
  struct image_blocks blocks;
  struct image image;
  struct error error;

  scene_place(&scene.card[0], 40, 0.1, 0, 0, (struct point){200, 150});
  scene_render(&scene, &random, &image);
  ck_assert(image_blocks_make(&image, 8, &blocks, &error));
  ck_assert_msg(card_list_open("grey6", &grey, &error), "%s", error.text);
  ck_assert(!card_find(&image, &blocks, &grey, &search, &error));
  ck_assert_str_eq(error.code, "no-card");
  ck_assert(strstr(error.text, "--patches") != NULL);
  image_blocks_clear(&blocks);
  image_clear(&image);
  card_list_clear(&grey);
}
END_TEST

enum { PATCHES_MOST = 160 };

/* A list of one card: patches row by row on a lattice of 10 mm, every third grey or all of them. */
static struct card_list made_list(int columns, int count, bool grey, struct card_patch patch[PATCHES_MOST],
                                  struct card_reference *card)
{
  for (int i = 0; i < count; i++) {
    patch[i] = (struct card_patch){.x_mm = 10 * (i % columns),
                                   .y_mm = 10 * (double)(i / columns),
                                   .width_mm = 8,
                                   .height_mm = 8,
                                   .lab_d50 = {50, 20 * sin(i), 20 * cos(i)},
                                   .grey = grey || i % 3 == 0};
  }
  *card = (struct card_reference){.layout = "made", .patch = patch, .count = (size_t)count};
  return (struct card_list){card, 1};
}

static const struct {
  int columns, count;
  bool grey;
  const char *words;
} UNFIT[] = {
    {6, 24, true, "not colourful enough"},
    {16, 160, false, "more than 144 patches"},
    {6, 23, false, "do not fill even rows and columns"},
    {24, 24, false, "do not fill even rows and columns"},
    {12, 144, false, "no colour card found in the photo"},
};

/* Each with the reason that is true of it. */
START_TEST(cards_that_are_not_searched_for)
{
  struct random random = random_start(SEED);
  struct scene scene = plain_scene(160, 120);
  struct card_patch patch[PATCHES_MOST];
  struct card_reference card;
  struct card_list list = made_list(UNFIT[_i].columns, UNFIT[_i].count, UNFIT[_i].grey, patch, &card);
  struct card_search search;
  struct image_blocks blocks;
  struct image image;
  struct error error;

  scene.cards = 0;
  scene_render(&scene, &random, &image);
  ck_assert(image_blocks_make(&image, 8, &blocks, &error));
  ck_assert(!card_find(&image, &blocks, &list, &search, &error));
  ck_assert_str_eq(error.code, "no-card");
  ck_assert_msg(strstr(error.text, UNFIT[_i].words) && strstr(error.text, "--patches"), "%s", error.text);
  image_blocks_clear(&blocks);
  image_clear(&image);
}
END_TEST

/* -- real photos, where they are -- */

enum { PHOTOS_MAX = 400 };
#define HARD_SHARE 0.85 /* of the hard photos are found at least */

static double photo_error(const struct card_search *search, const struct photo_truth *truth)
{
  double worst = 0;

  for (int k = 0; k < 4; k++)
    worst = fmax(worst, hypot(search->pose[0].corner[k].x - truth->corner[k][0],
                              search->pose[0].corner[k].y - truth->corner[k][1]));
  return worst / photo_spacing(truth);
}

/* Whether the card was found; nothing may be found wrong. */
static bool photo_judge(const char *folder, const struct photo_truth *truth)
{
  struct card_search search;
  struct error error = {0};
  struct image image;
  bool found;

  if (!photo_open(folder, truth->id, &image, &error)) {
    ck_assert_msg(strcmp(error.code, "not-rgb") == 0, "%s", error.text);
    return false;
  }
  found = search_image(&image, &search, &error);
  image_clear(&image);
  ck_assert_msg(!found || truth->has_card, "%s: a card is seen where none is", truth->id);
  ck_assert_msg(found || truth->difficulty != PHOTO_NONE || strcmp(error.code, "no-card") == 0, "%s: %s",
                truth->id, error.code);
  ck_assert_msg(found || !truth->part_of_card || strcmp(error.code, "no-card") != 0 ||
                    truth->difficulty != PHOTO_OTHER || strcmp(truth->id, "n_pcv11") == 0,
                "%s: %s", truth->id, error.code);
  ck_assert_msg(!found || photo_error(&search, truth) < NEAR_PHOTO, "%s: off by %.3f", truth->id,
                photo_error(&search, truth));
  return found;
}

START_TEST(photos_are_judged_rightly)
{
  static struct photo_truth truth[PHOTOS_MAX];
  int found[PHOTO_DIFFICULTIES] = {0}, all[PHOTO_DIFFICULTIES] = {0}, count;
  char folder[400];

  if (!shared_path("photos", folder, sizeof folder)) {
    printf("skipped: no photos at %s\n", folder);
    return;
  }
  count = photo_truths_read(folder, truth, PHOTOS_MAX);
  ck_assert_int_gt(count, 0);
  for (int i = 0; i < count; i++) {
    all[truth[i].difficulty]++;
    found[truth[i].difficulty] += photo_judge(folder, &truth[i]);
  }
  ck_assert_int_eq(found[PHOTO_EASY], all[PHOTO_EASY]);
  ck_assert_int_eq(found[PHOTO_MEDIUM], all[PHOTO_MEDIUM]);
  ck_assert_double_ge(found[PHOTO_HARD], HARD_SHARE * all[PHOTO_HARD]);
}
END_TEST

static Suite *find_suite(void)
{
  Suite *suite = suite_create("find");
  TCase *scenes = tcase_create("scenes"), *photos = tcase_create("photos");

  tcase_add_unchecked_fixture(scenes, cards_open, cards_close);
  tcase_add_unchecked_fixture(photos, cards_open, cards_close);
  tcase_set_timeout(scenes, 120);
  tcase_set_timeout(photos, 600);
  tcase_add_loop_test(scenes, a_rendered_card_is_found, 0, 40);
  tcase_add_loop_test(scenes, a_mirrored_card_is_declined, 100, 110);
  tcase_add_loop_test(scenes, clutter_is_no_card, 200, 220);
  tcase_add_loop_test(scenes, another_chart_is_declined, 300, 310);
  tcase_add_loop_test(scenes, a_card_cut_by_the_frame_is_declined, 0, 4);
  tcase_add_loop_test(scenes, a_card_half_hidden_is_declined, 0, 3);
  tcase_add_loop_test(scenes, a_card_too_small_is_declined, 0, 3);
  tcase_add_loop_test(scenes, a_small_card_in_a_large_photo_is_found, 400, 402);
  tcase_add_test(scenes, two_cards_are_both_found);
  tcase_add_test(scenes, a_larger_target_is_declined);
  tcase_add_test(scenes, depth_and_repetition_change_nothing);
  tcase_add_test(scenes, the_pose_is_complete);
  tcase_add_test(scenes, grey_cards_are_not_searched_for);
  tcase_add_loop_test(scenes, cards_that_are_not_searched_for, 0, sizeof UNFIT / sizeof *UNFIT);
  tcase_add_test(photos, photos_are_judged_rightly);
  suite_add_tcase(suite, scenes);
  suite_add_tcase(suite, photos);
  return suite;
}

int main(void)
{
  return run_suite(find_suite());
}
