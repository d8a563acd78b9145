/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "image/image.h"
#include "pictures.h"
#include "suite.h"

/* Decoding fails with this kind and code, says the name, and leaves nothing. */
static void refused(struct file_bytes file, enum error_kind kind, const char *code, const char *words)
{
  struct image image;
  struct error error = {0};

  ck_assert(!image_decode(&file, "a.jpg", &image, &error));
  ck_assert_msg(strcmp(error.code, code) == 0, "%s, not %s: %s", error.code, code, error.text);
  ck_assert_int_eq(error.kind, kind);
  ck_assert_msg(strstr(error.text, words) && strncmp(error.text, "a.jpg ", 6) == 0, "%s", error.text);
  ck_assert(!image.codes && !image.icc && image.width == 0);
}

static void refused_and_freed(struct file_bytes file, enum error_kind kind, const char *code,
                              const char *words)
{
  refused(file, kind, code, words);
  file_bytes_clear(&file);
}

static const struct {
  const char *bytes;
  size_t size;
  const char *words;
} FORMATS[] = {
    {"\0\0\0\x18"
     "ftypheic",
     12, "HEIF"},
    {"II*\0\x08\0\0\0", 8, "TIFF or raw"},
    {"MM\0*\0\0\0\x08", 8, "TIFF or raw"},
    {"RIFF\x10\0\0\0WEBPVP8 ", 16, "WebP"},
    {"GIF89a", 6, "GIF"},
    {"BM\0\0", 4, "BMP"},
    {"%PDF-1.4", 8, "PDF"},
    {"just text", 9, "no picture that is known"},
    {"\xff\xd8", 2, "no picture that is known"},
    {"\x89PNG", 4, "no picture that is known"},
    {"", 0, "no picture that is known"},
};

START_TEST(other_formats_are_named)
{
  uint8_t bytes[32] = {0};

  memcpy(bytes, FORMATS[_i].bytes, FORMATS[_i].size);
  refused((struct file_bytes){bytes, FORMATS[_i].size}, ERROR_FILE, "format", FORMATS[_i].words);
  refused((struct file_bytes){bytes, FORMATS[_i].size}, ERROR_FILE, "format", "give a JPEG or PNG");
}
END_TEST

/* The size in the frame header of a JPEG, big endian. */
static void patch_jpeg_size(struct file_bytes *file, unsigned width, unsigned height)
{
  const uint8_t sof[] = {0xff, 0xc0, 0, 17, 8};
  uint8_t *at = memmem(file->data, file->size, sof, sizeof sof);

  ck_assert(at != NULL);
  at[5] = (uint8_t)(height >> 8);
  at[6] = (uint8_t)height;
  at[7] = (uint8_t)(width >> 8);
  at[8] = (uint8_t)width;
}

static const struct {
  unsigned width, height;
  const char *code; /* NULL: within the limits */
  const char *words;
} SIZES[] = {
    {1, 1, "too-small", "1 x 1 pixels"},
    {15, 16, "too-small", "15 x 16 pixels"},
    {16, 15, "too-small", "16 x 15 pixels"},
    {16, 16, NULL, NULL},
    {65500, 65500, "too-large", "65500 x 65500 pixels, over the limit of 300 million;"},
    {65500, 4581, "too-large", "65500 x 4581 pixels, over the limit of 300 million;"},
    {17321, 17321, "too-large", "17321 x 17321 pixels, over the limit of 300 million;"},
    {65501, 16, "too-large", " a side; make it smaller"},
    {16, 65501, "too-large", " a side; make it smaller"},
};

/* The large ones are headers without pixels: had memory been taken and rows been read, they'd be called damaged. */
START_TEST(jpeg_sizes_are_limited)
{
  struct file_bytes file =
      picture_make_jpeg(&(struct picture_jpeg){.space = JCS_YCbCr, .width = 16, .height = 16});

  patch_jpeg_size(&file, SIZES[_i].width, SIZES[_i].height);
  if (SIZES[_i].code) {
    refused(file, ERROR_UNMEASURABLE, SIZES[_i].code, SIZES[_i].words);
  } else {
    struct image image;
    struct error error;
    ck_assert(image_decode(&file, "a.jpg", &image, &error));
    image_clear(&image);
  }
  file_bytes_clear(&file);
}
END_TEST

START_TEST(png_sizes_are_limited)
{
  if (SIZES[_i].code) {
    refused_and_freed(picture_png_header(SIZES[_i].width, SIZES[_i].height), ERROR_UNMEASURABLE,
                      SIZES[_i].code, SIZES[_i].words);
  } else {
    refused_and_freed(picture_png_header(SIZES[_i].width, SIZES[_i].height), ERROR_FILE, "damaged",
                      "ends too early");
  }
}
END_TEST

START_TEST(largest_png_header_is_no_overflow)
{
  refused_and_freed(picture_png_header(1000000, 1000000), ERROR_UNMEASURABLE, "too-large",
                    "1000000 x 1000000");
}
END_TEST

START_TEST(clearing_an_empty_image_is_allowed)
{
  struct image image = {0};

  image_clear(&image);
  image_clear(&image);
  ck_assert_ptr_null(image.codes);
}
END_TEST

START_TEST(codes_are_found_by_place_and_channel)
{
  struct image image8 = picture_image(20, 18, 8), image16 = picture_image(20, 18, 16);

  ck_assert_uint_eq(image_code(&image8, 19, 17, 2), picture_code(19, 17, 2));
  ck_assert_uint_eq(image_code(&image16, 3, 11, 1), picture_code16(3, 11, 1));
  ck_assert_uint_eq(image_code_max(&image8), 255);
  ck_assert_uint_eq(image_code_max(&image16), 65535);
  image_clear(&image8);
  image_clear(&image16);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/decode");
  TCase *cases = tcase_create("decode");

  tcase_add_loop_test(cases, other_formats_are_named, 0, sizeof FORMATS / sizeof *FORMATS);
  tcase_add_loop_test(cases, jpeg_sizes_are_limited, 0, sizeof SIZES / sizeof *SIZES);
  tcase_add_loop_test(cases, png_sizes_are_limited, 0, sizeof SIZES / sizeof *SIZES);
  tcase_add_test(cases, largest_png_header_is_no_overflow);
  tcase_add_test(cases, clearing_an_empty_image_is_allowed);
  tcase_add_test(cases, codes_are_found_by_place_and_channel);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
