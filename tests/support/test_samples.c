/* SPDX-License-Identifier: MIT */
/* The sample photos beside the program are what the renderer makes today, and so are their regions and truth. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "image/image.h"
#include "suite.h"

static const char *const FILES[] = {"regions.csv", "truth.csv", "section-dry.jpg", "section-moist.jpg",
                                    "sherd.jpg"};

static char folder[] = "/tmp/tawny-samples-XXXXXX";

static void render_all(void)
{
  char command[1024];

  ck_assert_ptr_nonnull(mkdtemp(folder));
  snprintf(command, sizeof command, "'%s' '%s'", RENDER_SAMPLES, folder);
  ck_assert_int_eq(system(command), 0);
}

static void remove_all(void)
{
  char path[256];

  for (size_t i = 0; i < sizeof FILES / sizeof *FILES; i++) {
    snprintf(path, sizeof path, "%s/%s", folder, FILES[i]);
    unlink(path);
  }
  rmdir(folder);
}

static struct file_bytes read_one(const char *where, const char *name)
{
  struct file_bytes bytes;
  struct error error;
  char path[1024];

  snprintf(path, sizeof path, "%s/%s", where, name);
  ck_assert_msg(file_read(path, 1 << 24, &bytes, &error), "%s", error.text);
  return bytes;
}

/* Mean distance of codes: JPEG coders may round differently, pictures may not differ. */
static double apart(const struct file_bytes *one, const struct file_bytes *two)
{
  struct image a, b;
  struct error error;
  double sum = 0;

  ck_assert_msg(image_decode(one, "kept", &a, &error), "%s", error.text);
  ck_assert_msg(image_decode(two, "new", &b, &error), "%s", error.text);
  ck_assert(a.width == 1600 && a.height == 1200 && b.width == 1600 && b.height == 1200);
  for (size_t i = 0; i < 3 * 1600 * 1200; i++) {
    sum += abs(((uint8_t *)a.codes)[i] - ((uint8_t *)b.codes)[i]);
  }
  image_clear(&a);
  image_clear(&b);
  return sum / (3 * 1600 * 1200);
}

START_TEST(file_is_up_to_date)
{
  struct file_bytes kept = read_one(TAWNY_SOURCE_ROOT "/samples", FILES[_i]),
                    made = read_one(folder, FILES[_i]);

  if (strstr(FILES[_i], ".csv")) {
    ck_assert_msg(kept.size == made.size && !memcmp(kept.data, made.data, kept.size),
                  "samples/%s differs: run the build's target `samples`", FILES[_i]);
  } else {
    double mean = apart(&kept, &made);
    ck_assert_msg(mean < 0.2, "samples/%s: %.2f codes apart: run the build's target `samples`", FILES[_i],
                  mean);
    ck_assert_uint_lt(kept.size, 700000);
  }
  file_bytes_clear(&kept);
  file_bytes_clear(&made);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("support/samples");
  TCase *cases = tcase_create("samples");

  tcase_add_unchecked_fixture(cases, render_all, remove_all);
  tcase_add_loop_test(cases, file_is_up_to_date, 0, sizeof FILES / sizeof *FILES);
  tcase_set_timeout(cases, 120);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
