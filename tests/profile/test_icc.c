/* SPDX-License-Identifier: MIT */
/* The ICC file against Little-CMS, which reads it as any other program would. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <lcms2.h>

#include "colour/difference.h"
#include "profile/icc.h"
#include "random.h"
#include "suite.h"

/* Curves and colorants are rounded to 16 bits, which shows on dark colours: 0.08 in underexposed photos, 0.01 above L* 30. */
static const double MATRIX_WITHIN = 0.1;
/* Interpolation between 33 grid points: of colours from L* 10 on 97 of 100 within 0.1. Worst are greys, where a bend has a
 * crease, and L* below 10, where CIELAB passes from its cube root to its straight part. */
static const double TABLE_WITHIN = 0.4, TABLE_USUAL = 0.1, TABLE_MEAN = 0.04;
static const double DARK = 10; /* L* */
static const uint64_t SEED = 15076;

enum { COLOURS = 4000 };

/* Profiles as fits give them: the sRGB curve, a tone curve on top, primaries near those of sRGB under D50. */
static const struct {
  const char *name;
  double knot[PROFILE_KNOTS];
  double exposure;
  double bend;
} CASE[] = {
    {"plain", {0}, 1, 0},
    {"contrast", {0, -0.15, 0.1, 0.2, 0.1, 0, -0.1, -0.2}, 1, 0},
    {"lifted black", {-0.02, 0.05, 0, 0, 0, 0, 0, 0}, 1, 0},
    {"veil taken for light", {0.02, 0, 0, 0, 0, 0, 0, 0}, 1, 0},
    {"underexposed", {0}, 3.5, 0},
    {"overexposed", {0, 0.1, 0.1, 0, 0, 0, 0, 0}, 0.6, 0},
    {"bent", {0}, 1, 0.6},
    {"bent, contrast", {0, -0.15, 0.1, 0.2, 0.1, 0, -0.1, -0.2}, 1, 1.0},
    {"strongly bent", {0}, 1, 2.25},
    {"bent, lifted black", {-0.02, 0.05, 0, 0, 0, 0, 0, 0}, 1.2, 0.6},
};
enum { CASES = sizeof CASE / sizeof *CASE };

static struct profile profile_by_hand(int i)
{
  static const double primaries[3][3] = {{43.61, 38.51, 14.31}, {22.25, 71.69, 6.06}, {1.39, 9.71, 71.39}};
  struct image image = {.width = 1, .height = 1, .bits = 8};
  struct random random = random_start(SEED + (uint64_t)i);
  struct profile profile = {0};
  struct error error;

  ck_assert_msg(encoding_of_image(&image, "none", &profile.encoding, &error), "%s", error.text);
  memcpy(profile.knot, CASE[i].knot, sizeof profile.knot);
  for (int row = 0; row < 3; row++) {
    for (int column = 0; column < 3; column++) {
      profile.matrix[row][column] =
          CASE[i].exposure * (primaries[row][column] + random_between(&random, -3, 3));
    }
    for (int k = 0; k < PROFILE_BENDS; k++) {
      profile.bend[row][k] = CASE[i].bend * random_normal(&random);
    }
  }
  profile.bent = CASE[i].bend > 0;
  return profile;
}

/* Codes of soils and fabrics: from near black to pale, red over green over blue. */
static struct vec3 soil_code(struct random *random)
{
  double green = random_between(random, 12, 215), warm = random_between(random, 0.85, 1.5);
  double blue = random_between(random, 0.35, 1.05);

  return (struct vec3){{fmin(green * warm, 250) / 255, green / 255, green * blue / 255}};
}

static struct file_bytes icc_of(const struct profile *profile)
{
  struct file_bytes icc;
  struct error error;

  ck_assert_msg(profile_icc(profile, "tawny: test", &icc, &error), "%s", error.text);
  return icc;
}

static cmsHTRANSFORM lab_transform(const struct file_bytes *icc, cmsUInt32Number intent, cmsHPROFILE *opened)
{
  cmsHPROFILE lab = cmsCreateLab4Profile(NULL);

  *opened = cmsOpenProfileFromMem(icc->data, (cmsUInt32Number)icc->size);
  ck_assert_ptr_nonnull(*opened);
  cmsHTRANSFORM transform = cmsCreateTransform(*opened, TYPE_RGB_DBL, lab, TYPE_Lab_DBL, intent,
                                               cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
  ck_assert_ptr_nonnull(transform);
  cmsCloseProfile(lab);
  return transform;
}

/* What a file can hold: no negative light (clipped to black) and no lightness beyond the perfect diffuser's. */
static bool representable(const struct profile *profile, struct vec3 code)
{
  struct vec3 linear = profile_linear(profile, code);

  return linear.v[0] >= 0 && linear.v[1] >= 0 && linear.v[2] >= 0 && profile_lab(profile, linear).L <= 100;
}

START_TEST(little_cms_gives_our_lab)
{
  static const cmsUInt32Number intent[] = {INTENT_RELATIVE_COLORIMETRIC, INTENT_ABSOLUTE_COLORIMETRIC};
  struct profile profile = profile_by_hand(_i % CASES);
  struct file_bytes icc = icc_of(&profile);
  struct random random = random_start(SEED);
  cmsHPROFILE opened;
  cmsHTRANSFORM transform = lab_transform(&icc, intent[_i / CASES], &opened);
  double sum = 0, within = profile.bent ? TABLE_WITHIN : MATRIX_WITHIN;
  int compared = 0, beyond = 0;

  for (int n = 0; n < COLOURS; n++) {
    struct vec3 code = soil_code(&random);
    struct lab theirs, ours = profile_lab(&profile, profile_linear(&profile, code));
    if (!representable(&profile, code)) {
      continue;
    }
    cmsDoTransform(transform, code.v, &theirs, 1);
    double de = colour_de00(ours, theirs);
    sum += de;
    compared++;
    beyond += de > TABLE_USUAL && ours.L >= DARK;
    ck_assert_msg(de <= within, "%s: %.3f at code %.1f %.1f %.1f, L* %.1f (seed %d)", CASE[_i % CASES].name,
                  de, 255 * code.v[0], 255 * code.v[1], 255 * code.v[2], ours.L, (int)SEED);
  }
  ck_assert_int_gt(compared, COLOURS / 3);
  ck_assert_msg(sum / compared < TABLE_MEAN && beyond <= compared * 3 / 100,
                "%s: mean %.4f, %d of %d beyond %.1f", CASE[_i % CASES].name, sum / compared, beyond,
                compared, TABLE_USUAL);
  cmsDeleteTransform(transform);
  cmsCloseProfile(opened);
  file_bytes_clear(&icc);
}
END_TEST

START_TEST(header_says_what_it_is)
{
  struct profile profile = profile_by_hand(_i);
  struct file_bytes icc = icc_of(&profile);
  cmsHPROFILE opened = cmsOpenProfileFromMem(icc.data, (cmsUInt32Number)icc.size);
  char words[64];
  const cmsCIEXYZ *white;

  ck_assert_ptr_nonnull(opened);
  ck_assert_uint_eq(cmsGetEncodedICCversion(opened), 0x02400000);
  ck_assert_uint_eq(cmsGetDeviceClass(opened), cmsSigInputClass);
  ck_assert_uint_eq(cmsGetColorSpace(opened), cmsSigRgbData);
  ck_assert_uint_eq(cmsGetPCS(opened), profile.bent ? cmsSigLabData : cmsSigXYZData);
  ck_assert_int_eq(cmsIsMatrixShaper(opened), !profile.bent);
  ck_assert_uint_eq(cmsGetHeaderRenderingIntent(opened), INTENT_RELATIVE_COLORIMETRIC);
  ck_assert_uint_gt(cmsGetProfileInfoASCII(opened, cmsInfoDescription, "en", "US", words, sizeof words), 0);
  ck_assert_str_eq(words, "tawny: test");
  white = cmsReadTag(opened, cmsSigMediaWhitePointTag);
  ck_assert_ptr_nonnull(white);
  ck_assert_double_eq_tol(white->X, 0.9642, 1e-5);
  ck_assert_double_eq_tol(white->Y, 1, 1e-5);
  ck_assert_double_eq_tol(white->Z, 0.8249, 1e-5);
  cmsCloseProfile(opened);
  file_bytes_clear(&icc);
}
END_TEST

START_TEST(bytes_are_the_same_every_time)
{
  struct profile profile = profile_by_hand(_i);
  struct file_bytes first = icc_of(&profile), second;

  sleep(1);
  second = icc_of(&profile);
  ck_assert_uint_eq(first.size, second.size);
  ck_assert_mem_eq(first.data, second.data, first.size);
  ck_assert_uint_eq(first.size % 4, 0);
  ck_assert_uint_eq(first.size, (size_t)first.data[0] << 24 | (size_t)first.data[1] << 16 |
                                    (size_t)first.data[2] << 8 | first.data[3]);
  file_bytes_clear(&first);
  file_bytes_clear(&second);
}
END_TEST

/* One curve serves three channels where they are alike. */
START_TEST(alike_curves_are_stored_once)
{
  struct profile profile = profile_by_hand(0);
  struct file_bytes icc = icc_of(&profile);

  ck_assert_uint_lt(icc.size, 10000);
  file_bytes_clear(&icc);
  profile.encoding.curve[1][500] += 0.01;
  icc = icc_of(&profile);
  ck_assert_uint_gt(icc.size, 16000);
  file_bytes_clear(&icc);
}
END_TEST

START_TEST(description_is_kept_to_ascii)
{
  struct profile profile = profile_by_hand(0);
  struct file_bytes icc;
  struct error error;
  char words[64];

  ck_assert(profile_icc(&profile, "gr\xc3\xbcn\n", &icc, &error));
  cmsHPROFILE opened = cmsOpenProfileFromMem(icc.data, (cmsUInt32Number)icc.size);
  cmsGetProfileInfoASCII(opened, cmsInfoDescription, "en", "US", words, sizeof words);
  ck_assert_str_eq(words, "gr??n?");
  cmsCloseProfile(opened);
  file_bytes_clear(&icc);
}
END_TEST

/* A program that people have: 8-bit codes typed into transicc. Its output has two decimals or more. */
START_TEST(transicc_gives_our_lab)
{
  struct profile profile = profile_by_hand(_i);
  struct file_bytes icc = icc_of(&profile);
  char path[] = "tawny-icc-XXXXXX", command[256];
  struct lab theirs,
      ours = profile_lab(&profile,
                         profile_linear(&profile, (struct vec3){{120 / 255.0, 96 / 255.0, 70 / 255.0}}));
  int file = mkstemp(path);

  ck_assert_int_ge(file, 0);
  ck_assert_int_eq(write(file, icc.data, icc.size), (ssize_t)icc.size);
  close(file);
  snprintf(command, sizeof command, "printf '120 96 70\\n' | transicc -n -i %s -o '*Lab' -t 1 2>/dev/null",
           path);
  FILE *pipe = popen(command, "r");
  int read = pipe ? fscanf(pipe, "%lf %lf %lf", &theirs.L, &theirs.a, &theirs.b) : 0;
  if (pipe) {
    pclose(pipe);
  }
  unlink(path);
  file_bytes_clear(&icc);
  if (read != 3) {
    puts("skipped: no transicc");
    return;
  }
  ck_assert_msg(colour_de00(ours, theirs) < TABLE_WITHIN, "%s: %.2f %.2f %.2f for %.2f %.2f %.2f",
                CASE[_i].name, theirs.L, theirs.a, theirs.b, ours.L, ours.a, ours.b);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("profile/icc");
  TCase *cases = tcase_create("icc");

  tcase_set_timeout(cases, 60);
  tcase_add_loop_test(cases, little_cms_gives_our_lab, 0, 2 * CASES);
  tcase_add_loop_test(cases, header_says_what_it_is, 0, CASES);
  tcase_add_loop_test(cases, bytes_are_the_same_every_time, 5, 7);
  tcase_add_test(cases, alike_curves_are_stored_once);
  tcase_add_test(cases, description_is_kept_to_ascii);
  tcase_add_loop_test(cases, transicc_gives_our_lab, 0, CASES);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
