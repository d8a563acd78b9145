/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "region/outline.h"
#include "region/walk.h"
#include "deposit.h"
#include "suite.h"

enum { SEED = 99, WIDTH = 150, HEIGHT = 110 };

/* Float tables and a bilinear grid of the light's gain, here as steep as a halving over 3500 pixels: 2e-5 of the value. 16-bit codes go through 1024 steps, which adds
 * what the curve bends between them. */
static const double CLOSE = 2e-5, CLOSE_16 = 2e-4;

struct seen {
  const struct image *image;
  const struct profile *profile;
  const struct light *light;
  const struct walk *walk;
  unsigned char times[WIDTH * HEIGHT];
  double worst_linear, worst_log, worst_gain;
  int wrong_clipped, wrong_block;
};

static double off(double is, double should)
{
  return fabs(is - should) / fmax(fabs(should), 0.01);
}

static void look(const struct walk_run *run, void *context)
{
  struct seen *seen = context;

  for (int i = 0; i < run->count; i++) {
    int x = run->x + i;
    struct vec3 code, gain = light_gain(seen->light, (struct point){x + 0.5, run->y + 0.5});
    bool clipped = false;
    seen->times[run->y * WIDTH + x]++;
    for (int k = 0; k < 3; k++) {
      unsigned raw = image_code(seen->image, x, run->y, k);
      code.v[k] = (double)raw / image_code_max(seen->image);
      clipped = clipped || raw == 0 || raw == image_code_max(seen->image);
    }
    struct vec3 linear = profile_linear(seen->profile, code);
    for (int k = 0; k < 3; k++) {
      double log_linear = log(linear.v[k] + WALK_FLOOR) - log(gain.v[k]);
      seen->worst_linear = fmax(seen->worst_linear, off((double)run->linear[k][i], linear.v[k] / gain.v[k]));
      seen->worst_log = fmax(seen->worst_log, fabs((double)run->log[k][i] - log_linear));
    }
    seen->wrong_clipped += clipped != run->clipped[i];
    size_t block = (size_t)((run->y - seen->walk->top) / seen->walk->block * seen->walk->columns) +
                   (size_t)((x - seen->walk->left) / seen->walk->block);
    seen->wrong_block += block != run->block;
  }
  double middle = run->x + run->count / 2.0;
  double gain = light_gain(seen->light, (struct point){middle, run->y + 0.5}).v[1];
  seen->worst_gain = fmax(seen->worst_gain, off((double)run->gain[1], gain));
}

static const double SHAPES[][8] = {
    {0, 0, WIDTH, 0, WIDTH, HEIGHT, 0, HEIGHT},
    {-0.4, 10, 149, 3, 150.3, 80, 20, 109.5},
    {40, 40, 44, 40, 44, 46, 40, 46},
    {10, 10, 140, 100, 141, 100, 11, 10},
};

/* Every pixel inside is seen once, every `step`-th row, as the profile and the light make it. */
START_TEST(pixels_are_evened)
{
  int bits = _i % 2 ? 16 : 8, step = _i / 2 % 2 ? 3 : 1;
  struct deposit deposit = {.width = WIDTH,
                            .height = HEIGHT,
                            .bits = bits,
                            .colour = {{0.2, 0.1, 0.04}},
                            .texture = 0.8,
                            .hue_texture = 0.3,
                            .noise = 0.02,
                            .seed = SEED};
  struct image image;
  struct vec3 clean;
  struct profile profile;
  struct light light = deposit_light(2e-4, -1e-4, 1e9);
  struct region region = {.label = "a"};
  struct walk walk;
  struct error error;
  struct seen *seen = calloc(1, sizeof *seen);

  deposit_paint(&deposit, &image, &clean, NULL);
  deposit_profile(&profile);
  ck_assert(outline_polygon(&region, SHAPES[_i / 4], 8, &error));
  ck_assert(walk_begin(&walk, &image, &profile, &light, &region, &error));
  *seen = (struct seen){.image = &image, .profile = &profile, .light = &light, .walk = &walk};
  walk_rows(&walk, step, look, seen);
  double close = bits == 8 ? CLOSE : CLOSE_16;
  ck_assert_msg(seen->worst_linear < close, "linear off by %g", seen->worst_linear);
  ck_assert_msg(seen->worst_log < close, "log off by %g", seen->worst_log);
  ck_assert_msg(seen->worst_gain < CLOSE, "gain off by %g", seen->worst_gain);
  ck_assert_int_eq(seen->wrong_clipped, 0);
  ck_assert_int_eq(seen->wrong_block, 0);
  size_t inside = 0, beyond;
  for (int y = 0; y < HEIGHT; y++) {
    for (int x = 0; x < WIDTH; x++) {
      bool in = region_contains(&region, (struct point){x + 0.5, y + 0.5});
      bool visited = in && (y - walk.top) % step == step / 2;
      ck_assert_int_eq(seen->times[y * WIDTH + x], visited);
      inside += in;
    }
  }
  ck_assert_uint_eq(walk_count(&walk, &beyond), inside);
  ck_assert_uint_eq(beyond, 0);
  ck_assert_int_le(walk.columns, WALK_BLOCKS_ACROSS);
  ck_assert_int_le(walk.rows, WALK_BLOCKS_ACROSS);
  walk_end(&walk);
  region_clear(&region);
  free(image.codes);
  free(seen);
}
END_TEST

/* Blocks stay within the fixed table whatever the size of the outline. */
START_TEST(blocks_of_all_sizes)
{
  struct image image = {.width = 5000, .height = 5000, .bits = 8, .lossy = _i % 2};
  struct profile profile;
  struct light light = deposit_light(0, 0, 1e9);
  struct error error;

  deposit_profile(&profile);
  for (int width = 1; width < 5000; width += 1 + width / 7) {
    struct region region = deposit_rectangle(3, 5, width, width / 3 + 1);
    struct walk walk;
    ck_assert(walk_begin(&walk, &image, &profile, &light, &region, &error));
    ck_assert_int_le(walk.columns, WALK_BLOCKS_ACROSS);
    ck_assert_int_ge(walk.columns * walk.block, width);
    ck_assert_int_ge(walk.block, image.lossy ? 8 : 4);
    ck_assert_int_eq(walk.block % walk.cell, 0);
    ck_assert_int_le(walk.cell, WALK_CELL);
    walk_end(&walk);
    region_clear(&region);
  }
}
END_TEST

/* The share beyond a shadow edge, which the light knows in blocks. */
START_TEST(pixels_beyond_an_edge)
{
  struct image image = {.width = 400, .height = 300, .bits = 8};
  struct profile profile;
  struct light light = deposit_light(0, 0, 100);
  struct region region = deposit_rectangle(0, 0, 400, 300);
  struct walk walk;
  struct error error;
  size_t beyond;

  deposit_profile(&profile);
  ck_assert(walk_begin(&walk, &image, &profile, &light, &region, &error));
  size_t inside = walk_count(&walk, &beyond);
  ck_assert_uint_eq(inside, 120000);
  ck_assert_double_eq_tol((double)beyond, 90000, 300 * WALK_CELL / 2.0);
  walk_end(&walk);
  region_clear(&region);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("region walk");
  TCase *tests = tcase_create("all");

  tcase_add_loop_test(tests, pixels_are_evened, 0, 4 * sizeof SHAPES / sizeof *SHAPES);
  tcase_add_loop_test(tests, blocks_of_all_sizes, 0, 2);
  tcase_add_test(tests, pixels_beyond_an_edge);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
