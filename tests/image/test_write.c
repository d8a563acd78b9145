/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "image/write.h"
#include "pictures.h"
#include "profiles.h"
#include "suite.h"

/* A JPEG of quality 95 on a smooth picture: its smallest quantisation steps are 1 to 3, YCbCr adds 2. */
enum { QUALITY_95 = 6 };

static char folder[] = "/tmp/tawny-write-XXXXXX";

static void make_folder(void)
{
  ck_assert_ptr_nonnull(mkdtemp(folder));
}

/* The folder is empty again but for the files named, which are removed. */
static void remove_folder(void)
{
  DIR *entries = opendir(folder);
  struct dirent *entry;

  ck_assert_ptr_nonnull(entries);
  while ((entry = readdir(entries))) {
    char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
    unlink(path);
  }
  closedir(entries);
  rmdir(folder);
  strcpy(folder + sizeof folder - 7, "XXXXXX");
}

static int files_in_folder(void)
{
  DIR *entries = opendir(folder);
  struct dirent *entry;
  int count = 0;

  ck_assert_ptr_nonnull(entries);
  while ((entry = readdir(entries))) {
    count += entry->d_name[0] != '.';
  }
  closedir(entries);
  return count;
}

static const char *in_folder(const char *name, char *path, size_t room)
{
  snprintf(path, room, "%s/%s", folder, name);
  return path;
}

static struct image write_and_read(const struct image *image, const char *name)
{
  char path[64];
  struct error error;
  struct file_bytes file;
  struct image back;

  in_folder(name, path, sizeof path);
  ck_assert_msg(image_write(image, path, &error), "%s", error.text);
  ck_assert_msg(file_read(path, IMAGE_FILE_MAX, &file, &error), "%s", error.text);
  ck_assert_msg(image_decode(&file, name, &back, &error), "%s", error.text);
  file_bytes_clear(&file);
  return back;
}

static const struct {
  const char *name;
  int bits;
} PNGS[] = {{"a.png", 8}, {"b.PNG", 16}};

START_TEST(png_keeps_codes_and_profile)
{
  struct image image = picture_image(61, 35, PNGS[_i].bits);
  struct file_bytes profile = profile_make(PROFILE_DISPLAY_P3, 4.3, 0);

  image.icc = profile.data;
  image.icc_size = profile.size;
  struct image back = write_and_read(&image, PNGS[_i].name);
  ck_assert(back.width == 61 && back.height == 35 && back.bits == image.bits);
  ck_assert_mem_eq(back.codes, image.codes, 3u * 61 * 35 * (unsigned)(image.bits / 8));
  ck_assert_uint_eq(back.icc_size, profile.size);
  ck_assert_mem_eq(back.icc, profile.data, profile.size);
  ck_assert_int_eq(files_in_folder(), 1);
  image_clear(&back);
  image_clear(&image);
}
END_TEST

static const struct {
  const char *name;
  int bits;
} JPEGS[] = {{"a.jpg", 8}, {"b.JPEG", 8}, {"c.jpeg", 16}};

START_TEST(jpeg_keeps_colours_and_profile)
{
  struct image image = picture_image(PICTURE_WIDTH, PICTURE_HEIGHT, JPEGS[_i].bits);
  struct file_bytes profile = profile_make(PROFILE_SRGB, 2.4, 4096);

  image.icc = profile.data;
  image.icc_size = profile.size;
  struct image back = write_and_read(&image, JPEGS[_i].name);
  ck_assert(back.width == PICTURE_WIDTH && back.height == PICTURE_HEIGHT && back.bits == 8);
  for (int i = 0; i < 3 * back.width * back.height; i++) {
    int x = i / 3 % back.width, y = i / 3 / back.width, c = i % 3;
    int off = (int)image_code(&back, x, y, c) - (int)picture_code(x, y, c);
    ck_assert_msg(abs(off) <= QUALITY_95, "%d, %d is off by %d", x, y, off);
  }
  ck_assert_uint_eq(back.icc_size, profile.size);
  ck_assert_mem_eq(back.icc, profile.data, profile.size);
  image_clear(&back);
  image_clear(&image);
}
END_TEST

START_TEST(jpeg_chroma_is_not_subsampled)
{
  struct image image = picture_image(PICTURE_WIDTH, PICTURE_HEIGHT, 8);
  char path[64];
  struct error error;
  struct file_bytes file;
  const uint8_t frame[] = {0xff, 0xc0, 0, 17, 8, 0, PICTURE_HEIGHT, 0, PICTURE_WIDTH, 3, 1, 0x11};

  ck_assert(image_write(&image, in_folder("a.jpg", path, sizeof path), &error));
  ck_assert(file_read(path, IMAGE_FILE_MAX, &file, &error));
  ck_assert_ptr_nonnull(memmem(file.data, file.size, frame, sizeof frame));
  file_bytes_clear(&file);
  image_clear(&image);
}
END_TEST

START_TEST(same_image_gives_same_bytes)
{
  static const char *const NAMES[2] = {"a.png", "a.jpg"};
  struct image image = picture_image(100, 50, 8);
  char path[64];
  struct error error;
  struct file_bytes first, second;

  in_folder(NAMES[_i], path, sizeof path);
  ck_assert(image_write(&image, path, &error) && file_read(path, IMAGE_FILE_MAX, &first, &error));
  ck_assert(image_write(&image, path, &error) && file_read(path, IMAGE_FILE_MAX, &second, &error));
  ck_assert_uint_eq(first.size, second.size);
  ck_assert_mem_eq(first.data, second.data, first.size);
  file_bytes_clear(&first);
  file_bytes_clear(&second);
  image_clear(&image);
}
END_TEST

/* Large enough that the encoders hand on more than one buffer. */
START_TEST(large_pictures_come_back)
{
  struct image image = picture_image(1500, 900, 8);
  struct image png = write_and_read(&image, "a.png"), jpeg = write_and_read(&image, "a.jpg");

  ck_assert_mem_eq(png.codes, image.codes, 3u * 1500 * 900);
  ck_assert(jpeg.width == 1500 && jpeg.height == 900);
  image_clear(&png);
  image_clear(&jpeg);
  image_clear(&image);
}
END_TEST

static const struct {
  const char *name;
  enum error_kind kind;
  const char *code;
} REFUSED[] = {
    {"a.gif", ERROR_USAGE, "ending"},
    {"a", ERROR_USAGE, "ending"},
    {"a.png.txt", ERROR_USAGE, "ending"},
    {"", ERROR_USAGE, "ending"},
    {"no/such/folder/a.png", ERROR_FILE, "unwritable"},
    {"no/such/folder/a.jpg", ERROR_FILE, "unwritable"},
};

START_TEST(what_cannot_be_written_is_told)
{
  struct image image = picture_image(20, 20, 8);
  char path[64];
  struct error error = {0};

  ck_assert(!image_write(&image, in_folder(REFUSED[_i].name, path, sizeof path), &error));
  ck_assert_str_eq(error.code, REFUSED[_i].code);
  ck_assert_int_eq(error.kind, REFUSED[_i].kind);
  ck_assert_msg(strstr(error.text, path), "%s", error.text);
  ck_assert_int_eq(files_in_folder(), 0);
  image_clear(&image);
}
END_TEST

/* Leaving it out silently would change how the picture looks. */
START_TEST(profile_that_png_does_not_take_is_told)
{
  struct image image = picture_image(20, 20, 8);
  struct file_bytes profile = profile_make(PROFILE_SRGB, 4.3, 0);
  char path[64];
  struct error error = {0};

  memset(profile.data + 16, 'x', 4); /* the signature of its colour space */
  image.icc = profile.data;
  image.icc_size = profile.size;
  ck_assert(!image_write(&image, in_folder("a.png", path, sizeof path), &error));
  ck_assert_str_eq(error.code, "encoder");
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert_int_eq(files_in_folder(), 0);
  image_clear(&image);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/write");
  TCase *cases = tcase_create("write");

  tcase_add_checked_fixture(cases, make_folder, remove_folder);
  tcase_add_loop_test(cases, png_keeps_codes_and_profile, 0, sizeof PNGS / sizeof *PNGS);
  tcase_add_loop_test(cases, jpeg_keeps_colours_and_profile, 0, sizeof JPEGS / sizeof *JPEGS);
  tcase_add_test(cases, jpeg_chroma_is_not_subsampled);
  tcase_add_loop_test(cases, same_image_gives_same_bytes, 0, 2);
  tcase_add_test(cases, large_pictures_come_back);
  tcase_add_loop_test(cases, what_cannot_be_written_is_told, 0, sizeof REFUSED / sizeof *REFUSED);
  tcase_add_test(cases, profile_that_png_does_not_take_is_told);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
