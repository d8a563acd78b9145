/* SPDX-License-Identifier: MIT */
/* The renderer against spectral sums, geometry and the picture files' readers. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "camera.h"
#include "colour/cie_tables.h"
#include "colour/srgb.h"
#include "image/image.h"
#include "made.h"
#include "render.h"
#include "suite.h"
#include "truth.h"

enum { SEED = 5 };

static struct picture rendered(const struct scene *scene)
{
  struct picture picture;
  struct error error;

  ck_assert_msg(render_picture(scene, &picture, &error), "%s", error.text);
  return picture;
}

static const uint8_t *code_at(const struct picture *picture, double x, double y)
{
  return picture->rgb + 3 * ((size_t)y * (size_t)picture->width + (size_t)x);
}

/* A camera that sees as the standard observer does, under D50, and writes plain sRGB. */
static void make_ideal(struct scene *scene)
{
  struct scene_camera *camera = &scene->camera;

  memset(camera, 0, sizeof *camera);
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    for (int k = 0; k < 3; k++) {
      camera->sensitivity[k].band[i] = CIE_OBSERVER[i][k];
    }
  }
  mat3_invert(camera_xyz_d50_from_linear(), &camera->matrix);
  camera->matrix = mat3_scale(camera->matrix, 100); /* green raw is Y / 100 */
  camera->balance = (struct vec3){{1, 1, 1}};
  camera->exposure = 1;
  scene->light.direct = spectrum_of_illuminant(ILLUMINANT_D50);
}

/* A camera whose raw green is written to all channels, by the sRGB curve. */
static void make_green(struct scene *scene)
{
  make_ideal(scene);
  scene->camera.matrix = (struct mat3){{{0, 1, 0}, {0, 1, 0}, {0, 1, 0}}};
}

static double linear_of(const uint8_t *code)
{
  return colour_srgb_decode(code[1] / 255.0);
}

static void check_code(const uint8_t *code, const struct spectrum *reflectance, const char *what)
{
  struct spectrum d50 = spectrum_of_illuminant(ILLUMINANT_D50);
  struct lab lab = colour_lab_from_xyz(spectrum_xyz(reflectance, &d50), COLOUR_WHITE_D50);
  struct srgb due = colour_srgb_from_lab_d50(lab);

  if (due.in_gamut) {
    ck_assert_msg(
        abs(code[0] - due.red) <= 1 && abs(code[1] - due.green) <= 1 && abs(code[2] - due.blue) <= 1,
        "%s: %d %d %d where %d %d %d is due", what, code[0], code[1], code[2], due.red, due.green, due.blue);
  }
}

/* One code of rounding: the raw signal passes through single precision and a table of tones. */
START_TEST(ideal_camera_writes_the_colour_of_the_spectrum)
{
  static struct scene scene;
  struct random random = random_start(SEED + (uint64_t)_i);

  scene_plain(&scene, 32, 32, SEED);
  make_ideal(&scene);
  scene.deposit[0].reflectance = made_reflectance(&random);
  struct picture picture = rendered(&scene);
  for (int i = 0; i < 32 * 32; i++) {
    check_code(picture.rgb + 3 * i, &scene.deposit[0].reflectance, "deposit");
  }
  picture_clear(&picture);
}
END_TEST

static void pose_at_random(struct scene *scene, struct random *random)
{
  struct scene_card *card = &scene->card;

  card->mm_per_pixel = random_between(random, 0.9, 1.6);
  card->centre = (struct point){random_between(random, 250, 390), random_between(random, 200, 280)};
  card->rotation_degrees = random_between(random, -180, 180);
  card->tilt_degrees = random_between(random, 0, 35);
  card->tilt_direction_degrees = random_between(random, 0, 360);
  card->mirrored = random_unit(random) < 0.3;
}

static void load_chart(struct scene *scene)
{
  static struct spectra_source source;
  struct error error;

  ck_assert_msg(source_made(&source, &error), "%s", error.text);
  scene_card_chart24(scene, source.chart[0], 0);
}

/* Every patch stands where the truth says, with its colour to within its edges and the frame's beyond them. */
START_TEST(patches_lie_where_the_plane_map_says)
{
  static struct scene scene;
  struct random random = random_start(SEED + 100 + (uint64_t)_i);
  struct truth truth;

  scene_plain(&scene, 640, 480, SEED);
  load_chart(&scene);
  make_ideal(&scene);
  pose_at_random(&scene, &random);
  truth_of_scene(&scene, &truth);
  struct picture picture = rendered(&scene);
  struct mat3 plane = scene_card_plane(&scene);
  for (int patch = 0; patch < CHART24_PATCHES; patch++) {
    struct point mm = scene_patch_mm(&scene.card.geometry, patch);
    check_code(code_at(&picture, truth.patch[patch].x, truth.patch[patch].y), &scene.card.patch[patch],
               chart24_name(patch));
    for (int side = 0; side < 4; side++) {
      double dx = side == 0 ? 1 : side == 1 ? -1 : 0, dy = side == 2 ? 1 : side == 3 ? -1 : 0;
      struct point in = scene_project(plane, mm.x + 17 * dx, mm.y + 17 * dy);
      struct point out = scene_project(plane, mm.x + 22.75 * dx, mm.y + 22.75 * dy);
      check_code(code_at(&picture, in.x, in.y), &scene.card.patch[patch], chart24_name(patch));
      check_code(code_at(&picture, out.x, out.y), &scene.card.frame, "frame");
    }
  }
  picture_clear(&picture);
}
END_TEST

/* A pinhole camera by hand: at the picture's middle a plane leaning by t is foreshortened by cos t along the lean and not at all
 * across it, and the nearer half is drawn larger. */
START_TEST(tilt_is_true_perspective)
{
  static struct scene scene;
  const double degree = 3.14159265358979 / 180, small = 0.01;

  scene_plain(&scene, 640, 480, SEED);
  load_chart(&scene);
  scene.card.centre = (struct point){320, 240};
  scene.card.mm_per_pixel = 0.5;
  scene.card.tilt_degrees = 10.0 * _i;
  struct mat3 plane = scene_card_plane(&scene);
  double x = scene_card_size_mm(&scene.card.geometry).x / 2 - 16,
         y = scene_card_size_mm(&scene.card.geometry).y / 2 - 16;
  struct point middle = scene_project(plane, x, y);
  struct point along = scene_project(plane, x + small, y), across = scene_project(plane, x, y + small);
  ck_assert_double_eq_tol(middle.x, 320, 1e-9);
  ck_assert_double_eq_tol(middle.y, 240, 1e-9);
  ck_assert_double_eq_tol((along.x - middle.x) / small, 2 * cos(10.0 * _i * degree), 1e-4);
  ck_assert_double_eq_tol((across.y - middle.y) / small, 2, 1e-4);
  /* by similar triangles: x = f X cos t / (Z - X sin t), Z = f * 0.5 mm */
  double f = scene.focal_pixels, far = 100;
  double t = 10.0 * _i * degree, due = f * far * cos(t) / (0.5 * f - far * sin(t));
  ck_assert_double_eq_tol(scene_project(plane, x + far, y).x - 320, due, 1e-9);
}
END_TEST

START_TEST(same_scene_gives_the_same_bytes)
{
  static struct spectra_source source;
  static struct scene scene;
  struct file_bytes one, two, other;
  struct error error;

  ck_assert(source_made(&source, &error));
  scene_random(SCENE_HARD, 77, &source, &scene);
  ck_assert(render_file(&scene, &one, &error));
  memset(&scene, 0xa5, sizeof scene);
  scene_random(SCENE_HARD, 77, &source, &scene);
  ck_assert(render_file(&scene, &two, &error));
  ck_assert_uint_eq(one.size, two.size);
  ck_assert(!memcmp(one.data, two.data, one.size));
  scene_random(SCENE_HARD, 78, &source, &scene);
  ck_assert(render_file(&scene, &other, &error));
  ck_assert(one.size != other.size || memcmp(one.data, other.data, one.size));
  file_bytes_clear(&one);
  file_bytes_clear(&two);
  file_bytes_clear(&other);
}
END_TEST

/* Decoded light over that at the card's middle is the gain the truth states, to 8-bit rounding: half a code of about 100 is 0.6 %
 * of light. */
START_TEST(gain_is_the_light_in_the_picture)
{
  static struct scene scene;
  struct truth truth;

  scene_plain(&scene, 600, 400, SEED);
  load_chart(&scene);
  make_green(&scene);
  scene.light = (struct scene_light){.direct = spectrum_of_illuminant(ILLUMINANT_D50),
                                     .sky = spectrum_of_daylight(15000),
                                     .sky_share = 0.3,
                                     .gradient = {0.3, -0.2},
                                     .bulge = -0.1,
                                     .sky_gradient = {-0.4, 0.5},
                                     .vignette = 0.4};
  for (int i = 0; i < CHART24_PATCHES; i++) {
    scene.card.patch[i] = scene.deposit[0].reflectance;
  }
  scene.card.frame = scene.deposit[0].reflectance;
  scene.card.centre = (struct point){100, 300};
  scene.card.mm_per_pixel = 3;
  scene.regions = 1;
  scene.region[0] =
      (struct scene_region){.shape = REGION_CIRCLE, .vertex = {{480, 80}}, .vertices = 1, .radius = 30};
  truth_of_scene(&scene, &truth);
  struct picture picture = rendered(&scene);
  double seen = linear_of(code_at(&picture, 480, 80)) / linear_of(code_at(&picture, 100, 300));
  ck_assert_double_eq_tol(seen / truth.region[0].gain, 1, 0.015);
  ck_assert_double_eq_tol(truth.region[0].camera_gain.v[1], truth.region[0].gain, 1e-9);
  ck_assert_int_eq(truth.region[0].light, TRUTH_LIT);
  ck_assert_double_eq_tol((double)truth.region[0].pixels, 3.14159 * 900, 30);
  picture_clear(&picture);
}
END_TEST

START_TEST(shadow_takes_the_direct_light_away)
{
  static struct scene scene;
  struct truth truth;

  scene_plain(&scene, 400, 100, SEED);
  make_green(&scene);
  scene.light.sky = scene.light.direct;
  scene.light.sky_share = 0.2;
  scene.light.depth = 0.9;
  scene.light.edges = 1;
  scene.light.edge[0] = (struct scene_edge){{200, 50}, 0, 10};
  scene.regions = 3;
  for (int i = 0; i < 3; i++) {
    scene.region[i] = (struct scene_region){
        .shape = REGION_RECTANGLE, .vertex = {{20 + 150 * i, 20}, {80 + 150 * i, 80}}, .vertices = 2};
  }
  truth_of_scene(&scene, &truth);
  struct picture picture = rendered(&scene);
  ck_assert_int_eq(truth.region[0].light, TRUTH_LIT);
  ck_assert_int_eq(truth.region[1].light, TRUTH_EDGE);
  ck_assert_int_eq(truth.region[2].light, TRUTH_SHADED);
  ck_assert_double_eq_tol(truth.region[2].gain, 0.28, 1e-6);
  ck_assert_double_eq_tol(linear_of(code_at(&picture, 390, 50)) / linear_of(code_at(&picture, 10, 50)), 0.28,
                          0.01);
  double beside = linear_of(code_at(&picture, 199, 50)) + linear_of(code_at(&picture, 200, 50));
  ck_assert_double_eq_tol(beside / 2 / linear_of(code_at(&picture, 10, 50)), 0.64, 0.01);
  picture_clear(&picture);
}
END_TEST

static void linear_moments(const struct picture *picture, double *mean, double *deviation)
{
  size_t pixels = (size_t)picture->width * (size_t)picture->height;
  double sum = 0, square = 0;

  for (size_t i = 0; i < pixels; i++) {
    double value = linear_of(picture->rgb + 3 * i);
    sum += value;
    square += value * value;
  }
  *mean = sum / (double)pixels;
  *deviation = sqrt(square / (double)pixels - *mean * *mean);
}

START_TEST(noise_has_the_stated_size)
{
  static struct scene scene;
  double mean, deviation;

  scene_plain(&scene, 300, 300, SEED);
  make_green(&scene);
  scene.camera.read_noise = 0.006;
  scene.camera.shot_noise = 4e-4;
  struct picture picture = rendered(&scene);
  linear_moments(&picture, &mean, &deviation);
  double code = 0.0033 / sqrt(12); /* steps of 8 bits at 18 % */
  ck_assert_double_eq_tol(mean, 0.18, 0.001);
  ck_assert_double_eq_tol(deviation, sqrt(3.6e-5 + 4e-4 * 0.18 + code * code), 2e-4);
  picture_clear(&picture);
}
END_TEST

/* The truth is the mean reflectance, so texture must leave the mean alone. */
START_TEST(texture_keeps_the_mean)
{
  static struct scene scene;
  double mean, deviation;

  scene_plain(&scene, 500, 500, SEED);
  make_green(&scene);
  scene.deposit[0].texture = (struct scene_texture){.size = 0.12, .grain = 2, .coarse = 0.05, .mottle = 0.02};
  struct picture picture = rendered(&scene);
  linear_moments(&picture, &mean, &deviation);
  ck_assert_double_eq_tol(mean / 0.18, 1, 0.01);
  ck_assert_double_eq_tol(deviation / 0.18, 0.12, 0.015);
  picture_clear(&picture);
}
END_TEST

START_TEST(inclusions_cover_the_stated_share)
{
  static struct scene scene;
  size_t other = 0;

  scene_plain(&scene, 600, 600, SEED);
  make_green(&scene);
  scene.deposit[0].texture.stones = 0.05;
  scene.deposit[0].texture.stone_pixels = 4;
  struct picture picture = rendered(&scene);
  for (size_t i = 0; i < 360000; i++) {
    other += fabs(linear_of(picture.rgb + 3 * i) - 0.18) > 0.004;
  }
  ck_assert_double_eq_tol((double)other / 360000, 0.05, 0.012);
  picture_clear(&picture);
}
END_TEST

/* Width of a step edge: derivative is the Gaussian itself, so its second moment is sigma squared (plus 1/12 of a pixel). */
START_TEST(blur_is_the_stated_gaussian)
{
  static struct scene scene;
  double moment = 0, mass = 0, middle = 0;

  scene_plain(&scene, 200, 50, SEED);
  make_green(&scene);
  scene.camera.blur = 3;
  scene.deposits = 2;
  scene.deposit[0].reflectance = made_flat(0.6);
  scene.deposit[1] = scene.deposit[0];
  scene.deposit[1].reflectance = made_flat(0.1);
  scene.deposit[1].vertex[0].x = scene.deposit[1].vertex[3].x = 100;
  struct picture picture = rendered(&scene);
  for (int pass = 0; pass < 2; pass++) {
    mass = moment = 0;
    for (int x = 80; x < 120; x++) {
      double fall = linear_of(code_at(&picture, x, 25)) - linear_of(code_at(&picture, x + 1, 25));
      mass += fall;
      moment += fall * (pass ? pow(x + 1 - middle, 2) : x + 1);
    }
    middle = pass ? middle : moment / mass;
  }
  ck_assert_double_eq_tol(middle, 100, 0.1);
  ck_assert_double_eq_tol(sqrt(moment / mass), 3, 0.15);
  picture_clear(&picture);
}
END_TEST

START_TEST(glare_and_veil_add_light)
{
  static struct scene scene;

  scene_plain(&scene, 400, 300, SEED);
  load_chart(&scene);
  make_green(&scene);
  scene.card.centre = (struct point){200, 150};
  scene.card.mm_per_pixel = 1;
  scene.card.glare[23] = 0.3;
  struct point mm = scene_patch_mm(&scene.card.geometry, 23);
  struct point place = scene_project(scene_card_plane(&scene), mm.x, mm.y);
  struct picture picture = rendered(&scene);
  ck_assert_double_eq_tol(linear_of(code_at(&picture, place.x, place.y)), 0.33, 0.01);
  double before = linear_of(code_at(&picture, 5, 5));
  picture_clear(&picture);
  scene.camera.veil = 0.1;
  picture = rendered(&scene);
  ck_assert_double_eq_tol(linear_of(code_at(&picture, 5, 5)) - before, 0.018,
                          0.004); /* a tenth of the mean, near 18 % */
  picture_clear(&picture);
}
END_TEST

/* Largest difference of codes; JPEG rings beside the edges of the test picture, so these are left out. */
static int codes_apart(const struct image *image, const struct picture *picture, bool lossy)
{
  int most = 0;

  for (int i = 0; i < 64 * 48 * 3; i++) {
    int x = i / 3 % 64, y = i / 192;
    bool edge = lossy && x > 30 && y > 20 && (x < 50 || y < 40);
    int apart = abs(((const uint8_t *)image->codes)[i] - picture->rgb[i]);
    most = !edge && apart > most ? apart : most;
  }
  return most;
}

/* The program's own reader sees the picture upright, with its facts. */
START_TEST(files_are_read_back)
{
  static struct scene scene;
  struct picture picture;
  struct file_bytes file;
  struct image image;
  struct error error;

  scene_plain(&scene, 64, 48, SEED);
  scene.deposits = 2;
  scene.deposit[1] = scene.deposit[0];
  scene.deposit[1].reflectance = made_flat(0.7);
  scene.deposit[1].vertex[0] = (struct point){40, 30};
  scene.deposit[1].vertex[1].y = 30;
  scene.deposit[1].vertex[3].x = 40;
  scene.file = (struct scene_file){_i ? 95 : 0, true, _i ? _i : 1, "Rendered"};
  ck_assert(render_picture(&scene, &picture, &error));
  ck_assert(picture_file(&picture, &scene.file, &file, &error));
  ck_assert_msg(image_decode(&file, "file", &image, &error), "orientation %d: %s", _i, error.text);
  ck_assert_int_eq(image.width, 64);
  ck_assert_int_eq(image.height, 48);
  int apart = codes_apart(&image, &picture, _i != 0);
  ck_assert_msg(apart <= (_i ? 4 : 0), "orientation %d: %d codes apart", _i, apart);
  if (_i) {
    ck_assert_str_eq(image.exposure.camera, "tawny Rendered");
    ck_assert_str_eq(image.exposure.taken, "2026-05-04T11:32:05");
    ck_assert_double_eq_tol(image.exposure.exposure_seconds, 0.008, 1e-9);
    ck_assert_double_eq_tol(image.exposure.f_number, 8, 1e-9);
    ck_assert_double_eq_tol(image.exposure.sensitivity_iso, 100, 1e-9);
    ck_assert_int_eq(image.exposure.flash_fired, IMAGE_NO);
  }
  image_clear(&image);
  file_bytes_clear(&file);
  picture_clear(&picture);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("support/render");
  TCase *cases = tcase_create("render");

  tcase_add_loop_test(cases, ideal_camera_writes_the_colour_of_the_spectrum, 0, 20);
  tcase_add_loop_test(cases, patches_lie_where_the_plane_map_says, 0, 10);
  tcase_add_loop_test(cases, tilt_is_true_perspective, 0, 5);
  tcase_add_test(cases, same_scene_gives_the_same_bytes);
  tcase_add_test(cases, gain_is_the_light_in_the_picture);
  tcase_add_test(cases, shadow_takes_the_direct_light_away);
  tcase_add_test(cases, noise_has_the_stated_size);
  tcase_add_test(cases, texture_keeps_the_mean);
  tcase_add_test(cases, inclusions_cover_the_stated_share);
  tcase_add_test(cases, blur_is_the_stated_gaussian);
  tcase_add_test(cases, glare_and_veil_add_light);
  tcase_add_loop_test(cases, files_are_read_back, 0, 9);
  tcase_set_timeout(cases, 60);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
