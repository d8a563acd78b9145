/* SPDX-License-Identifier: MIT */
/* The Exif data of these tests is put together byte by byte from the standard (CIPA DC-008), not by the library that reads
 * it. */
#include <check.h>
#include <string.h>

#include "image/exif.h"
#include "suite.h"

enum { ASCII = 2, SHORT = 3, LONG = 4, RATIONAL = 5 };
enum { MAKE = 0x010f, MODEL = 0x0110, ORIENTATION = 0x0112, EXIF_POINTER = 0x8769 };
enum {
  EXPOSURE_TIME = 0x829a,
  F_NUMBER = 0x829d,
  SENSITIVITY = 0x8827,
  TAKEN = 0x9003,
  TAKEN_OFFSET = 0x9011,
  FLASH = 0x9209,
  FOCAL_LENGTH = 0x920a,
  CUSTOM_RENDERED = 0xa401,
  WHITE_BALANCE = 0xa403,
  DIGITAL_ZOOM = 0xa404,
  FOCAL_LENGTH_35MM = 0xa405,
  CONTRAST = 0xa408,
  SATURATION = 0xa409
};

struct tag {
  unsigned tag, type;
  unsigned number, divisor; /* divisor of a RATIONAL */
  const char *text;         /* of ASCII */
};

struct exif {
  uint8_t bytes[2048];
  bool big_endian;
  size_t used; /* behind the directories: where the next long value goes */
};

static void put(struct exif *exif, size_t at, int bytes, unsigned value)
{
  for (int i = 0; i < bytes; i++) {
    exif->bytes[at + (size_t)i] = (uint8_t)(value >> 8 * (exif->big_endian ? bytes - 1 - i : i));
  }
}

/* Offsets in the file count from behind the mark. */
static size_t put_away(struct exif *exif, const struct tag *tag, unsigned count)
{
  size_t at = exif->used;

  if (tag->type == RATIONAL) {
    put(exif, at, 4, tag->number);
    put(exif, at + 4, 4, tag->divisor);
    exif->used += 8;
  } else {
    memcpy(exif->bytes + at, tag->text, count);
    exif->used += count + count % 2;
  }
  return at - EXIF_MARK_SIZE;
}

static void put_tag(struct exif *exif, size_t at, const struct tag *tag)
{
  unsigned count = tag->type == ASCII ? (unsigned)strlen(tag->text) + 1 : 1;

  put(exif, at, 2, tag->tag);
  put(exif, at + 2, 2, tag->type);
  put(exif, at + 4, 4, count);
  if (tag->type == SHORT) {
    put(exif, at + 8, 2, tag->number);
  } else if (tag->type == LONG) {
    put(exif, at + 8, 4, tag->number);
  } else if (tag->type == ASCII && count <= 4) {
    memcpy(exif->bytes + at + 8, tag->text, count);
  } else {
    put(exif, at + 8, 4, (unsigned)put_away(exif, tag, count));
  }
}

static size_t put_directory(struct exif *exif, size_t at, const struct tag *tags, size_t count)
{
  put(exif, at, 2, (unsigned)count);
  for (size_t i = 0; i < count; i++) {
    put_tag(exif, at + 2 + 12 * i, &tags[i]);
  }
  return at + 2 + 12 * count + 4;
}

/* First directory with three tags and the pointer, then the Exif directory. */
static struct exif build(bool big_endian, const char *make, const char *model, unsigned orientation,
                         const struct tag *tags, size_t count)
{
  struct exif exif = {.bytes = EXIF_MARK, .big_endian = big_endian};
  size_t first = EXIF_MARK_SIZE + 8, second = first + 2 + 4 * 12 + 4;
  struct tag own[4] = {{MAKE, ASCII, 0, 0, make},
                       {MODEL, ASCII, 0, 0, model},
                       {ORIENTATION, SHORT, orientation, 0, NULL},
                       {EXIF_POINTER, LONG, (unsigned)(second - EXIF_MARK_SIZE), 0, NULL}};

  memcpy(exif.bytes + EXIF_MARK_SIZE, big_endian ? "MM" : "II", 2);
  put(&exif, EXIF_MARK_SIZE + 2, 2, 42);
  put(&exif, EXIF_MARK_SIZE + 4, 4, 8);
  exif.used = second + 2 + 12 * count + 4;
  put_directory(&exif, first, own, 4);
  put_directory(&exif, second, tags, count);
  return exif;
}

static struct image_exposure read_tags(const struct tag *tags, size_t count)
{
  struct exif exif = build(true, "Maker", "Box 1", 1, tags, count);
  struct image_exposure exposure = {0};

  ck_assert_int_eq(exif_read(exif.bytes, exif.used, &exposure), 1);
  return exposure;
}

static const struct tag FULL[] = {
    {EXPOSURE_TIME, RATIONAL, 1, 160, NULL}, {F_NUMBER, RATIONAL, 56, 10, NULL},
    {SENSITIVITY, SHORT, 200, 0, NULL},      {TAKEN, ASCII, 0, 0, "2026:05:04 11:32:05"},
    {TAKEN_OFFSET, ASCII, 0, 0, "+02:00"},   {FLASH, SHORT, 16, 0, NULL},
    {FOCAL_LENGTH, RATIONAL, 35, 1, NULL},   {CUSTOM_RENDERED, SHORT, 0, 0, NULL},
    {WHITE_BALANCE, SHORT, 1, 0, NULL},      {DIGITAL_ZOOM, RATIONAL, 1, 1, NULL},
    {FOCAL_LENGTH_35MM, SHORT, 52, 0, NULL}, {CONTRAST, SHORT, 0, 0, NULL},
    {SATURATION, SHORT, 0, 0, NULL}};

START_TEST(all_facts_are_read_in_both_byte_orders)
{
  struct exif exif = build(_i == 1, "Maker", "Box 1", 6, FULL, sizeof FULL / sizeof *FULL);
  struct image_exposure exposure = {0};

  ck_assert_int_eq(exif_read(exif.bytes, exif.used, &exposure), 6);
  ck_assert_str_eq(exposure.camera, "Maker Box 1");
  ck_assert_str_eq(exposure.taken, "2026-05-04T11:32:05+02:00");
  ck_assert_double_eq(exposure.exposure_seconds, 1.0 / 160);
  ck_assert_double_eq(exposure.f_number, 5.6);
  ck_assert_double_eq(exposure.focal_length_mm, 35);
  ck_assert_double_eq(exposure.focal_length_35mm, 52);
  ck_assert_double_eq(exposure.sensitivity_iso, 200);
  ck_assert_int_eq(exposure.flash_fired, IMAGE_NO);
  ck_assert_int_eq(exposure.white_balance_auto, IMAGE_NO);
  ck_assert_int_eq(exposure.specially_processed, IMAGE_NO);
  ck_assert_int_eq(exposure.altered_tone, IMAGE_NO);
  ck_assert_int_eq(exposure.digital_zoom, IMAGE_NO);
}
END_TEST

START_TEST(missing_facts_stay_unknown)
{
  struct image_exposure exposure = read_tags(NULL, 0), none = {0};

  ck_assert_str_eq(exposure.camera, "Maker Box 1");
  memset(exposure.camera, 0, sizeof exposure.camera);
  ck_assert_mem_eq(&exposure, &none, sizeof none);
}
END_TEST

static const struct {
  const char *name;
  struct tag tag;
  size_t at; /* of the flag in struct image_exposure */
  enum image_flag flag;
} FLAGS[] = {
    {"flash fired", {FLASH, SHORT, 0x19, 0, NULL}, offsetof(struct image_exposure, flash_fired), IMAGE_YES},
    {"no flash", {FLASH, SHORT, 0x18, 0, NULL}, offsetof(struct image_exposure, flash_fired), IMAGE_NO},
    {"automatic white balance",
     {WHITE_BALANCE, SHORT, 0, 0, NULL},
     offsetof(struct image_exposure, white_balance_auto),
     IMAGE_YES},
    {"custom process",
     {CUSTOM_RENDERED, SHORT, 1, 0, NULL},
     offsetof(struct image_exposure, specially_processed),
     IMAGE_YES},
    {"soft contrast",
     {CONTRAST, SHORT, 1, 0, NULL},
     offsetof(struct image_exposure, altered_tone),
     IMAGE_YES},
    {"normal contrast",
     {CONTRAST, SHORT, 0, 0, NULL},
     offsetof(struct image_exposure, altered_tone),
     IMAGE_NO},
    {"high saturation",
     {SATURATION, SHORT, 2, 0, NULL},
     offsetof(struct image_exposure, altered_tone),
     IMAGE_YES},
    {"zoom 2.5",
     {DIGITAL_ZOOM, RATIONAL, 5, 2, NULL},
     offsetof(struct image_exposure, digital_zoom),
     IMAGE_YES},
    {"zoom not used",
     {DIGITAL_ZOOM, RATIONAL, 0, 1, NULL},
     offsetof(struct image_exposure, digital_zoom),
     IMAGE_NO},
    {"zoom 0/0",
     {DIGITAL_ZOOM, RATIONAL, 0, 0, NULL},
     offsetof(struct image_exposure, digital_zoom),
     IMAGE_UNKNOWN},
};

START_TEST(flags_are_read)
{
  struct image_exposure exposure = read_tags(&FLAGS[_i].tag, 1);
  enum image_flag flag;

  memcpy(&flag, (const char *)&exposure + FLAGS[_i].at, sizeof flag);
  ck_assert_msg(flag == FLAGS[_i].flag, "%s: %d", FLAGS[_i].name, (int)flag);
}
END_TEST

static const struct {
  const char *make, *model, *camera;
} CAMERAS[] = {
    {"Maker", "Box 1", "Maker Box 1"},
    {"Maker", "Maker Box 1", "Maker Box 1"},
    {"MAKER INC.", "Maker 7", "Maker 7"},
    {"Maker", "Makers", "Maker Makers"},
    {"", "Box 1", "Box 1"},
    {"Maker", "", "Maker"},
    {"", "", ""},
    {"  Maker  ", "Box 1   ", "Maker Box 1"},
    {"Ma\nker", "B\xc3\xb6x", "Ma?ker B??x"},
};

START_TEST(maker_is_not_said_twice)
{
  struct exif exif = build(true, CAMERAS[_i].make, CAMERAS[_i].model, 1, NULL, 0);
  struct image_exposure exposure = {0};

  exif_read(exif.bytes, exif.used, &exposure);
  ck_assert_str_eq(exposure.camera, CAMERAS[_i].camera);
}
END_TEST

START_TEST(long_names_are_cut)
{
  char name[301];
  struct image_exposure exposure = {0};

  memset(name, 'x', 300);
  name[300] = '\0';
  struct exif exif = build(true, name, name + 1, 1, NULL, 0);
  exif_read(exif.bytes, exif.used, &exposure);
  ck_assert_uint_eq(strlen(exposure.camera), 47 + 1 + 46);
}
END_TEST

static const struct {
  const char *moment, *offset, *taken;
} MOMENTS[] = {
    {"2026:05:04 11:32:05", "", "2026-05-04T11:32:05"},
    {"2026:05:04 11:32:05", "-08:00", "2026-05-04T11:32:05-08:00"},
    {"2026:05:04 11:32:05", "   :  ", "2026-05-04T11:32:05"},
    {"2026:05:04 11:32:05", "+99:00", "2026-05-04T11:32:05"},
    {"0000:00:00 00:00:00", "+02:00", ""},
    {"2026:13:04 11:32:05", "", ""},
    {"2026:05:32 11:32:05", "", ""},
    {"2026:05:04 24:32:05", "", ""},
    {"2026-05-04 11:32:05", "", ""},
    {"2026:05:04 11:32", "", ""},
    {"2026:05:04 11:32:05 PM", "", ""},
    {"    :  :     :  :  ", "", ""},
};

START_TEST(moments_are_written_the_iso_way)
{
  struct tag tags[2] = {{TAKEN, ASCII, 0, 0, MOMENTS[_i].moment},
                        {TAKEN_OFFSET, ASCII, 0, 0, MOMENTS[_i].offset}};
  struct image_exposure exposure = read_tags(tags, 2);

  ck_assert_str_eq(exposure.taken, MOMENTS[_i].taken);
}
END_TEST

START_TEST(numbers_without_sense_stay_unknown)
{
  static const struct tag tags[] = {{EXPOSURE_TIME, RATIONAL, 1, 0, NULL},
                                    {F_NUMBER, RATIONAL, 0, 0, NULL},
                                    {SENSITIVITY, ASCII, 0, 0, "two hundred"},
                                    {FOCAL_LENGTH, RATIONAL, 0, 7, NULL}};
  struct image_exposure exposure = read_tags(tags, sizeof tags / sizeof *tags);

  ck_assert_double_eq(exposure.exposure_seconds, 0);
  ck_assert_double_eq(exposure.f_number, 0);
  ck_assert_double_eq(exposure.sensitivity_iso, 0);
  ck_assert_double_eq(exposure.focal_length_mm, 0);
}
END_TEST

START_TEST(orientations_out_of_range_mean_upright)
{
  static const unsigned values[] = {0, 9, 255, 65535};
  struct exif exif = build(true, "", "", values[_i], NULL, 0);
  struct image_exposure exposure = {0};

  ck_assert_int_eq(exif_read(exif.bytes, exif.used, &exposure), 1);
}
END_TEST

START_TEST(damaged_exif_is_as_good_as_none)
{
  struct exif exif = build(true, "Maker", "Box 1", 6, FULL, sizeof FULL / sizeof *FULL);

  for (size_t size = EXIF_MARK_SIZE; size < exif.used; size++) {
    struct image_exposure exposure = {0};
    int orientation = exif_read(exif.bytes, size, &exposure);
    ck_assert_msg(orientation == 1 || orientation == 6, "cut to %zu: orientation %d", size, orientation);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/exif");
  TCase *cases = tcase_create("exif");

  tcase_add_loop_test(cases, all_facts_are_read_in_both_byte_orders, 0, 2);
  tcase_add_test(cases, missing_facts_stay_unknown);
  tcase_add_loop_test(cases, flags_are_read, 0, sizeof FLAGS / sizeof *FLAGS);
  tcase_add_loop_test(cases, maker_is_not_said_twice, 0, sizeof CAMERAS / sizeof *CAMERAS);
  tcase_add_test(cases, long_names_are_cut);
  tcase_add_loop_test(cases, moments_are_written_the_iso_way, 0, sizeof MOMENTS / sizeof *MOMENTS);
  tcase_add_test(cases, numbers_without_sense_stay_unknown);
  tcase_add_loop_test(cases, orientations_out_of_range_mean_upright, 0, 4);
  tcase_add_test(cases, damaged_exif_is_as_good_as_none);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
