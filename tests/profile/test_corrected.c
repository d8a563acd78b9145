/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <lcms2.h>

#include "colour/difference.h"
#include "image/write.h"
#include "profile/corrected.h"
#include "random.h"
#include "suite.h"

/* Rounding to 8-bit codes, and the gain's interpolation over 16 pixels. */
static const double CODE_WITHIN = 0.52;
/* Half a step of a code in each channel is up to 0.8 on greys, 0.3 in the mean. */
static const double PIXEL_WITHIN = 0.9, MEAN_WITHIN = 0.3;
static const uint64_t SEED = 66;

enum { WIDTH = 301, HEIGHT = 203 };

/* Light that falls off to the right and the bottom and turns redder. */
static struct vec3 slanting(const void *context, struct point place)
{
  double strength = *(const double *)context;
  double x = place.x / WIDTH - 0.5, y = place.y / HEIGHT - 0.5;

  return (struct vec3){{exp(strength * (0.35 * x + 0.2 * y + 0.1 * x * x)),
                        exp(strength * (0.3 * x + 0.2 * y)), exp(strength * (0.25 * x + 0.2 * y))}};
}

static struct profile profile_by_hand(bool bent)
{
  static const double primaries[3][3] = {{46, 37, 13}, {24, 68, 7}, {2, 11, 66}};
  static const double knot[PROFILE_KNOTS] = {-0.01, 0.1, 0.05, 0, 0.05, 0, -0.05, -0.1};
  struct image image = {.width = 1, .height = 1, .bits = 8};
  struct profile profile = {0};
  struct error error;

  ck_assert_msg(encoding_of_image(&image, "none", &profile.encoding, &error), "%s", error.text);
  memcpy(profile.knot, knot, sizeof knot);
  memcpy(profile.matrix, primaries, sizeof primaries);
  profile.bent = bent;
  profile.bend[0][1] = bent ? 2 : 0;
  profile.bend[1][2] = bent ? -1.5 : 0;
  profile.bend[2][5] = bent ? 1 : 0;
  return profile;
}

/* Squares of 10 pixels in colours of soils. */
static struct image soils(int bits)
{
  struct image image = {.width = WIDTH, .height = HEIGHT, .bits = bits};
  struct random random = random_start(SEED);
  double colour[31 * 21][3];

  for (int k = 0; k < 31 * 21; k++) {
    colour[k][1] = random_between(&random, 85, 150);
    colour[k][0] = colour[k][1] * random_between(&random, 1, 1.25);
    colour[k][2] = colour[k][1] * random_between(&random, 0.8, 1);
  }
  image.codes = malloc((size_t)WIDTH * HEIGHT * 3 * (size_t)bits / 8);
  ck_assert_ptr_nonnull(image.codes);
  for (int i = 0; i < WIDTH * HEIGHT * 3; i++) {
    int x = i / 3 % WIDTH, y = i / 3 / WIDTH;
    double code = colour[y / 10 * 31 + x / 10][i % 3];
    if (bits == 8) {
      ((uint8_t *)image.codes)[i] = (uint8_t)lround(code);
    } else {
      ((uint16_t *)image.codes)[i] = (uint16_t)lround(code * 257);
    }
  }
  return image;
}

static struct vec3 code_at(const struct image *image, int x, int y)
{
  double most = image_code_max(image);

  return (struct vec3){{image_code(image, x, y, 0) / most, image_code(image, x, y, 1) / most,
                        image_code(image, x, y, 2) / most}};
}

static void save_and_load(const struct image *image, const char *ending, struct image *loaded)
{
  char path[64];
  struct file_bytes bytes;
  struct error error;

  snprintf(path, sizeof path, "tawny-corrected-%ld%s", (long)getpid(), ending);
  ck_assert_msg(image_write(image, path, &error), "%s", error.text);
  ck_assert_msg(file_read(path, 1 << 26, &bytes, &error), "%s", error.text);
  ck_assert_msg(image_decode(&bytes, path, loaded, &error), "%s", error.text);
  file_bytes_clear(&bytes);
  unlink(path);
}

/* What a reading takes for the linear light of one pixel. */
static struct vec3 evened_linear(const struct profile *profile, const struct image *image, double strength,
                                 int x, int y)
{
  struct vec3 gain = slanting(&strength, (struct point){x + 0.5, y + 0.5});

  return vec3_divide(profile_linear(profile, code_at(image, x, y)), gain);
}

/* The way of a reading, against the saved picture opened by a program that knows ICC profiles only. */
START_TEST(saved_picture_reads_as_measured)
{
  double strength = 1, sum = 0;
  struct profile profile = profile_by_hand(_i & 2);
  struct image image = soils(_i & 1 ? 16 : 8), evened, loaded;
  struct error error;

  ck_assert_msg(profile_even_image(&image, &profile, slanting, &strength, "corrected", &evened, &error), "%s",
                error.text);
  save_and_load(&evened, ".png", &loaded);
  ck_assert(loaded.width == WIDTH && loaded.height == HEIGHT && loaded.bits == 8 && loaded.icc);
  cmsHPROFILE embedded = cmsOpenProfileFromMem(loaded.icc, (cmsUInt32Number)loaded.icc_size),
              lab = cmsCreateLab4Profile(NULL);
  cmsHTRANSFORM transform = cmsCreateTransform(embedded, TYPE_RGB_DBL, lab, TYPE_Lab_DBL,
                                               INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);
  ck_assert_ptr_nonnull(transform);
  for (int i = 0; i < WIDTH * HEIGHT; i++) {
    int x = i % WIDTH, y = i / WIDTH;
    struct vec3 linear = evened_linear(&profile, &image, strength, x, y),
                wanted = profile_code(&profile, linear), code = code_at(&loaded, x, y);
    struct lab read;
    for (int c = 0; c < 3; c++) {
      ck_assert_msg(fabs(code.v[c] - wanted.v[c]) * 255 < CODE_WITHIN, "%d %d: %f for %f", x, y,
                    255 * code.v[c], 255 * wanted.v[c]);
    }
    cmsDoTransform(transform, code.v, &read, 1);
    double de = colour_de00(profile_lab(&profile, linear), read);
    sum += de;
    ck_assert_msg(de < PIXEL_WITHIN, "%d %d: %.3f (seed %d)", x, y, de, (int)SEED);
  }
  ck_assert_msg(sum / WIDTH / HEIGHT < MEAN_WITHIN, "mean %.3f", sum / WIDTH / HEIGHT);
  cmsDeleteTransform(transform);
  cmsCloseProfile(embedded);
  cmsCloseProfile(lab);
  image_clear(&loaded);
  image_clear(&evened);
  image_clear(&image);
}
END_TEST

START_TEST(even_light_changes_no_code)
{
  double strength = 0;
  struct profile profile = profile_by_hand(false);
  struct image image = soils(8), evened;
  struct error error;

  for (int i = 0; i < 256 * 3; i++) { /* every code but those below the tone curve's black */
    ((uint8_t *)image.codes)[i] = (uint8_t)(i / 3 < 12 ? 12 : i / 3);
  }
  ck_assert_msg(profile_even_image(&image, &profile, slanting, &strength, "corrected", &evened, &error), "%s",
                error.text);
  ck_assert_mem_eq(image.codes, evened.codes, (size_t)WIDTH * HEIGHT * 3);
  image_clear(&evened);
  image_clear(&image);
}
END_TEST

START_TEST(what_goes_beyond_the_scale_stays_at_its_end)
{
  double strength = 3;
  struct profile profile = profile_by_hand(false);
  struct image image = soils(8), evened;
  struct error error;

  ((uint8_t *)image.codes)[0] = 250; /* in the darkest corner */
  ((uint8_t *)image.codes)[WIDTH * HEIGHT * 3 - 1] = 0;
  ck_assert_msg(profile_even_image(&image, &profile, slanting, &strength, "corrected", &evened, &error), "%s",
                error.text);
  ck_assert_uint_eq(image_code(&evened, 0, 0, 0), 255);
  ck_assert_uint_lt(image_code(&evened, WIDTH - 1, HEIGHT - 1, 2), 12);
  image_clear(&evened);
  image_clear(&image);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("profile/corrected");
  TCase *cases = tcase_create("corrected");

  tcase_add_loop_test(cases, saved_picture_reads_as_measured, 0, 4);
  tcase_add_test(cases, even_light_changes_no_code);
  tcase_add_test(cases, what_goes_beyond_the_scale_stays_at_its_end);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
