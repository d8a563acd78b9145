/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "image/encoding.h"
#include "profiles.h"
#include "random.h"
#include "suite.h"

/* XYZ of Y = 100 for white. Straight lines between 1024 steps err by h^2 / 8 times the second derivative of the curve,
 * below 2.4e-7 of linear light for all curves here; Little-CMS's own float arithmetic adds as much. */
static const double FROM_FORMULA = 1e-4;
/* Where the profile holds tables of 16 bits, Little-CMS rounds to whole 1/65535 and so do our samples. */
static const double FROM_TABLE = 3 * 100.0 / 65535;

static struct encoding encoding_from(struct file_bytes profile)
{
  struct image image = {.icc = profile.data, .icc_size = profile.size};
  struct encoding encoding;
  struct error error;

  ck_assert_msg(encoding_of_image(&image, "a.jpg", &encoding, &error), "%s", error.text);
  return encoding;
}

static struct vec3 our_xyz(const struct encoding *encoding, struct vec3 code)
{
  struct vec3 linear;

  for (int c = 0; c < 3; c++) {
    linear.v[c] = encoding_linear(encoding, c, code.v[c]);
  }
  return mat3_apply(encoding->xyz_from_linear, linear);
}

static const struct {
  const char *name;
  enum profile_kind kind;
  double version;
  unsigned table;
} PROFILES[] = {
    {"sRGB, version 4, parametric", PROFILE_SRGB, 4.3, 0},
    {"sRGB, version 2, table of 1024", PROFILE_SRGB, 2.4, 1024},
    {"sRGB, version 2, table of 4096", PROFILE_SRGB, 2.4, 4096},
    {"Adobe RGB (1998), version 4", PROFILE_ADOBE_RGB, 4.3, 0},
    {"Adobe RGB (1998), version 2, one number", PROFILE_ADOBE_RGB, 2.4, 0},
    {"Display P3, version 4, parametric", PROFILE_DISPLAY_P3, 4.3, 0},
    {"Display P3, version 2, table of 1024", PROFILE_DISPLAY_P3, 2.4, 1024},
    {"linear, version 4", PROFILE_LINEAR, 4.3, 0},
};

/* Second implementation: Little-CMS takes random codes through the whole profile. */
START_TEST(xyz_agrees_with_little_cms)
{
  enum { RUNS = 4000, SEED = 21 };
  struct random random = random_start(SEED);
  struct file_bytes bytes = profile_make(PROFILES[_i].kind, PROFILES[_i].version, PROFILES[_i].table);
  struct encoding encoding = encoding_from(bytes);
  cmsHPROFILE from = cmsOpenProfileFromMem(bytes.data, (cmsUInt32Number)bytes.size),
              to = cmsCreateXYZProfile();
  cmsHTRANSFORM transform =
      cmsCreateTransform(from, TYPE_RGB_DBL, to, TYPE_XYZ_DBL, INTENT_RELATIVE_COLORIMETRIC,
                         cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
  double largest = 0, tolerance = PROFILES[_i].table ? FROM_TABLE : FROM_FORMULA;
  struct vec3 white, codes_of_white = {{1, 1, 1}};

  ck_assert(encoding.embedded && !encoding.not_used && transform);
  cmsDoTransform(transform, codes_of_white.v, white.v, 1); /* Y is 1 but for the file's rounding to 1/65536 */
  for (int run = 0; run < RUNS; run++) {
    struct vec3 code = {{random_unit(&random), random_unit(&random), random_unit(&random)}}, theirs;
    cmsDoTransform(transform, code.v, theirs.v, 1);
    struct vec3 off = vec3_subtract(our_xyz(&encoding, code), vec3_scale(theirs, 100 / white.v[1]));
    for (int c = 0; c < 3; c++) {
      largest = fmax(largest, fabs(off.v[c]));
    }
  }
  printf("%s: largest difference %.2e of XYZ (seed %d)\n", PROFILES[_i].name, largest, SEED);
  ck_assert_msg(largest < tolerance, "%s: off by %g", PROFILES[_i].name, largest);
  cmsDeleteTransform(transform);
  cmsCloseProfile(from);
  cmsCloseProfile(to);
  file_bytes_clear(&bytes);
}
END_TEST

/* sRGB to XYZ under D50 by the Bradford transform as Lindbloom publishes it (from memory), his white of D65 differing in
 * the fourth digit from that of four-digit chromaticities. */
START_TEST(without_a_profile_srgb_is_taken)
{
  static const double PUBLISHED[3][3] = {
      {43.60747, 38.50649, 14.30804}, {22.25045, 71.68786, 6.06169}, {1.39322, 9.71045, 71.41733}};
  static const double WHITE_ROUNDING = 0.03;
  struct encoding encoding = encoding_from((struct file_bytes){0});

  ck_assert(!encoding.embedded);
  ck_assert_ptr_null(encoding.not_used);
  ck_assert_str_eq(encoding.name, "sRGB");
  for (int i = 0; i < 9; i++) {
    ck_assert_double_eq_tol(encoding.xyz_from_linear.m[i / 3][i % 3], PUBLISHED[i / 3][i % 3],
                            WHITE_ROUNDING);
  }
  /* IEC 61966-2-1 */
  ck_assert_double_eq_tol(encoding_linear(&encoding, 0, 0.04), 0.04 / 12.92, 1e-6);
  ck_assert_double_eq_tol(encoding_linear(&encoding, 1, 0.5), pow(0.555 / 1.055, 2.4), 1e-6);
  ck_assert_double_eq(encoding_linear(&encoding, 2, 1), 1);
}
END_TEST

/* The colorants in the Display P3 profile that phones embed (from memory). */
START_TEST(display_p3_has_its_published_colorants)
{
  static const double PUBLISHED[3][3] = {
      {51.512, 29.198, 15.710}, {24.119, 69.225, 6.657}, {-0.105, 4.189, 78.407}};
  static const double WHITE_ROUNDING = 0.03;
  struct file_bytes bytes = profile_make(PROFILE_DISPLAY_P3, 4.3, 0);
  struct encoding encoding = encoding_from(bytes);

  for (int i = 0; i < 9; i++) {
    ck_assert_double_eq_tol(encoding.xyz_from_linear.m[i / 3][i % 3], PUBLISHED[i / 3][i % 3],
                            WHITE_ROUNDING);
  }
  file_bytes_clear(&bytes);
}
END_TEST

START_TEST(curves_rise_and_white_is_100)
{
  struct file_bytes bytes = profile_make(PROFILES[_i].kind, PROFILES[_i].version, PROFILES[_i].table);
  struct encoding encoding = encoding_from(bytes);

  for (int c = 0; c < 3; c++) {
    for (int i = 0; i < ENCODING_STEPS; i++) {
      ck_assert_msg(encoding.curve[c][i + 1] > encoding.curve[c][i], "%s: step %d", PROFILES[_i].name, i);
    }
    ck_assert_double_eq(encoding.curve[c][ENCODING_STEPS], 1);
  }
  ck_assert_double_eq_tol(our_xyz(&encoding, (struct vec3){{1, 1, 1}}).v[1], 100, 1e-12);
  file_bytes_clear(&bytes);
}
END_TEST

START_TEST(codes_go_there_and_back)
{
  struct file_bytes bytes = profile_make(PROFILES[_i].kind, PROFILES[_i].version, PROFILES[_i].table);
  struct encoding encoding = encoding_from(bytes);

  for (int i = 0; i <= 3000; i++) {
    double code = i / 3000.0, linear = encoding_linear(&encoding, i % 3, code);
    ck_assert_double_eq_tol(encoding_code(&encoding, i % 3, linear), code, 1e-9);
  }
  ck_assert_double_eq(encoding_linear(&encoding, 0, -1), encoding.curve[0][0]);
  ck_assert_double_eq(encoding_linear(&encoding, 0, 2), 1);
  ck_assert_double_eq(encoding_code(&encoding, 0, -1), 0);
  ck_assert_double_eq(encoding_code(&encoding, 0, 2), 1);
  ck_assert_double_eq(encoding_code(&encoding, 0, (double)NAN), 0);
  file_bytes_clear(&bytes);
}
END_TEST

/* A table flat at its dark end, as of a scanner, can still be inverted. */
START_TEST(flat_ends_are_made_to_rise)
{
  cmsUInt16Number table[256];

  for (int i = 0; i < 256; i++) {
    table[i] = (cmsUInt16Number)(i < 20 ? 100 : 100 + (i - 20) * 65435 / 235);
  }
  struct file_bytes bytes = profile_with_red_curve(cmsBuildTabulatedToneCurve16(NULL, 256, table));
  struct encoding encoding = encoding_from(bytes);

  for (int i = 0; i < ENCODING_STEPS; i++) {
    ck_assert(encoding.curve[0][i + 1] > encoding.curve[0][i]);
  }
  file_bytes_clear(&bytes);
}
END_TEST

/* A red curve that ends at half: white keeps Y = 100, and red counts half. */
START_TEST(curves_that_end_below_one_go_into_the_matrix)
{
  cmsUInt16Number table[2] = {0, 32768};
  struct file_bytes bytes = profile_with_red_curve(cmsBuildTabulatedToneCurve16(NULL, 2, table));
  struct encoding half = encoding_from(bytes), whole = encoding_from((struct file_bytes){0});

  ck_assert_double_eq(half.curve[0][ENCODING_STEPS], 1);
  ck_assert_double_eq_tol(half.xyz_from_linear.m[1][0] / half.xyz_from_linear.m[1][1],
                          0.5 * whole.xyz_from_linear.m[1][0] / whole.xyz_from_linear.m[1][1], 1e-4);
  ck_assert_double_eq_tol(our_xyz(&half, (struct vec3){{1, 1, 1}}).v[1], 100, 1e-9);
  file_bytes_clear(&bytes);
}
END_TEST

static void assert_bad_profile(struct file_bytes bytes, const char *what)
{
  struct image image = {.icc = bytes.data, .icc_size = bytes.size};
  struct encoding encoding;
  struct error error = {0};

  ck_assert_msg(!encoding_of_image(&image, "a.jpg", &encoding, &error), "%s was taken", what);
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert_str_eq(error.code, "bad-profile");
  ck_assert_msg(strstr(error.text, "a.jpg") && strstr(error.text, "save it again"), "%s", error.text);
}

static cmsToneCurve *table_of(const cmsUInt16Number *values, unsigned count)
{
  return cmsBuildTabulatedToneCurve16(NULL, count, values);
}

START_TEST(curves_without_sense_are_refused)
{
  static const cmsUInt16Number CURVES[3][4] = {
      {0, 30000, 20000, 65535}, /* falls on its way */
      {65535, 40000, 20000, 0}, /* upside down */
      {9000, 9000, 9000, 9000}, /* flat */
  };
  static const char *const NAMES[3] = {"falling", "upside down", "flat"};
  struct file_bytes bytes = profile_with_red_curve(table_of(CURVES[_i], 4));

  assert_bad_profile(bytes, NAMES[_i]);
  file_bytes_clear(&bytes);
}
END_TEST

START_TEST(profiles_without_curves_or_with_one_primary_are_refused)
{
  cmsHPROFILE empty = cmsCreateProfilePlaceholder(NULL), same = cmsCreate_sRGBProfile();

  cmsSetColorSpace(empty, cmsSigRgbData);
  cmsSetPCS(empty, cmsSigXYZData);
  cmsSetDeviceClass(empty, cmsSigDisplayClass);
  struct file_bytes bytes = profile_bytes(empty);
  assert_bad_profile(bytes, "empty");
  file_bytes_clear(&bytes);

  cmsCIEXYZ red = *(cmsCIEXYZ *)cmsReadTag(same, cmsSigRedColorantTag);
  ck_assert(cmsWriteTag(same, cmsSigGreenColorantTag, &red));
  bytes = profile_bytes(same);
  assert_bad_profile(bytes, "two primaries alike");
  file_bytes_clear(&bytes);
}
END_TEST

START_TEST(cut_profiles_are_refused)
{
  struct file_bytes bytes = profile_make(PROFILE_SRGB, 4.3, 0);

  assert_bad_profile((struct file_bytes){bytes.data, 4}, "4 bytes");
  assert_bad_profile((struct file_bytes){bytes.data, 127}, "cut header");
  assert_bad_profile((struct file_bytes){bytes.data, bytes.size / 2}, "half");
  file_bytes_clear(&bytes);
}
END_TEST

/* Intact profiles of other kinds: their photos are still in some RGB, so sRGB is taken and the name says so. */
static cmsHPROFILE other_kind(int i)
{
  cmsHPROFILE srgb = cmsCreate_sRGBProfile(), lab = cmsCreateLab4Profile(NULL), link = NULL;
  cmsToneCurve *curve = cmsBuildGamma(NULL, 2.2);

  if (i == 0) {
    cmsHTRANSFORM transform = cmsCreateTransform(srgb, TYPE_RGB_16, lab, TYPE_Lab_16, 0, 0);
    link = cmsTransform2DeviceLink(transform, 4.3, 0);
    cmsSetDeviceClass(link, cmsSigColorSpaceClass);
    cmsDeleteTransform(transform);
  } else if (i == 1) {
    link = cmsCreateGrayProfile(cmsD50_xyY(), curve);
  } else if (i == 2) {
    link = cmsCreateInkLimitingDeviceLink(cmsSigCmykData, 300);
  } else {
    link = cmsCreateLab4Profile(NULL);
  }
  cmsFreeToneCurve(curve);
  cmsCloseProfile(srgb);
  cmsCloseProfile(lab);
  return link;
}

START_TEST(other_kinds_of_profile_are_named)
{
  static const char *const KINDS[4] = {"a lookup table", "for grey", "for CMYK", "not for RGB"};
  char name[64];
  struct file_bytes bytes = profile_bytes(other_kind(_i));
  struct encoding encoding = encoding_from(bytes), srgb = encoding_from((struct file_bytes){0});

  snprintf(name, sizeof name, "sRGB (embedded profile not usable: %s)", KINDS[_i]);
  ck_assert_str_eq(encoding.name, name);
  ck_assert_str_eq(encoding.not_used, KINDS[_i]);
  ck_assert(!encoding.embedded);
  ck_assert_mem_eq(encoding.curve, srgb.curve, sizeof srgb.curve);
  ck_assert_mem_eq(&encoding.xyz_from_linear, &srgb.xyz_from_linear, sizeof srgb.xyz_from_linear);
  file_bytes_clear(&bytes);
}
END_TEST

/* Either a sound encoding or a refusal, never a crash. */
START_TEST(flipped_bytes_do_no_harm)
{
  enum { RUNS = 1000, SEED = 31 };
  struct random random = random_start(SEED);
  struct file_bytes bytes = profile_make(PROFILE_SRGB, _i ? 2.4 : 4.3, _i ? 64 : 0);
  int taken = 0;

  for (int run = 0; run < RUNS; run++) {
    size_t at = (size_t)random_below(&random, (int)bytes.size);
    uint8_t kept = bytes.data[at];
    struct image image = {.icc = bytes.data, .icc_size = bytes.size};
    struct encoding encoding;
    struct error error = {0};
    bytes.data[at] = (uint8_t)random_bits(&random);
    if (encoding_of_image(&image, "a.jpg", &encoding, &error)) {
      taken++;
      ck_assert_double_eq_tol(our_xyz(&encoding, (struct vec3){{1, 1, 1}}).v[1], 100, 1e-9);
      ck_assert(encoding_linear(&encoding, 0, 0.7) > encoding_linear(&encoding, 0, 0.3));
    } else {
      ck_assert_str_eq(error.code, "bad-profile");
    }
    bytes.data[at] = kept;
  }
  printf("seed %d: %d of %d damaged profiles were still usable\n", SEED, taken, RUNS);
  file_bytes_clear(&bytes);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/encoding");
  TCase *cases = tcase_create("encoding");
  int profiles = sizeof PROFILES / sizeof *PROFILES;

  tcase_set_timeout(cases, 60);
  tcase_add_loop_test(cases, xyz_agrees_with_little_cms, 0, profiles);
  tcase_add_test(cases, without_a_profile_srgb_is_taken);
  tcase_add_test(cases, display_p3_has_its_published_colorants);
  tcase_add_loop_test(cases, curves_rise_and_white_is_100, 0, profiles);
  tcase_add_loop_test(cases, codes_go_there_and_back, 0, profiles);
  tcase_add_test(cases, flat_ends_are_made_to_rise);
  tcase_add_test(cases, curves_that_end_below_one_go_into_the_matrix);
  tcase_add_loop_test(cases, curves_without_sense_are_refused, 0, 3);
  tcase_add_test(cases, profiles_without_curves_or_with_one_primary_are_refused);
  tcase_add_test(cases, cut_profiles_are_refused);
  tcase_add_loop_test(cases, other_kinds_of_profile_are_named, 0, 4);
  tcase_add_loop_test(cases, flipped_bytes_do_no_harm, 0, 2);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
