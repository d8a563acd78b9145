/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "image/blocks.h"
#include "pictures.h"
#include "random.h"
#include "suite.h"

/* The last digit of a float near 1, twice. (Loops that are long assert only what fails: each assertion is a message to the
 * test runner.) */
static const double FLOAT_ROUNDING = 2.4e-7;

/* An image of random codes, a tenth of them at each end and a tenth next to each end. */
static struct image random_image(struct random *random, int width, int height, int bits)
{
  struct image image = picture_image(width, height, bits);
  unsigned max = image_code_max(&image);

  for (int i = 0; i < 3 * width * height; i++) {
    unsigned codes[10] = {0, 1, max, max - 1}, place = (unsigned)random_below(random, 10);
    unsigned code = place < 4 ? codes[place] : (unsigned)random_below(random, (int)max + 1);
    if (bits == 8) {
      ((uint8_t *)image.codes)[i] = (uint8_t)code;
    } else {
      ((uint16_t *)image.codes)[i] = (uint16_t)code;
    }
  }
  return image;
}

struct plain_block {
  double mean[3], spread, clipped;
  int pixels;
};

/* The same by two passes of double arithmetic, straight from the definitions. */
static struct plain_block plain(const struct image *image, int size, int column, int row)
{
  struct plain_block block = {{0}, 0, 0, 0};
  double max = image_code_max(image);
  int right = (column + 1) * size < image->width ? (column + 1) * size : image->width;
  int bottom = (row + 1) * size < image->height ? (row + 1) * size : image->height;

  block.pixels = (right - column * size) * (bottom - row * size);
  for (int y = row * size; y < bottom; y++) {
    for (int x = column * size; x < right; x++) {
      bool end = false;
      for (int c = 0; c < 3; c++) {
        double code = image_code(image, x, y, c);
        block.mean[c] += code / max / block.pixels;
        end = end || code <= 0 || code >= max;
      }
      block.clipped += end;
    }
  }
  for (int y = row * size; y < bottom; y++) {
    for (int x = column * size; x < right; x++) {
      double off = image_code(image, x, y, 1) / max - block.mean[1];
      block.spread += off * off / block.pixels;
    }
  }
  block.spread = sqrt(block.spread);
  return block;
}

static void assert_blocks(const struct image *image, int size)
{
  struct image_blocks blocks;
  struct error error;

  ck_assert(image_blocks_make(image, size, &blocks, &error));
  ck_assert_int_eq(blocks.columns, (int)floor((double)image->width / size + 0.5));
  ck_assert_int_eq(blocks.rows, (int)floor((double)image->height / size + 0.5));
  for (int i = 0; i < blocks.columns * blocks.rows; i++) {
    struct plain_block block = plain(image, size, i % blocks.columns, i / blocks.columns);
    double off = fabs((double)blocks.spread[i] - block.spread);
    for (int c = 0; c < 3; c++) {
      off = fmax(off, fabs((double)blocks.mean[3 * i + c] - block.mean[c]));
    }
    int clipped = (int)ceil(255 * block.clipped / block.pixels - 1e-9);
    if (!(off <= FLOAT_ROUNDING) || blocks.clipped[i] != clipped) {
      ck_abort_msg("block %d: off by %g; clipped %d, not %d", i, off, blocks.clipped[i], clipped);
    }
  }
  image_blocks_clear(&blocks);
}

static const int SIZES[] = {1, 2, 3, 7, 8, 16, 33, 64, 255, 256};

START_TEST(blocks_agree_with_their_definitions)
{
  enum { RUNS = 12, SEED = 5 };
  struct random random = random_start(SEED + (uint64_t)_i);

  for (int run = 0; run < RUNS; run++) {
    int width = 16 + random_below(&random, 300), height = 16 + random_below(&random, 300);
    int bits = run % 2 ? 8 : 16;
    printf("seed %d run %d: %d x %d, %d bits, size %d\n", SEED + _i, run, width, height, bits, SIZES[_i]);
    struct image image = random_image(&random, width, height, bits);
    assert_blocks(&image, SIZES[_i]);
    image_clear(&image);
  }
}
END_TEST

static struct image even_image(int width, int height, int bits, unsigned code)
{
  struct image image = picture_image(width, height, bits);

  for (int i = 0; i < 3 * width * height; i++) {
    if (bits == 8) {
      ((uint8_t *)image.codes)[i] = (uint8_t)code;
    } else {
      ((uint16_t *)image.codes)[i] = (uint16_t)code;
    }
  }
  return image;
}

/* The largest sums there are: nothing may run over. */
START_TEST(white_and_black_are_exact)
{
  int bits = _i & 1 ? 8 : 16;
  unsigned code = _i & 2 ? bits == 8 ? 255 : 65535 : 0;
  struct image image = even_image(512, 256, bits, code);
  struct image_blocks blocks;
  struct error error;

  ck_assert(image_blocks_make(&image, 256, &blocks, &error));
  ck_assert_int_eq(blocks.columns, 2);
  ck_assert_int_eq(blocks.rows, 1);
  for (int i = 0; i < 2; i++) {
    ck_assert(blocks.mean[3 * i] == (code ? 1.0f : 0.0f) && blocks.spread[i] == 0);
    ck_assert_int_eq(blocks.clipped[i], 255);
  }
  image_blocks_clear(&blocks);
  image_clear(&image);
}
END_TEST

START_TEST(half_white_has_the_largest_spread)
{
  struct image image = even_image(256, 256, 16, 0);
  struct image_blocks blocks;
  struct error error;

  for (int i = 0; i < 3 * 256 * 128; i++) {
    ((uint16_t *)image.codes)[i] = 65535;
  }
  ck_assert(image_blocks_make(&image, 256, &blocks, &error));
  ck_assert(blocks.mean[1] == 0.5f && blocks.spread[0] == 0.5f);
  image_blocks_clear(&blocks);
  image_clear(&image);
}
END_TEST

START_TEST(one_clipped_pixel_is_seen)
{
  struct image image = even_image(256, 256, 8, 128);
  struct image_blocks blocks;
  struct error error;

  ((uint8_t *)image.codes)[3 * 1000 + 2] = 255;
  ck_assert(image_blocks_make(&image, 256, &blocks, &error));
  ck_assert_int_eq(blocks.clipped[0], 1);
  image_blocks_clear(&blocks);
  ((uint8_t *)image.codes)[3 * 1000 + 2] = 254;
  ck_assert(image_blocks_make(&image, 256, &blocks, &error));
  ck_assert_int_eq(blocks.clipped[0], 0);
  image_blocks_clear(&blocks);
  image_clear(&image);
}
END_TEST

START_TEST(less_than_half_a_block_is_none)
{
  struct image image = even_image(100, 127, 8, 128);
  struct image_blocks blocks;
  struct error error;

  ck_assert(image_blocks_make(&image, 256, &blocks, &error));
  ck_assert_int_eq(blocks.columns * blocks.rows, 0);
  image_blocks_clear(&blocks);
  image_clear(&image);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/blocks");
  TCase *cases = tcase_create("blocks");

  tcase_set_timeout(cases, 120);
  tcase_add_loop_test(cases, blocks_agree_with_their_definitions, 0, sizeof SIZES / sizeof *SIZES);
  tcase_add_loop_test(cases, white_and_black_are_exact, 0, 4);
  tcase_add_test(cases, half_white_has_the_largest_spread);
  tcase_add_test(cases, one_clipped_pixel_is_seen);
  tcase_add_test(cases, less_than_half_a_block_is_none);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
