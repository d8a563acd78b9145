/* SPDX-License-Identifier: MIT */
/* Random scenes keep what their tier promises. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suite.h"
#include "texture.h"
#include "truth.h"

enum { SEEDS = 30 };

static struct spectra_source made;

static void make_source(void)
{
  struct error error;

  ck_assert_msg(source_made(&made, &error), "%s", error.text);
}

/* Pixels of the region that are of another deposit, on a grid of 4. */
static int pixels_astray(const struct scene *scene, const uint8_t *map, const struct scene_region *region)
{
  int astray = 0;

  for (int y = 0; y < scene->height; y += 4) {
    for (int x = 0; x < scene->width; x += 4) {
      int id = map[(size_t)y * (size_t)scene->width + (size_t)x];
      astray += scene_region_contains(region, (struct point){x + 0.5, y + 0.5}) && id != region->deposit;
    }
  }
  return astray;
}

static void check_regions(const struct scene *scene, uint64_t seed)
{
  uint8_t *map = malloc((size_t)scene->width * (size_t)scene->height);

  ck_assert_ptr_nonnull(map);
  texture_paint_deposits(scene, map);
  for (int i = 0; i < scene->regions; i++) {
    int astray = pixels_astray(scene, map, &scene->region[i]);
    ck_assert_msg(!astray, "seed %d: region %s leaves its deposit", (int)seed, scene->region[i].label);
  }
  free(map);
}

static void check_card(const struct scene *scene, const struct truth *truth, uint64_t seed)
{
  struct point size = scene_card_size_mm(&scene->card.geometry);
  double reach = size.x / scene->card.mm_per_pixel;

  ck_assert(scene->card.present);
  for (int k = 0; k < truth->patches; k++) {
    struct point p = truth->patch[k];
    ck_assert_msg(p.x > 0 && p.y > 0 && p.x < scene->width && p.y < scene->height,
                  "seed %d: patch %d at %.1f %.1f", (int)seed, k + 1, p.x, p.y);
    for (int i = 0; i < scene->regions; i++) {
      ck_assert_msg(!scene_region_contains(&scene->region[i], p), "seed %d: region over the card", (int)seed);
    }
  }
  ck_assert_double_ge(reach, 0.079 * scene->width);
}

/* Largest log ratio of light over the frame without a shadow. */
static double light_range(const struct scene *scene)
{
  double least = INFINITY, most = 0;

  for (int i = 0; i <= 10; i++) {
    for (int j = 0; j <= 10; j++) {
      struct point place = {scene->width * i / 10.0, scene->height * j / 10.0};
      struct scene_weights weights = scene_weights_at(scene, place);
      least = fmin(least, weights.direct + weights.sky);
      most = fmax(most, weights.direct + weights.sky);
    }
  }
  return log(most / least);
}

START_TEST(tier_keeps_its_promises)
{
  static struct scene scene;
  static struct truth truth;
  uint64_t seed = 1 + (uint64_t)_i / 3;
  enum scene_tier tier = (enum scene_tier)(_i % 3);

  scene_random(tier, seed, &made, &scene);
  truth_of_scene(&scene, &truth);
  ck_assert_int_ge(scene.regions, 2);
  ck_assert(scene.deposits >= 3 && scene.deposits <= 8);
  check_regions(&scene, seed);
  check_card(&scene, &truth, seed);
  double range = light_range(&scene);
  if (tier == SCENE_CLEAN) {
    ck_assert_double_eq_tol(range, 0, 1e-9);
    ck_assert(scene.camera.contrast == 0 && scene.file.jpeg_quality == 0);
  } else if (tier == SCENE_FIELD) {
    ck_assert_double_lt(range, 0.9);
    ck_assert_int_eq(scene.light.edges, 0);
  }
  for (int i = 0; tier != SCENE_HARD && i < truth.regions; i++) {
    ck_assert_int_eq(truth.region[i].light, TRUTH_LIT);
  }
}
END_TEST

START_TEST(measured_spectra_serve_too)
{
  static struct spectra_source source;
  static struct scene scene;
  struct error error;

  if (!source_measured(&source, &error)) {
    printf("skipped: %s\n", error.text);
    return;
  }
  for (uint64_t seed = 1; seed <= 5; seed++) {
    scene_random(SCENE_FIELD, seed, &source, &scene);
    ck_assert_int_ge(scene.regions, 2);
  }
  source_clear(&source);
}
END_TEST

START_TEST(absent_spectra_are_an_error)
{
  static struct spectra_source source;
  struct error error;

  ck_assert_int_eq(setenv("TAWNY_SHARED", "/nowhere", 1), 0);
  ck_assert(!source_measured(&source, &error));
  ck_assert_str_eq(error.code, "absent");
}
END_TEST

START_TEST(regions_file_has_a_row_a_region)
{
  static struct scene scene;
  struct text out = {0};
  int rows = 0;

  scene_random(SCENE_FIELD, 2, &made, &scene);
  truth_regions_csv(&scene, "a.jpg", true, &out);
  ck_assert(!strncmp(out.data, "photo,region,context,find,zone,role,moisture,shape,points\na.jpg,10", 66));
  for (const char *c = out.data; *c; c++) {
    rows += *c == '\n';
  }
  ck_assert_int_eq(rows, scene.regions + 1);
  text_clear(&out);
}
END_TEST

/* Variance 1 and correlation over the stated length. */
START_TEST(smooth_noise_has_variance_1)
{
  enum { COUNT = 200000 };
  double sum = 0, square = 0, near = 0, far = 0;

  for (int i = 0; i < COUNT; i++) {
    double x = 3.7 * i, value = texture_noise(x, 0.31 * i, 10, 9);
    sum += value;
    square += value * value;
    near += value * texture_noise(x + 2, 0.31 * i, 10, 9);
    far += value * texture_noise(x + 25, 0.31 * i, 10, 9);
  }
  ck_assert_double_eq_tol(sum / COUNT, 0, 0.05);
  ck_assert_double_eq_tol(square / COUNT, 1, 0.05);
  ck_assert_double_gt(near / COUNT, 0.8);
  ck_assert_double_eq_tol(far / COUNT, 0, 0.05);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("support/scene");
  TCase *cases = tcase_create("scene");

  tcase_add_unchecked_fixture(cases, make_source, NULL);
  tcase_add_loop_test(cases, tier_keeps_its_promises, 0, 3 * SEEDS);
  tcase_add_test(cases, measured_spectra_serve_too);
  tcase_add_test(cases, absent_spectra_are_an_error);
  tcase_add_test(cases, regions_file_has_a_row_a_region);
  tcase_add_test(cases, smooth_noise_has_variance_1);
  tcase_set_timeout(cases, 60);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
