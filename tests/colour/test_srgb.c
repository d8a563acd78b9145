/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <lcms2.h>

#include "colour/difference.h"
#include "colour/srgb.h"
#include "random.h"
#include "suite.h"

enum { RUNS = 2000, SEED = 61966 };

START_TEST(every_code_survives_the_curve)
{
  double code = _i / 255.0;

  ck_assert_double_eq_tol(colour_srgb_encode(colour_srgb_decode(code)), code, 1e-12);
  ck_assert_double_eq_tol(colour_srgb_decode(-code), -colour_srgb_decode(code), 1e-15);
}
END_TEST

/* IEC 61966-2-1: the two pieces meet; the printed constants leave a step of 3e-8. */
START_TEST(pieces_of_the_curve_meet)
{
  ck_assert_double_eq_tol(colour_srgb_decode(0.04045), colour_srgb_decode(0.0404500001), 1e-7);
  ck_assert_double_eq_tol(colour_srgb_encode(0.0031308), colour_srgb_encode(0.0031308001), 1e-6);
  ck_assert_double_eq_tol(colour_srgb_decode(1), 1, 1e-12);
}
END_TEST

/* Second implementation: the sRGB profile that Little-CMS builds. Ours uses the standard's matrix, printed to four decimals,
 * theirs the exact primaries rounded to 1/65536. */
static const double MATRIX_ROUNDING = 0.05;

static struct lab theirs(cmsHTRANSFORM transform, struct srgb c)
{
  const double rgb[3] = {c.red / 255.0, c.green / 255.0, c.blue / 255.0};
  cmsCIELab lab;

  cmsDoTransform(transform, rgb, &lab, 1);
  return (struct lab){lab.L, lab.a, lab.b};
}

START_TEST(agrees_with_little_cms)
{
  cmsHPROFILE srgb = cmsCreate_sRGBProfile(), pcs = cmsCreateLab4Profile(NULL);
  cmsHTRANSFORM transform =
      cmsCreateTransform(srgb, TYPE_RGB_DBL, pcs, TYPE_Lab_DBL, INTENT_RELATIVE_COLORIMETRIC,
                         cmsFLAGS_NOOPTIMIZE | cmsFLAGS_NOCACHE);
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    struct srgb c = {(uint8_t)random_below(&random, 256), (uint8_t)random_below(&random, 256),
                     (uint8_t)random_below(&random, 256), true};
    struct lab ours = colour_lab_from_xyz(colour_xyz_d50_from_srgb(c), COLOUR_WHITE_D50);
    double apart = colour_de00(ours, theirs(transform, c));
    ck_assert_msg(apart <= MATRIX_ROUNDING, "#%02x%02x%02x: %.4f apart", c.red, c.green, c.blue, apart);
  }
  cmsDeleteTransform(transform);
  cmsCloseProfile(pcs);
  cmsCloseProfile(srgb);
}
END_TEST

START_TEST(codes_come_back)
{
  struct random random = random_start(SEED + 1);

  for (int run = 0; run < RUNS; run++) {
    struct srgb c = {(uint8_t)random_below(&random, 256), (uint8_t)random_below(&random, 256),
                     (uint8_t)random_below(&random, 256), true};
    struct lab lab = colour_lab_from_xyz(colour_xyz_d50_from_srgb(c), COLOUR_WHITE_D50);
    struct srgb back = colour_srgb_from_lab_d50(lab);
    ck_assert_msg(back.red == c.red && back.green == c.green && back.blue == c.blue && back.in_gamut,
                  "#%02x%02x%02x came back as #%02x%02x%02x", c.red, c.green, c.blue, back.red, back.green,
                  back.blue);
  }
}
END_TEST

START_TEST(white_and_black_are_the_ends)
{
  struct srgb white = colour_srgb_from_lab_d50((struct lab){100, 0, 0});
  struct srgb black = colour_srgb_from_lab_d50((struct lab){0, 0, 0});

  ck_assert(white.red == 255 && white.green == 255 && white.blue == 255 && white.in_gamut);
  ck_assert(black.red == 0 && black.green == 0 && black.blue == 0 && black.in_gamut);
}
END_TEST

START_TEST(colours_outside_are_clipped_and_marked)
{
  struct srgb cyan = colour_srgb_from_lab_d50((struct lab){50, -60, -40});

  ck_assert(!cyan.in_gamut);
  ck_assert_uint_eq(cyan.red, 0);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("colour/srgb");
  TCase *cases = tcase_create("srgb");

  tcase_add_loop_test(cases, every_code_survives_the_curve, 0, 256);
  tcase_add_test(cases, pieces_of_the_curve_meet);
  tcase_add_test(cases, agrees_with_little_cms);
  tcase_add_test(cases, codes_come_back);
  tcase_add_test(cases, white_and_black_are_the_ends);
  tcase_add_test(cases, colours_outside_are_clipped_and_marked);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
