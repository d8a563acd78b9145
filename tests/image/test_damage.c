/* SPDX-License-Identifier: MIT */
/* Files with bytes changed at random: decoded or refused, in order in both cases. The sanitizers watch. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "image/encoding.h"
#include "pictures.h"
#include "profiles.h"
#include "random.h"
#include "suite.h"

enum { SEED = 41, RUNS = 500, KINDS = 8 };

static const char *const NAMES[KINDS] = {"baseline 4:2:0", "progressive",     "arithmetic",
                                         "three scans",    "restart markers", "PNG",
                                         "PNG interlaced", "PNG 16 bits RGBA"};

static struct file_bytes make(int kind)
{
  uint8_t exif[PICTURE_EXIF_SIZE];
  struct file_bytes profile = profile_make(PROFILE_SRGB, 4.3, 0);
  struct picture_jpeg jpegs[5] = {{.sampling_x = 2, .sampling_y = 2},
                                  {.progressive = true},
                                  {.arithmetic = true},
                                  {.separate_scans = true},
                                  {.restart_rows = 1}};
  struct picture_png pngs[3] = {{.colours = PNG_COLOR_TYPE_RGB},
                                {.colours = PNG_COLOR_TYPE_RGB, .interlaced = true},
                                {.colours = PNG_COLOR_TYPE_RGBA, .bits = 16, .opacity = 65535}};
  struct file_bytes file;

  picture_exif(6, exif);
  if (kind < 5) {
    jpegs[kind].space = JCS_YCbCr;
    jpegs[kind].exif = exif;
    jpegs[kind].exif_size = sizeof exif;
    jpegs[kind].icc = profile.data;
    jpegs[kind].icc_size = profile.size;
    file = picture_make_jpeg(&jpegs[kind]);
  } else {
    pngs[kind - 5].exif = exif + 6;
    pngs[kind - 5].exif_size = sizeof exif - 6;
    pngs[kind - 5].icc = profile.data;
    pngs[kind - 5].icc_size = profile.size;
    file = picture_make_png(&pngs[kind - 5]);
  }
  file_bytes_clear(&profile);
  return file;
}

/* Decodes; true if the picture was taken. */
static bool try_decode(const struct file_bytes *file)
{
  struct image image;
  struct error error = {0};
  struct encoding encoding;

  if (!image_decode(file, "a", &image, &error)) {
    ck_assert(!image.codes && !image.icc && image.width == 0);
    ck_assert_msg(error.kind == ERROR_FILE || error.kind == ERROR_UNMEASURABLE, "kind %d: %s", error.kind,
                  error.text);
    ck_assert(*error.code && *error.text);
    return false;
  }
  ck_assert(image.codes && image.width >= 16 && image.height >= 16 && (image.bits == 8 || image.bits == 16));
  ck_assert_uint_le(image_code(&image, image.width - 1, image.height - 1, 2), image_code_max(&image));
  (void)encoding_of_image(&image, "a", &encoding, &error);
  image_clear(&image);
  return true;
}

static int try_changes(const struct file_bytes *file, int changes, struct random *random)
{
  int taken = 0;
  struct file_bytes changed = {malloc(file->size), file->size};

  ck_assert_ptr_nonnull(changed.data);
  for (int run = 0; run < RUNS; run++) {
    memcpy(changed.data, file->data, file->size);
    for (int i = 0; i < changes; i++) {
      changed.data[random_below(random, (int)file->size)] ^= (uint8_t)(1 + random_below(random, 255));
    }
    taken += try_decode(&changed);
  }
  file_bytes_clear(&changed);
  return taken;
}

START_TEST(changed_bytes_do_no_harm)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  struct file_bytes file = make(_i);

  ck_assert(try_decode(&file));
  for (int changes = 1; changes <= 8; changes *= 2) {
    int taken = try_changes(&file, changes, &random);
    printf("%s, seed %d: %d bytes changed, %d of %d taken\n", NAMES[_i], SEED + _i, changes, taken, RUNS);
    ck_assert_msg(_i < 5 || taken == 0, "PNG has checksums everywhere");
  }
  file_bytes_clear(&file);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/damage");
  TCase *cases = tcase_create("damage");

  tcase_set_timeout(cases, 240);
  tcase_add_loop_test(cases, changed_bytes_do_no_harm, 0, KINDS);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
