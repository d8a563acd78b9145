/* SPDX-License-Identifier: MIT */
/* Real photographs, where they are at hand: baseline and progressive JPEG, files of two pictures, RGB, RGBA and grey PNG,
 * with and without a profile. */
#include <check.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "image/encoding.h"
#include "shared.h"
#include "suite.h"

enum { SKIPPED = 77 }; /* for the test runner */

static int is_photo(const struct dirent *entry)
{
  const char *dot = strrchr(entry->d_name, '.');

  return dot && (strcmp(dot, ".jpg") == 0 || strcmp(dot, ".png") == 0);
}

/* Name of the photo number i in the order of names; returns how many there are. */
static int photo_name(int i, char *name, size_t room)
{
  char folder[1024];
  struct dirent **entries = NULL;
  int count =
      shared_path("photos", folder, sizeof folder) ? scandir(folder, &entries, is_photo, alphasort) : 0;

  for (int k = 0; k < count; k++) {
    if (k == i) {
      snprintf(name, room, "%s", entries[k]->d_name);
    }
    free(entries[k]);
  }
  free(entries);
  return count < 0 ? 0 : count;
}

static bool read_photo(int i, char *name, size_t room, struct image *image, struct error *error)
{
  char path[1200], inside[300];
  struct file_bytes file;

  photo_name(i, name, room);
  snprintf(inside, sizeof inside, "photos/%s", name);
  ck_assert(shared_path(inside, path, sizeof path));
  ck_assert_msg(file_read(path, IMAGE_FILE_MAX, &file, error), "%s", error->text);
  bool done = image_decode(&file, name, image, error);
  file_bytes_clear(&file);
  return done;
}

/* The one that is refused is grey. */
START_TEST(photo_is_read_or_refused_for_a_reason)
{
  char name[256];
  struct image image;
  struct error error = {0};
  struct encoding encoding;

  if (!read_photo(_i, name, sizeof name, &image, &error)) {
    ck_assert_msg(strcmp(name, "n_pcv10.png") == 0 && strcmp(error.code, "not-rgb") == 0, "%s", error.text);
    return;
  }
  ck_assert_str_ne(name, "n_pcv10.png");
  ck_assert_msg(encoding_of_image(&image, name, &encoding, &error), "%s", error.text);
  ck_assert_msg(encoding.embedded == (image.icc != NULL), "%s: %s", name, encoding.name);
  ck_assert_int_eq(image.lossy, strstr(name, ".jpg") != NULL);
  printf("%s: %d x %d, %s; %s, %s\n", name, image.width, image.height, encoding.name, image.exposure.camera,
         image.exposure.taken);
  image_clear(&image);
}
END_TEST

/* Sizes as displayed: one photo here lies on its side. */
START_TEST(photo_on_its_side_is_upright)
{
  char name[256];
  struct image image;
  struct error error = {0};

  for (int i = 0; i < photo_name(0, name, sizeof name); i++) {
    photo_name(i, name, sizeof name);
    if (strcmp(name, "mlu3.jpg") == 0) {
      ck_assert(read_photo(i, name, sizeof name, &image, &error));
      ck_assert(image.width == 1920 && image.height == 1080);
      image_clear(&image);
      return;
    }
  }
}
END_TEST

int main(void)
{
  char name[256];
  int count = photo_name(0, name, sizeof name);

  if (count == 0) {
    printf("skipped: no photographs beside the sources\n");
    return SKIPPED;
  }
  Suite *suite = suite_create("image/photos");
  TCase *cases = tcase_create("photos");
  tcase_set_timeout(cases, 60);
  tcase_add_loop_test(cases, photo_is_read_or_refused_for_a_reason, 0, count);
  tcase_add_test(cases, photo_on_its_side_is_upright);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
