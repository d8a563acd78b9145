/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "image/image.h"
#include "pictures.h"
#include "suite.h"

/* Quality 100 rounds each DCT coefficient and YCbCr component to whole steps; a smooth picture comes back this near. */
enum { WHOLE_STEPS = 3 };
/* Subsampled chroma is interpolated again: exact inside a linear ramp but for rounding, off by half a sample at the rim,
 * which is up to 3.1 codes a pixel here, times 1.8 for what Cb does to blue. */
enum { SUBSAMPLED = 9 };

static const struct {
  const char *name;
  struct picture_jpeg kind;
  int tolerance;
} TAKEN[] = {
    {"4:4:4", {.space = JCS_YCbCr}, WHOLE_STEPS},
    {"4:2:2", {.space = JCS_YCbCr, .sampling_x = 2}, SUBSAMPLED},
    {"4:4:0", {.space = JCS_YCbCr, .sampling_y = 2}, SUBSAMPLED},
    {"4:2:0", {.space = JCS_YCbCr, .sampling_x = 2, .sampling_y = 2}, SUBSAMPLED},
    {"4:1:1", {.space = JCS_YCbCr, .sampling_x = 4}, 2 * SUBSAMPLED},
    {"RGB, Adobe transform 0", {.space = JCS_RGB}, WHOLE_STEPS},
    {"progressive", {.space = JCS_YCbCr, .progressive = true}, WHOLE_STEPS},
    {"progressive 4:2:0",
     {.space = JCS_YCbCr, .progressive = true, .sampling_x = 2, .sampling_y = 2},
     SUBSAMPLED},
    {"arithmetic", {.space = JCS_YCbCr, .arithmetic = true}, WHOLE_STEPS},
    {"arithmetic progressive", {.space = JCS_YCbCr, .arithmetic = true, .progressive = true}, WHOLE_STEPS},
    {"three scans", {.space = JCS_YCbCr, .separate_scans = true}, WHOLE_STEPS},
    {"restart markers", {.space = JCS_YCbCr, .restart_rows = 1}, WHOLE_STEPS},
    {"odd size",
     {.space = JCS_YCbCr, .width = 47, .height = 33, .sampling_x = 2, .sampling_y = 2},
     SUBSAMPLED},
};

static void assert_shows_the_picture(const struct image *image, int tolerance, const char *name)
{
  for (int i = 0; i < 3 * image->width * image->height; i++) {
    int x = i / 3 % image->width, y = i / 3 / image->width, c = i % 3;
    int off = (int)image_code(image, x, y, c) - (int)picture_code(x, y, c);
    if (!(abs(off) <= tolerance)) {
      ck_abort_msg("%s: channel %d at %d, %d is off by %d", name, c, x, y, off);
    }
  }
}

START_TEST(every_kind_of_colour_jpeg_is_read)
{
  struct file_bytes file = picture_make_jpeg(&TAKEN[_i].kind);
  struct image image;
  struct error error;
  int width = TAKEN[_i].kind.width ? TAKEN[_i].kind.width : PICTURE_WIDTH;

  ck_assert_msg(image_decode(&file, "a.jpg", &image, &error), "%s: %s", TAKEN[_i].name, error.text);
  ck_assert_int_eq(image.width, width);
  ck_assert_int_eq(image.bits, 8);
  ck_assert(image.lossy && !image.icc);
  assert_shows_the_picture(&image, TAKEN[_i].tolerance, TAKEN[_i].name);
  image_clear(&image);
  file_bytes_clear(&file);
}
END_TEST

static struct error assert_refused(const struct file_bytes *file, enum error_kind kind, const char *code,
                                   const char *what)
{
  struct image image;
  struct error error = {0};

  ck_assert_msg(!image_decode(file, "a.jpg", &image, &error), "%s was taken", what);
  ck_assert_msg(strcmp(error.code, code) == 0 && error.kind == kind, "%s: %s (%s)", what, error.text,
                error.code);
  ck_assert_ptr_null(image.codes);
  return error;
}

static const struct {
  const char *name;
  struct picture_jpeg kind;
} WITHOUT_RGB[] = {
    {"grey", {.space = JCS_GRAYSCALE}}, {"CMYK", {.space = JCS_CMYK}}, {"YCCK", {.space = JCS_YCCK}}};

START_TEST(other_colours_are_refused)
{
  struct file_bytes file = picture_make_jpeg(&WITHOUT_RGB[_i].kind);

  assert_refused(&file, ERROR_UNMEASURABLE, "not-rgb", WITHOUT_RGB[_i].name);
  file_bytes_clear(&file);
}
END_TEST

/* What phones and cameras hang on behind the picture: a second picture, a film, zeros. */
START_TEST(bytes_behind_the_picture_are_passed_over)
{
  struct file_bytes file = picture_make_jpeg(&TAKEN[_i].kind), longer = {NULL, 2 * file.size + 1000};
  struct image image;
  struct error error;

  longer.data = calloc(longer.size, 1);
  ck_assert_ptr_nonnull(longer.data);
  memcpy(longer.data, file.data, file.size);
  memcpy(longer.data + file.size, file.data, file.size);
  ck_assert_msg(image_decode(&longer, "a.jpg", &image, &error), "%s: %s", TAKEN[_i].name, error.text);
  assert_shows_the_picture(&image, TAKEN[_i].tolerance, TAKEN[_i].name);
  image_clear(&image);
  file_bytes_clear(&longer);
  file_bytes_clear(&file);
}
END_TEST

START_TEST(cut_files_are_refused_at_every_length)
{
  struct file_bytes file = picture_make_jpeg(&TAKEN[_i].kind);

  for (size_t size = 3; size < file.size; size++) {
    struct file_bytes cut = {file.data, size};
    assert_refused(&cut, ERROR_FILE, "damaged", TAKEN[_i].name);
  }
  file_bytes_clear(&file);
}
END_TEST

/* The start of scan number `scan`, counted from 0. */
static size_t find_scan(const struct file_bytes *file, int scan)
{
  for (size_t i = 0; i + 1 < file->size; i++) {
    if (file->data[i] == 0xff && file->data[i + 1] == 0xda && scan-- == 0) {
      return i;
    }
  }
  ck_abort_msg("no such scan");
}

/* A file cut between two scans and closed by an end marker, as repair programs do: the library alone would show a blurred
 * or grey picture without a warning. */
START_TEST(missing_scans_are_refused)
{
  struct picture_jpeg kinds[2] = {{.space = JCS_YCbCr, .progressive = true},
                                  {.space = JCS_YCbCr, .separate_scans = true}};
  struct file_bytes file = picture_make_jpeg(&kinds[_i]);

  for (int scan = 1; scan < (_i == 0 ? 10 : 3); scan++) {
    size_t end = find_scan(&file, scan);
    struct file_bytes closed = {malloc(end + 2), end + 2};
    ck_assert_ptr_nonnull(closed.data);
    memcpy(closed.data, file.data, end);
    closed.data[end] = 0xff;
    closed.data[end + 1] = 0xd9;
    assert_refused(&closed, ERROR_FILE, "damaged", "missing scans");
    file_bytes_clear(&closed);
  }
  file_bytes_clear(&file);
}
END_TEST

/* Bytes of a marker's segment, found by its first bytes. */
static uint8_t *segment(const struct file_bytes *file, const void *start, size_t size)
{
  uint8_t *at = memmem(file->data, file->size, start, size);

  ck_assert_ptr_nonnull(at);
  return at;
}

START_TEST(rare_frames_are_refused)
{
  struct file_bytes file = picture_make_jpeg(&(struct picture_jpeg){.space = JCS_YCbCr});
  uint8_t *frame = segment(&file, "\xff\xc0\0\x11\x08", 5);

  frame[4] = 12;
  assert_refused(&file, ERROR_FILE, "bits", "12 bits");
  frame[4] = 8;
  frame[1] = 0xc3;
  assert_refused(&file, ERROR_FILE, "unsupported", "lossless");
  file_bytes_clear(&file);
}
END_TEST

static void insert_bytes(struct file_bytes *file, size_t at, const void *bytes, size_t count)
{
  file->data = realloc(file->data, file->size + count);
  ck_assert_ptr_nonnull(file->data);
  memmove(file->data + at + count, file->data + at, file->size - at);
  memcpy(file->data + at, bytes, count);
  file->size += count;
}

/* Left-over bytes show that the decoder lost its place, however whole the rows look. The library reads up to eight ahead
 * and does not see those. */
START_TEST(bytes_between_picture_and_end_are_refused)
{
  struct file_bytes file = picture_make_jpeg(&(struct picture_jpeg){.space = JCS_YCbCr});

  insert_bytes(&file, file.size - 2, "nine bytes at the least", 23);
  assert_refused(&file, ERROR_FILE, "damaged", "left-over bytes");
  file_bytes_clear(&file);
}
END_TEST

/* A scan may be sent again and again; each costs a pass over the picture. */
START_TEST(hundreds_of_scans_are_refused)
{
  struct file_bytes file =
      picture_make_jpeg(&(struct picture_jpeg){.space = JCS_YCbCr, .separate_scans = true});
  size_t first = find_scan(&file, 0), size = find_scan(&file, 1) - first;
  uint8_t *scan = malloc(size);

  ck_assert_ptr_nonnull(scan);
  memcpy(scan, file.data + first, size);
  for (int i = 0; i < 300; i++) {
    insert_bytes(&file, first, scan, size);
  }
  struct error error = assert_refused(&file, ERROR_FILE, "damaged", "300 scans");
  ck_assert_msg(strstr(error.text, "too many scans"), "%s", error.text);
  free(scan);
  file_bytes_clear(&file);
}
END_TEST

START_TEST(profile_comes_out_as_it_went_in)
{
  uint8_t *profile = malloc(100000); /* two segments */
  struct image image;
  struct error error;

  ck_assert_ptr_nonnull(profile);
  for (int i = 0; i < 100000; i++) {
    profile[i] = (uint8_t)((unsigned)i * 2654435761u >> 24);
  }
  struct file_bytes file =
      picture_make_jpeg(&(struct picture_jpeg){.space = JCS_YCbCr, .icc = profile, .icc_size = 100000});
  ck_assert_msg(image_decode(&file, "a.jpg", &image, &error), "%s", error.text);
  ck_assert_uint_eq(image.icc_size, 100000);
  ck_assert_mem_eq(image.icc, profile, 100000);
  image_clear(&image);

  segment(&file, "ICC_PROFILE\0\x02", 13)[12] = 1; /* the second piece calls itself the first */
  assert_refused(&file, ERROR_FILE, "bad-profile", "profile in wrong pieces");
  file_bytes_clear(&file);
  free(profile);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/jpeg");
  TCase *cases = tcase_create("jpeg");
  int kinds = sizeof TAKEN / sizeof *TAKEN;

  tcase_set_timeout(cases, 60);
  tcase_add_loop_test(cases, every_kind_of_colour_jpeg_is_read, 0, kinds);
  tcase_add_loop_test(cases, bytes_behind_the_picture_are_passed_over, 0, kinds);
  tcase_add_loop_test(cases, cut_files_are_refused_at_every_length, 0, kinds);
  tcase_add_loop_test(cases, other_colours_are_refused, 0, sizeof WITHOUT_RGB / sizeof *WITHOUT_RGB);
  tcase_add_loop_test(cases, missing_scans_are_refused, 0, 2);
  tcase_add_test(cases, rare_frames_are_refused);
  tcase_add_test(cases, bytes_between_picture_and_end_are_refused);
  tcase_add_test(cases, hundreds_of_scans_are_refused);
  tcase_add_test(cases, profile_comes_out_as_it_went_in);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
