/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "card/patches.h"
#include "random.h"
#include "suite.h"

/* Patches rendered flat: rounding to codes, in codes. */
static const double ROUNDING = 0.51;
/* Predicted over found standard deviation of a mean, over 60 pictures of four patches, which leaves 5 % of chance. Noise
 * that is white is taken for correlated over two pixels, which makes small patches a fifth too doubtful. */
static const double RATIO_LOW = 0.85, RATIO_HIGH = 1.4;
static const uint64_t SEED = 2004;

enum { SIDE = 4, PATCHES = SIDE * SIDE };

/* A card of 4 x 4 patches of 40 mm at 50 mm, and a photo that shows it at `pixels` a patch. */
struct scene {
  struct card_patch patch[PATCHES];
  struct card_reference card;
  struct image image;
  struct encoding encoding;
  struct card_pose pose;
  double scale;
};

static double code_of(const struct scene *scene, size_t patch, int channel)
{
  (void)scene;
  return 40 + 11.3 * (double)((patch * 7 + (size_t)channel * 5) % PATCHES);
}

static void set_code(struct image *image, int x, int y, int channel, double code)
{
  size_t at = 3 * ((size_t)y * (size_t)image->width + (size_t)x) + (size_t)channel;
  double rounded = floor(fmin(fmax(code, 0), 255) * (image->bits == 8 ? 1 : 257) + 0.5);

  if (image->bits == 8) {
    ((uint8_t *)image->codes)[at] = (uint8_t)rounded;
  } else {
    ((uint16_t *)image->codes)[at] = (uint16_t)rounded;
  }
}

/* Paints `patch`, whole, with a code by place. */
static void paint(struct scene *scene, size_t patch,
                  double (*code)(const struct scene *, size_t, int, double, double, void *), void *context)
{
  const struct card_patch *p = &scene->card.patch[patch];

  for (int y = 0; y < scene->image.height; y++) {
    for (int x = 0; x < scene->image.width; x++) {
      double u = ((x + 0.5) / scene->scale - p->x_mm) / p->width_mm,
             v = ((y + 0.5) / scene->scale - p->y_mm) / p->height_mm;
      for (int c = 0; c < 3 && fabs(u) < 0.5 && fabs(v) < 0.5; c++) {
        set_code(&scene->image, x, y, c, code(scene, patch, c, u, v, context));
      }
    }
  }
}

static double flat(const struct scene *scene, size_t patch, int channel, double u, double v, void *context)
{
  (void)u, (void)v, (void)context;
  return code_of(scene, patch, channel);
}

static void scene_open(struct scene *scene, double pixels, int bits)
{
  static const size_t corner[4] = {0, SIDE - 1, PATCHES - 1, PATCHES - SIDE};
  struct point place[4];
  struct error error;

  *scene = (struct scene){.scale = pixels / 40};
  scene->card = (struct card_reference){.patch = scene->patch, .count = PATCHES};
  for (size_t i = 0; i < PATCHES; i++) {
    scene->patch[i] = (struct card_patch){.x_mm = 25 + 50 * (double)(i % SIDE),
                                          .y_mm = 25 + 50 * (double)(i / SIDE),
                                          .width_mm = 40,
                                          .height_mm = 40};
    snprintf(scene->patch[i].name, sizeof scene->patch[i].name, "p%zu", i);
  }
  for (int k = 0; k < 4; k++) {
    const struct card_patch *p = &scene->patch[corner[k]];
    scene->card.corner[k] = corner[k];
    scene->card.corner_place[k] = (struct card_place){p->x_mm, p->y_mm};
    place[k] = (struct point){p->x_mm * scene->scale, p->y_mm * scene->scale};
  }
  int side = (int)ceil(200 * scene->scale);
  scene->image = (struct image){.width = side, .height = side, .bits = bits};
  scene->image.codes = calloc((size_t)side * (size_t)side * 3, (size_t)bits / 8);
  ck_assert_ptr_nonnull(scene->image.codes);
  ck_assert_msg(encoding_of_image(&scene->image, "scene", &scene->encoding, &error), "%s", error.text);
  ck_assert_msg(card_pose_from_corners(&scene->card, place, &scene->pose, &error), "%s", error.text);
  for (size_t i = 0; i < PATCHES; i++) {
    paint(scene, i, flat, NULL);
  }
}

static void scene_close(struct scene *scene)
{
  free(scene->image.codes);
}

static struct card_patches read_scene(const struct scene *scene)
{
  struct card_patches patches;
  struct error error;

  ck_assert_msg(
      card_patches_read(&scene->image, &scene->encoding, &scene->card, &scene->pose, &patches, &error), "%s",
      error.text);
  ck_assert_uint_eq(patches.count, PATCHES);
  return patches;
}

/* From 5 pixels a patch, of which 9 are read, to 600, which are read in strides. */
START_TEST(flat_patches_read_as_painted)
{
  static const struct {
    double pixels;
    int bits;
  } size[] = {{5, 8}, {8, 8}, {33.3, 8}, {120, 16}, {600, 8}};
  struct scene scene;

  scene_open(&scene, size[_i].pixels, size[_i].bits);
  struct card_patches patches = read_scene(&scene);
  for (size_t i = 0; i < PATCHES; i++) {
    const struct card_patch_view *view = &patches.view[i];
    double area = pow(0.6 * size[_i].pixels, 2);
    ck_assert_msg(view->cause == CARD_USED, "%zu: %s", i, card_cause_word(view->cause));
    ck_assert_msg(view->pixels >= 9 && fabs((double)view->pixels - area) <= 4 * sqrt(area) + 8,
                  "%zu: %zu of %.0f", i, view->pixels, area);
    for (int c = 0; c < 3; c++) {
      double code = code_of(&scene, i, c);
      ck_assert_msg(fabs(view->code.v[c] * 255 - code) < ROUNDING, "%zu: %f for %f", i, view->code.v[c] * 255,
                    code);
      ck_assert_double_eq_tol(view->linear.v[c], encoding_linear(&scene.encoding, c, view->code.v[c]), 1e-6);
      ck_assert_double_gt(view->covariance.m[c][c], 0);
      ck_assert_double_lt(view->covariance.m[c][c], 1e-5);
    }
  }
  card_patches_clear(&patches);
  scene_close(&scene);
}
END_TEST

/* White noise, box-averaged over `box` pixels a side, added to the codes. */
static void add_noise(struct scene *scene, struct random *random, double sd, int box)
{
  int w = scene->image.width, h = scene->image.height;
  double *noise = malloc((size_t)(w + box) * (size_t)(h + box) * sizeof *noise);

  ck_assert_ptr_nonnull(noise);
  for (int c = 0; c < 3; c++) {
    for (int i = 0; i < (w + box) * (h + box); i++) {
      noise[i] = sd * random_normal(random);
    }
    for (int y = 0; y < h; y++) {
      for (int x = 0; x < w; x++) {
        double sum = 0;
        for (int k = 0; k < box * box; k++) {
          sum += noise[(y + k / box) * (w + box) + x + k % box];
        }
        set_code(&scene->image, x, y, c, image_code(&scene->image, x, y, c) / 257.0 + sum / box);
      }
    }
  }
  free(noise);
}

/* Predicted variance of means against how they scatter from picture to picture. */
START_TEST(covariance_tells_how_means_scatter)
{
  static const struct {
    double pixels;
    int box;
    bool lossy;
  } kind[] = {{64, 1, false}, {64, 2, false}, {20, 1, false}, {20, 2, false}, {80, 6, true}};
  enum { PICTURES = 60, WATCHED = 4 };
  double sum[WATCHED] = {0}, square[WATCHED] = {0}, predicted = 0, found = 0;
  struct random random = random_start(SEED + (uint64_t)_i);

  for (int n = 0; n < PICTURES; n++) {
    struct scene scene;
    scene_open(&scene, kind[_i].pixels, 16);
    scene.image.lossy = kind[_i].lossy;
    add_noise(&scene, &random, 4, kind[_i].box);
    struct card_patches patches = read_scene(&scene);
    for (int i = 0; i < WATCHED; i++) {
      const struct card_patch_view *view = &patches.view[i * 5];
      sum[i] += view->linear.v[1];
      square[i] += view->linear.v[1] * view->linear.v[1];
      predicted += view->covariance.m[1][1] / PICTURES;
    }
    card_patches_clear(&patches);
    scene_close(&scene);
  }
  for (int i = 0; i < WATCHED; i++) {
    found += (square[i] - sum[i] * sum[i] / PICTURES) / (PICTURES - 1);
  }
  double ratio = sqrt(predicted / found);
  ck_assert_msg(ratio > RATIO_LOW && ratio < RATIO_HIGH,
                "%.0f pixels, box %d: predicted over found %.3f (seed %d)", kind[_i].pixels, kind[_i].box,
                ratio, (int)SEED + _i);
}
END_TEST

static double ramp(const struct scene *scene, size_t patch, int channel, double u, double v, void *context)
{
  const double *rise = context; /* of linear light over the patch, along u and v */
  double linear = encoding_linear(&scene->encoding, channel, code_of(scene, patch, channel) / 255);

  return 255 * encoding_code(&scene->encoding, channel, linear * (1 + rise[0] * u + rise[1] * v));
}

START_TEST(a_slope_of_the_light_keeps_the_middle)
{
  double rise[2] = {0.08, -0.05};
  struct scene scene;

  scene_open(&scene, 80, 16);
  for (size_t i = 0; i < PATCHES; i++) {
    paint(&scene, i, ramp, rise);
  }
  struct card_patches patches = read_scene(&scene);
  for (size_t i = 0; i < PATCHES; i++) {
    const struct card_patch_view *view = &patches.view[i];
    ck_assert_int_eq(view->cause, CARD_USED);
    for (int c = 0; c < 3; c++) {
      double middle = encoding_linear(&scene.encoding, c, code_of(&scene, i, c) / 255);
      ck_assert_double_eq_tol(view->linear.v[c] / middle, 1, 0.002);
    }
  }
  card_patches_clear(&patches);
  scene_close(&scene);
}
END_TEST

static double edge(const struct scene *scene, size_t patch, int channel, double u, double v, void *context)
{
  (void)v;
  return code_of(scene, patch, channel) * (u > 0.1 ? *(double *)context : 1);
}

static double stain(const struct scene *scene, size_t patch, int channel, double u, double v, void *context)
{
  return hypot(u - 0.15, v + 0.1) < *(double *)context ? 25 : code_of(scene, patch, channel);
}

static double specks(const struct scene *scene, size_t patch, int channel, double u, double v, void *context)
{
  (void)context;
  return fmod(fabs(u * 40), 5) < 1 && fmod(fabs(v * 40), 5) < 1 ? 250 : code_of(scene, patch, channel);
}

/* A third of the pixels is off in each channel, so that none is sound in all three. */
static double mixture(const struct scene *scene, size_t patch, int channel, double u, double v, void *context)
{
  (void)context;
  int third = ((int)floor(u * 60) + (int)floor(v * 60) + 120) % 3;
  return code_of(scene, patch, channel) + (third == channel ? 30 : 0);
}

static double clip(const struct scene *scene, size_t patch, int channel, double u, double v, void *context)
{
  (void)patch, (void)v;
  const double *c = context; /* code at the end, share of the width, channel */
  return channel == (int)c[2] && u > 0.3 - 0.6 * c[1] ? c[0] : code_of(scene, 5, channel);
}

/* One patch of the scene painted otherwise; what the others are must not change. */
static const struct {
  const char *name;
  double (*paint)(const struct scene *, size_t, int, double, double, void *);
  double context[3];
  enum card_cause cause;
} SPOILT[] = {
    {"shadow edge", edge, {0.7}, CARD_UNEVEN},
    {"faint edge", edge, {0.992}, CARD_USED},
    {"stain", stain, {0.12}, CARD_UNEVEN},
    {"pin head", stain, {0.03}, CARD_USED},
    {"few specks", specks, {0}, CARD_USED},
    {"mixture of colours", mixture, {0}, CARD_UNEVEN},
    {"clipped above in one channel", clip, {255, 0.05, 2}, CARD_CLIPPED},
    {"nearly clipped above", clip, {254, 0.05, 2}, CARD_CLIPPED},
    {"near the end but under it", clip, {252, 1, 2}, CARD_USED},
    {"decoder's noise about the end", clip, {253, 1, 0}, CARD_CLIPPED},
    {"clipped below in one channel", clip, {0, 0.05, 0}, CARD_CLIPPED},
    {"nearly clipped below", clip, {2, 1, 0}, CARD_CLIPPED},
    {"dark but not clipped", clip, {4, 1, 0}, CARD_USED},
};

START_TEST(a_spoilt_patch_is_told_from_the_others)
{
  double context[3];
  struct scene scene;

  memcpy(context, SPOILT[_i].context, sizeof context);
  scene_open(&scene, 60, 8);
  paint(&scene, 5, SPOILT[_i].paint, context);
  struct card_patches patches = read_scene(&scene);
  for (size_t i = 0; i < PATCHES; i++) {
    enum card_cause wanted = i == 5 ? SPOILT[_i].cause : CARD_USED;
    ck_assert_msg(patches.view[i].cause == wanted, "%s, patch %zu: %s", SPOILT[_i].name, i,
                  card_cause_word(patches.view[i].cause));
  }
  card_patches_clear(&patches);
  scene_close(&scene);
}
END_TEST

/* Specks and a pin head leave the mean where it was. */
START_TEST(mean_does_not_follow_specks)
{
  double context[3] = {0.03};
  struct scene scene;

  scene_open(&scene, 60, 8);
  paint(&scene, 5, _i ? specks : stain, context);
  struct card_patches patches = read_scene(&scene);
  for (int c = 0; c < 3; c++) {
    ck_assert_double_eq_tol(patches.view[5].code.v[c] * 255, code_of(&scene, 5, c), ROUNDING);
  }
  card_patches_clear(&patches);
  scene_close(&scene);
}
END_TEST

/* Noise alone makes no patch uneven, in small or large patches, coarse or fine. */
START_TEST(noise_is_not_taken_for_dirt)
{
  static const struct {
    double pixels, sd;
    int box;
  } kind[] = {{8, 4, 1}, {20, 8, 1}, {50, 10, 1}, {50, 6, 2}, {20, 5, 3}};
  struct random random = random_start(SEED);

  for (int n = 0; n < 20; n++) {
    struct scene scene;
    scene_open(&scene, kind[_i].pixels, 16);
    add_noise(&scene, &random, kind[_i].sd, kind[_i].box);
    struct card_patches patches = read_scene(&scene);
    for (size_t i = 0; i < PATCHES; i++) {
      ck_assert_msg(patches.view[i].cause == CARD_USED, "%s in patch %zu, picture %d of seed %d",
                    card_cause_word(patches.view[i].cause), i, n, (int)SEED);
    }
    card_patches_clear(&patches);
    scene_close(&scene);
  }
}
END_TEST

static void shift(struct scene *scene, double dx, double dy)
{
  struct error error;
  struct point corner[4];

  for (int k = 0; k < 4; k++) {
    corner[k] = (struct point){scene->pose.corner[k].x + dx, scene->pose.corner[k].y + dy};
  }
  ck_assert(card_pose_from_corners(&scene->card, corner, &scene->pose, &error));
}

START_TEST(patches_out_of_the_frame_are_told)
{
  struct scene scene;

  scene_open(&scene, 40, 8);
  shift(&scene, 50,
        0); /* one column to the right: patches show their left neighbours, the last column is outside */
  struct card_patches patches = read_scene(&scene);
  for (size_t i = 0; i < PATCHES; i++) {
    ck_assert_int_eq(patches.view[i].cause, i % SIDE == SIDE - 1 ? CARD_OUTSIDE : CARD_USED);
    ck_assert_double_eq_tol(patches.view[i].centre.x, 25 + 50 * (double)(i % SIDE + 1), 1e-9);
  }
  card_patches_clear(&patches);
  scene_close(&scene);
}
END_TEST

static void assert_refused(const struct scene *scene, const char *code)
{
  struct card_patches patches;
  struct error error;

  ck_assert(
      !card_patches_read(&scene->image, &scene->encoding, &scene->card, &scene->pose, &patches, &error));
  ck_assert(error.kind == ERROR_UNMEASURABLE);
  ck_assert_msg(!strcmp(error.code, code), "%s: %s", error.code, error.text);
  ck_assert(!patches.view && patches.count == 0);
}

START_TEST(cards_that_cannot_be_read_are_refused)
{
  struct scene scene;

  scene_open(&scene, 3.5, 8);
  assert_refused(&scene, "card-too-small");
  scene_close(&scene);

  scene_open(&scene, 20, 8);
  memset(scene.image.codes, 255, (size_t)scene.image.width * (size_t)scene.image.height * 3);
  assert_refused(&scene, "clipped");
  memset(scene.image.codes, 0, (size_t)scene.image.width * (size_t)scene.image.height * 3);
  assert_refused(&scene, "clipped");
  shift(&scene, 1000, 0);
  assert_refused(&scene, "card-cut");
  scene_close(&scene);
}
END_TEST

/* Blurs linear light by a Gaussian of `sd` pixels, rows then columns. */
static void blur(struct scene *scene, double sd)
{
  enum { REACH = 16 };
  int side = scene->image.width;
  double *line = calloc((size_t)side, sizeof *line), weight[2 * REACH + 1], sum = 0;

  ck_assert_ptr_nonnull(line);
  for (int j = -REACH; j <= REACH; j++) {
    weight[j + REACH] = exp(-0.5 * j * j / (sd * sd));
    sum += weight[j + REACH];
  }
  for (int pass = 0; pass < 2; pass++) {
    for (int n = 0; n < 3 * side; n++) {
      int c = n % 3, fixed = n / 3;
      for (int i = 0; i < side; i++) {
        int x = pass ? fixed : i, y = pass ? i : fixed;
        line[i] = encoding_linear(&scene->encoding, c,
                                  image_code(&scene->image, x, y, c) / (double)image_code_max(&scene->image));
      }
      for (int i = 0; i < side; i++) {
        double mixed = 0;
        for (int j = -REACH; j <= REACH; j++) {
          int from = i + j < 0 ? 0 : i + j >= side ? side - 1 : i + j;
          mixed += weight[j + REACH] / sum * line[from];
        }
        set_code(&scene->image, pass ? fixed : i, pass ? i : fixed, c,
                 255 * encoding_code(&scene->encoding, c, mixed));
      }
    }
  }
  free(line);
}

/* Root mean square of what patches read off, of their light. */
static double off_by(const struct scene *scene, const struct card_patches *patches)
{
  double sum = 0;

  for (size_t i = 0; i < PATCHES; i++) {
    for (int c = 0; c < 3; c++) {
      double due = encoding_linear(&scene->encoding, c, code_of(scene, i, c) / 255);
      double off = patches->view[i].linear.v[c] / due - 1;
      sum += off * off / (3 * PATCHES);
    }
  }
  return sqrt(sum);
}

/* What blur leaves of 1.4 to 11 % that it spills over the black between patches: 16 bits, no noise. */
static const double SPILL_LEFT = 0.004;

START_TEST(blur_is_taken_out)
{
  static const struct {
    double pixels, sd;
  } blurred[] = {{16, 1.5}, {16, 2.2}, {16, 3}, {25, 3}, {40, 5}};
  struct scene scene;

  scene_open(&scene, blurred[_i].pixels, 16);
  blur(&scene, blurred[_i].sd);
  struct card_patches patches = read_scene(&scene);
  double off = off_by(&scene, &patches);
  ck_assert_msg(off < SPILL_LEFT, "%.1f pixels, blur %.1f: %.2f %% off", blurred[_i].pixels, blurred[_i].sd,
                100 * off);
  card_patches_clear(&patches);
  scene_close(&scene);
}
END_TEST

START_TEST(every_cause_has_a_word)
{
  ck_assert_str_eq(card_cause_word(CARD_USED), "used");
  ck_assert_str_eq(card_cause_word(CARD_OUTSIDE), "outside");
  ck_assert_str_eq(card_cause_word(CARD_CLIPPED), "clipped");
  ck_assert_str_eq(card_cause_word(CARD_GLARE), "glare");
  ck_assert_str_eq(card_cause_word(CARD_SHADED), "shaded");
  ck_assert_str_eq(card_cause_word(CARD_UNEVEN), "uneven");
  ck_assert_str_eq(card_cause_word(CARD_DEVIANT), "deviant");
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("card/patches");
  TCase *cases = tcase_create("patches");

  tcase_set_timeout(cases, 120);
  tcase_add_loop_test(cases, flat_patches_read_as_painted, 0, 5);
  tcase_add_loop_test(cases, covariance_tells_how_means_scatter, 0, 5);
  tcase_add_test(cases, a_slope_of_the_light_keeps_the_middle);
  tcase_add_loop_test(cases, a_spoilt_patch_is_told_from_the_others, 0, sizeof SPOILT / sizeof *SPOILT);
  tcase_add_loop_test(cases, mean_does_not_follow_specks, 0, 2);
  tcase_add_loop_test(cases, noise_is_not_taken_for_dirt, 0, 5);
  tcase_add_test(cases, patches_out_of_the_frame_are_told);
  tcase_add_test(cases, cards_that_cannot_be_read_are_refused);
  tcase_add_loop_test(cases, blur_is_taken_out, 0, 5);
  tcase_add_test(cases, every_cause_has_a_word);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
