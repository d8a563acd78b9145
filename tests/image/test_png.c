/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "image/image.h"
#include "pictures.h"
#include "suite.h"

enum { RGB = PNG_COLOR_TYPE_RGB, RGBA = PNG_COLOR_TYPE_RGBA };

static const struct {
  const char *name;
  struct picture_png kind;
} TAKEN[] = {
    {"RGB", {.colours = RGB}},
    {"RGB, 16 bits", {.colours = RGB, .bits = 16}},
    {"RGB, interlaced", {.colours = RGB, .interlaced = true}},
    {"RGB, 16 bits, interlaced", {.colours = RGB, .bits = 16, .interlaced = true}},
    {"opaque RGBA", {.colours = RGBA, .opacity = 255}},
    {"opaque RGBA, 16 bits", {.colours = RGBA, .bits = 16, .opacity = 65535}},
    {"opaque RGBA, interlaced", {.colours = RGBA, .opacity = 255, .interlaced = true}},
    {"transparent colour that no pixel has", {.colours = RGB, .key_unused = true}},
    {"transparent colour that no pixel has, 16 bits", {.colours = RGB, .bits = 16, .key_unused = true}},
    {"odd size", {.colours = RGB, .width = 17, .height = 31, .interlaced = true}},
};

START_TEST(codes_come_out_as_they_went_in)
{
  struct file_bytes file = picture_make_png(&TAKEN[_i].kind);
  struct image image;
  struct error error;

  ck_assert_msg(image_decode(&file, "a.png", &image, &error), "%s: %s", TAKEN[_i].name, error.text);
  ck_assert_int_eq(image.bits, TAKEN[_i].kind.bits ? TAKEN[_i].kind.bits : 8);
  ck_assert_int_eq(image.width, TAKEN[_i].kind.width ? TAKEN[_i].kind.width : PICTURE_WIDTH);
  ck_assert(!image.lossy && !image.icc);
  for (int i = 0; i < 3 * image.width * image.height; i++) {
    int x = i / 3 % image.width, y = i / 3 / image.width, c = i % 3;
    unsigned code = image.bits == 8 ? picture_code(x, y, c) : picture_code16(x, y, c);
    if (!(image_code(&image, x, y, c) == code)) {
      ck_abort_msg("%s: channel %d at %d, %d: %u, not %u", TAKEN[_i].name, c, x, y,
                   image_code(&image, x, y, c), code);
    }
  }
  image_clear(&image);
  file_bytes_clear(&file);
}
END_TEST

static void assert_refused(const struct file_bytes *file, enum error_kind kind, const char *code,
                           const char *what)
{
  struct image image;
  struct error error = {0};

  ck_assert_msg(!image_decode(file, "a.png", &image, &error), "%s was taken", what);
  ck_assert_msg(strcmp(error.code, code) == 0 && error.kind == kind, "%s: %s (%s)", what, error.text,
                error.code);
  ck_assert_ptr_null(image.codes);
}

static const struct {
  const char *name;
  struct picture_png kind;
  const char *code;
} UNMEASURABLE[] = {
    {"grey", {.bits = 8}, "not-rgb"},
    {"grey of 1 bit", {.bits = 1}, "not-rgb"},
    {"grey of 2 bits", {.bits = 2}, "not-rgb"},
    {"grey of 4 bits", {.bits = 4}, "not-rgb"},
    {"grey of 16 bits", {.bits = 16}, "not-rgb"},
    {"grey with opacity", {.colours = PNG_COLOR_TYPE_GRAY_ALPHA, .opacity = 255}, "not-rgb"},
    {"palette of 1 bit", {.colours = PNG_COLOR_TYPE_PALETTE, .bits = 1}, "not-rgb"},
    {"palette of 4 bits", {.colours = PNG_COLOR_TYPE_PALETTE, .bits = 4}, "not-rgb"},
    {"palette of 8 bits", {.colours = PNG_COLOR_TYPE_PALETTE, .bits = 8}, "not-rgb"},
    {"one pixel nearly opaque", {.colours = RGBA, .opacity = 254}, "transparent"},
    {"one pixel nearly opaque, 16 bits", {.colours = RGBA, .bits = 16, .opacity = 65534}, "transparent"},
    {"one pixel nearly opaque, interlaced",
     {.colours = RGBA, .opacity = 254, .interlaced = true},
     "transparent"},
    {"transparent colour that a pixel has", {.colours = RGB, .key_used = true}, "transparent"},
    {"transparent colour, 16 bits", {.colours = RGB, .bits = 16, .key_used = true}, "transparent"},
};

START_TEST(what_cannot_be_measured_is_refused)
{
  struct file_bytes file = picture_make_png(&UNMEASURABLE[_i].kind);

  assert_refused(&file, ERROR_UNMEASURABLE, UNMEASURABLE[_i].code, UNMEASURABLE[_i].name);
  file_bytes_clear(&file);
}
END_TEST

START_TEST(cut_files_are_refused_at_every_length)
{
  struct file_bytes file = picture_make_png(&TAKEN[_i].kind);

  for (size_t size = 8; size < file.size; size++) {
    struct file_bytes cut = {file.data, size};
    assert_refused(&cut, ERROR_FILE, "damaged", TAKEN[_i].name);
  }
  file_bytes_clear(&file);
}
END_TEST

START_TEST(bytes_behind_the_picture_are_passed_over)
{
  struct file_bytes file = picture_make_png(&TAKEN[_i].kind),
                    longer = {calloc(file.size + 100, 1), file.size + 100};
  struct image image;
  struct error error;

  ck_assert_ptr_nonnull(longer.data);
  memcpy(longer.data, file.data, file.size);
  ck_assert_msg(image_decode(&longer, "a.png", &image, &error), "%s", error.text);
  image_clear(&image);
  file_bytes_clear(&longer);
  file_bytes_clear(&file);
}
END_TEST

/* Every byte is under a checksum, and each chunk's length and name too in effect. */
START_TEST(every_flipped_byte_is_noticed)
{
  struct file_bytes file = picture_make_png(&TAKEN[_i].kind);

  for (size_t i = 8; i < file.size; i++) {
    struct image image;
    struct error error = {0};
    file.data[i] ^= 0x41;
    ck_assert_msg(!image_decode(&file, "a.png", &image, &error), "%s: byte %zu flipped was taken",
                  TAKEN[_i].name, i);
    file.data[i] ^= 0x41;
  }
  file_bytes_clear(&file);
}
END_TEST

/* Content of an iCCP chunk: a name, method 0, and a zlib stream (RFC 1950; one stored block, RFC 1951). */
static const struct {
  const char *name;
  const char *chunk;
  size_t size;
} BAD_PROFILES[] = {
    {"stream that is none", "icc\0\0ABCD", 9},
    {"profile of four bytes",
     "icc\0\0\x78\x01\x01\x04\x00\xfb\xff"
     "acsp\x04\x0f\x01\xa8",
     20},
};

START_TEST(damaged_profiles_are_not_passed_over)
{
  struct file_bytes file = picture_make_png(&(struct picture_png){.colours = RGB});

  picture_png_insert(&file, "iCCP", BAD_PROFILES[_i].chunk, BAD_PROFILES[_i].size);
  assert_refused(&file, ERROR_FILE, "bad-profile", BAD_PROFILES[_i].name);
  file_bytes_clear(&file);
}
END_TEST

START_TEST(chunks_without_bearing_are_passed_over)
{
  static const char *const NAMES[] = {"tEXt", "gAMA", "sRGB", "cHRM", "pHYs", "tIME", "teSt"};
  struct file_bytes file = picture_make_png(&(struct picture_png){.colours = RGB});
  struct image image;
  struct error error;

  for (size_t i = 0; i < sizeof NAMES / sizeof *NAMES; i++) {
    picture_png_insert(&file, NAMES[i], "nonsense", 8);
  }
  ck_assert_msg(image_decode(&file, "a.png", &image, &error), "%s", error.text);
  image_clear(&image);
  picture_png_insert(&file, "TeSt", "critical", 8);
  assert_refused(&file, ERROR_FILE, "damaged", "unknown critical chunk");
  file_bytes_clear(&file);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/png");
  TCase *cases = tcase_create("png");
  int kinds = sizeof TAKEN / sizeof *TAKEN;

  tcase_set_timeout(cases, 60);
  tcase_add_loop_test(cases, codes_come_out_as_they_went_in, 0, kinds);
  tcase_add_loop_test(cases, what_cannot_be_measured_is_refused, 0,
                      sizeof UNMEASURABLE / sizeof *UNMEASURABLE);
  tcase_add_loop_test(cases, cut_files_are_refused_at_every_length, 0, kinds);
  tcase_add_loop_test(cases, bytes_behind_the_picture_are_passed_over, 0, kinds);
  tcase_add_loop_test(cases, every_flipped_byte_is_noticed, 0, kinds);
  tcase_add_loop_test(cases, damaged_profiles_are_not_passed_over, 0,
                      sizeof BAD_PROFILES / sizeof *BAD_PROFILES);
  tcase_add_test(cases, chunks_without_bearing_are_passed_over);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
