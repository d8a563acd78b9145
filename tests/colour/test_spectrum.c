/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>

#include "colour/spectrum.h"
#include "shared.h"
#include "suite.h"

static struct xyY white_of(struct spectrum light)
{
  struct spectrum diffuser;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    diffuser.band[i] = 1;
  }
  return colour_xyY_from_xyz(spectrum_xyz(&diffuser, &light), COLOUR_WHITE_D50);
}

/* CIE 15:2018, chromaticities of the illuminants, five decimals; summing 5 nm instead of 1 nm adds up to as much again. */
static const double CHROMATICITY_ROUNDING = 1e-5;
static const struct {
  const char *name;
  enum spectrum_illuminant illuminant;
  double x, y;
} ILLUMINANTS[] = {{"A", ILLUMINANT_A, 0.44758, 0.40745},
                   {"C", ILLUMINANT_C, 0.31006, 0.31616},
                   {"D50", ILLUMINANT_D50, 0.34567, 0.35851},
                   {"D65", ILLUMINANT_D65, 0.31272, 0.32903}};

START_TEST(white_point_by_summation)
{
  struct xyY white = white_of(spectrum_of_illuminant(ILLUMINANTS[_i].illuminant));

  ck_assert_msg(fabs(white.x - ILLUMINANTS[_i].x) <= CHROMATICITY_ROUNDING &&
                    fabs(white.y - ILLUMINANTS[_i].y) <= CHROMATICITY_ROUNDING,
                "%s: %.6f %.6f", ILLUMINANTS[_i].name, white.x, white.y);
  ck_assert_double_eq_tol(white.Y, 100, 1e-9);
}
END_TEST

/* CIE 15:2018: correlated colour temperatures of the D illuminants (nominal times 1.4388 / 1.4380) and their chromaticities. The
 * temperature is rounded to whole kelvins and the tables' M1, M2 to three decimals. */
static const double DAYLIGHT_ROUNDING = 1.5e-4;
static const struct {
  const char *name;
  double kelvin, x, y;
} DAYLIGHTS[] = {{"D50", 5003, 0.34567, 0.35851},
                 {"D55", 5503, 0.33243, 0.34744},
                 {"D65", 6504, 0.31272, 0.32903},
                 {"D75", 7504, 0.29903, 0.31488}};

START_TEST(daylight_has_the_published_chromaticity)
{
  struct spectrum light = spectrum_of_daylight(DAYLIGHTS[_i].kelvin);
  struct xyY white = white_of(light);

  ck_assert_double_eq_tol(light.band[36], 100, 1e-9);
  ck_assert_msg(fabs(white.x - DAYLIGHTS[_i].x) <= DAYLIGHT_ROUNDING &&
                    fabs(white.y - DAYLIGHTS[_i].y) <= DAYLIGHT_ROUNDING,
                "%s: %.6f %.6f", DAYLIGHTS[_i].name, white.x, white.y);
}
END_TEST

/* The tables of D50 and D65 come from M1, M2 rounded to three decimals: 0.0005 times |S1| + |S2| <= 60. */
START_TEST(daylight_agrees_with_the_tabulated_illuminants)
{
  const struct {
    double kelvin;
    enum spectrum_illuminant illuminant;
  } pair[2] = {{1.4388 / 1.4380 * 5000, ILLUMINANT_D50}, {1.4388 / 1.4380 * 6500, ILLUMINANT_D65}};
  struct spectrum ours = spectrum_of_daylight(pair[_i].kelvin);
  struct spectrum table = spectrum_of_illuminant(pair[_i].illuminant);

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    ck_assert_msg(fabs(ours.band[i] - table.band[i]) <= 0.03, "%d nm: %.4f, tabulated %.4f", 380 + 5 * i,
                  ours.band[i], table.band[i]);
  }
}
END_TEST

START_TEST(daylight_stops_at_the_ends_of_its_formula)
{
  struct spectrum low = spectrum_of_daylight(3000), low_end = spectrum_of_daylight(4000);
  struct spectrum high = spectrum_of_daylight(90000), high_end = spectrum_of_daylight(25000);

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    ck_assert(low.band[i] == low_end.band[i] && high.band[i] == high_end.band[i] && high.band[i] > 0);
  }
}
END_TEST

/* The two branches of the locus meet at 7000 K: a step of 50 K there is like the steps before it. */
START_TEST(daylight_changes_smoothly)
{
  double before = 0;

  for (int kelvin = 4000; kelvin < 25000; kelvin += 50) {
    struct xyY one = white_of(spectrum_of_daylight(kelvin)),
               two = white_of(spectrum_of_daylight(kelvin + 50));
    double step = one.x - two.x;
    ck_assert_msg(step > 0 && (before == 0 || fabs(step / before - 1) < 0.2),
                  "%d K: x falls by %.7f after %.7f", kelvin, step, before);
    before = step;
  }
}
END_TEST

/* Measured daylight tables of others, where there are any: D55 and D75. */
START_TEST(daylight_agrees_with_other_tables)
{
  const struct {
    const char *name;
    double kelvin;
  } row[2] = {{"D55", 5503}, {"D75", 7504}};
  char path[512];
  struct spectra lights;
  struct error error;

  if (!shared_path("spectra/illuminants.csv", path, sizeof path)) {
    printf("skipped: no ../shared/spectra\n");
    return;
  }
  ck_assert_msg(spectra_read(path, 1, &lights, &error), "%s", error.text);
  const struct spectrum *table = spectra_find(&lights, row[_i].name);
  ck_assert_ptr_nonnull(table);
  struct spectrum ours = spectrum_of_daylight(row[_i].kelvin);
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    ck_assert_msg(fabs(ours.band[i] - table->band[i]) <= 0.06, "%s %d nm: %.4f, table %.4f", row[_i].name,
                  380 + 5 * i, ours.band[i], table->band[i]);
  }
  spectra_clear(&lights);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("colour/spectrum");
  TCase *cases = tcase_create("spectrum");

  tcase_add_loop_test(cases, white_point_by_summation, 0, 4);
  tcase_add_loop_test(cases, daylight_has_the_published_chromaticity, 0, 4);
  tcase_add_loop_test(cases, daylight_agrees_with_the_tabulated_illuminants, 0, 2);
  tcase_add_test(cases, daylight_stops_at_the_ends_of_its_formula);
  tcase_add_test(cases, daylight_changes_smoothly);
  tcase_add_loop_test(cases, daylight_agrees_with_other_tables, 0, 2);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
