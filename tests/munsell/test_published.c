/* SPDX-License-Identifier: MIT */
/* The conversion against figures of others. Sources interpolate the renotation differently, so their notations spread by a few
 * tenths; that is what the tolerances are. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "csv.h"
#include "munsell/renotation.h"
#include "shared.h"
#include "suite.h"

/* From magnesium oxide, the scale of 1943 and of the chart, to the perfect diffuser. */
#define MGO 0.975

/* Between values 2 and 9, where the published methods agree with each other as closely: hue in steps of 100 round the circle,
 * value and chroma in units. */
static const double HUE_SPREAD = 0.25, CHROMA_SPREAD = 0.25, VALUE_SPREAD = 0.02;

/* Rows that bound nothing but gross error: at values 1 to 2 and above 9 the published methods differ from each other by up to
 * 1.7 and 5 in chroma. */
static const double DARK_HUE_SPREAD = 0.7, DARK_CHROMA_SPREAD = 2, LIGHT_HUE_SPREAD = 0.6,
                    LIGHT_CHROMA_SPREAD = 5.1;

/* The polynomial is printed to five digits; the table to four decimals. */
static const double LUMINANCE_ROUNDING = 0.5e-4;

/* Munsell value and luminous reflectance, percent of the perfect diffuser, by ASTM D1535-14, equation for Y. */
static const struct {
  double value, luminance;
} LUMINANCES[] = {
    {0, 0.0000},  {0.5, 0.5673},  {1, 1.1799},    {1.5, 1.9708},  {2, 3.0481},  {2.5, 4.4988},
    {3, 6.3912},  {3.5, 8.7783},  {4, 11.7008},   {4.5, 15.1902}, {5, 19.2718}, {5.5, 23.9681},
    {6, 29.3012}, {6.5, 35.2964}, {7, 41.9854},   {7.5, 49.4088}, {8, 57.6196}, {8.5, 66.6863},
    {9, 76.6956}, {9.5, 87.7559}, {10, 100.0000},
};

struct published {
  const char *name;
  struct xyY colour;
  struct munsell notation;
};

/* Centore 2012, "An open-source inversion algorithm for the Munsell renotation", Color Res. Appl. 37, 455-464, table 2: xyY
 * under C and his notations; and the worked examples of ASTM D1535 as quoted there. */
static const struct published INVERSIONS[] = {
    {"Simon and Frost, 4.58PB 3.43/7.76", {0.1988, 0.1930, 8.39}, {74.58, 3.43, 7.76}},
    {"Simon and Frost, 1.13RP 3.28/5.94", {0.3352, 0.2404, 7.67}, {91.13, 3.28, 5.94}},
    {"Simon and Frost, 3.89R 3.9/8.86", {0.4784, 0.3095, 11.05}, {3.89, 3.9, 8.86}},
    {"Simon and Frost, 7.81Y 5.94/8.74", {0.4385, 0.4824, 28.63}, {27.81, 5.94, 8.74}},
    {"Simon and Frost, 1.12YR 4.49/9.41", {0.5190, 0.3695, 15.13}, {11.12, 4.49, 9.41}},
    {"Simon and Frost, 1.1YR 2.95/6.99", {0.5184, 0.3573, 6.20}, {11.1, 2.95, 6.99}},
    {"Simon and Frost, 0.59PB 4.27/2.59", {0.2687, 0.2842, 13.54}, {70.59, 4.27, 2.59}},
    {"Simon and Frost, 0.23G 2.05/2.54", {0.3036, 0.3747, 3.18}, {40.23, 2.05, 2.54}},
    {"Simon and Frost, 0.42Y 4.16/1.54", {0.3517, 0.3492, 12.76}, {20.42, 4.16, 1.54}},
    {"Simon and Frost, 9.29R 4.92/1.76", {0.3421, 0.3252, 18.55}, {9.29, 4.92, 1.76}},
    {"Simon and Frost, 6.84YR 4.18/2.48", {0.3767, 0.3546, 12.88}, {16.84, 4.18, 2.48}},
    {"Simon and Frost, 6.63PB 4.46/3.66", {0.2697, 0.2640, 14.89}, {76.63, 4.46, 3.66}},
    {"Simon and Frost, 6.24G 5.92/3.3", {0.2882, 0.3492, 28.41}, {46.24, 5.92, 3.3}},
    {"Simon and Frost, 9.83YR 6.14/4.36", {0.3918, 0.3800, 30.97}, {19.83, 6.14, 4.36}},
    {"Simon and Frost, N 4.61/", {0.3099, 0.3153, 16.02}, {0, 4.61, 0}},
    {"Simon and Frost, 4.13BG 5.67/3.84", {0.2665, 0.3291, 25.71}, {54.13, 5.67, 3.84}},
    {"Simon and Frost, 2.3R 3.5/4.2", {0.3952, 0.3084, 8.75}, {2.3, 3.5, 4.2}},
    {"ASTM colour, 4B 8.11/6.59", {0.2395, 0.2905, 59.53}, {64, 8.11, 6.59}},
    {"ASTM D1535 example, 3.9B 8.11/6.6", {0.2395, 0.2905, 59.53}, {63.9, 8.11, 6.6}},
    {"ASTM colour, 6.08RP 9.19/6.63", {0.3434, 0.3025, 80.84}, {96.08, 9.19, 6.63}},
    {"ASTM D1535 example, 5.9RP 9.19/6", {0.3434, 0.3025, 80.84}, {95.9, 9.19, 6}},
    {"ASTM colour, 5.41YR 8.78/7.58", {0.4183, 0.3790, 72.22}, {15.41, 8.78, 7.58}},
    {"ASTM D1535 example, 5.4YR 8.78/7.6", {0.4183, 0.3790, 72.22}, {15.4, 8.78, 7.6}},
    {"ASTM colour, 5.57Y 7.56/13.63", {0.4690, 0.4953, 50.30}, {25.57, 7.56, 13.63}},
    {"ASTM D1535 example, 5.6Y 7.56/13.7", {0.4690, 0.4953, 50.30}, {25.6, 7.56, 13.7}},
    {"Wallkill, 8.19B 1.4/5.21", {0.1600, 0.1900, 1.79}, {68.19, 1.4, 5.21}},
    {"Wallkill, 8.53BG 3.3/2", {0.2700, 0.3100, 7.76}, {58.53, 3.3, 2}},
    {"Wallkill, 2.77YR 5.06/5.26", {0.4200, 0.3600, 19.77}, {12.77, 5.06, 5.26}},
    {"Wallkill, 1.96P 6.2/6.67", {0.2800, 0.2500, 31.62}, {81.96, 6.2, 6.67}},
    {"Wallkill, 9.24GY 7.4/13.65", {0.3200, 0.5400, 47.86}, {39.24, 7.4, 13.65}},
};

/* McCamy, Marcus & Davidson 1976, "A color-rendition chart", J. Appl. Photogr. Eng. 2(3), 95-99: aim xyY of the 24 patches
 * under C, and the notation printed with each; patch 14 with chroma 8.65 instead of the 9.65 that its x, y, Y exclude. */
static const struct published PATCHES[] = {
    {"dark skin, 3YR 3.7/3.2", {0.4002, 0.3504, 10.05 * MGO}, {13, 3.7, 3.2}},
    {"light skin, 2.2YR 6.47/4.1", {0.3773, 0.3446, 35.82 * MGO}, {12.2, 6.47, 4.1}},
    {"blue sky, 4.3PB 4.95/5.5", {0.2470, 0.2514, 19.33 * MGO}, {74.3, 4.95, 5.5}},
    {"foliage, 6.7GY 4.2/4.1", {0.3372, 0.4220, 13.29 * MGO}, {36.7, 4.2, 4.1}},
    {"blue flower, 9.7PB 5.47/6.7", {0.2651, 0.2400, 24.27 * MGO}, {79.7, 5.47, 6.7}},
    {"bluish green, 2.5BG 7/6", {0.2608, 0.3430, 43.06 * MGO}, {52.5, 7, 6}},
    {"orange, 5YR 6/11", {0.5060, 0.4070, 30.05 * MGO}, {15, 6, 11}},
    {"purplish blue, 7.5PB 4/10.7", {0.2110, 0.1750, 12.00 * MGO}, {77.5, 4, 10.7}},
    {"moderate red, 2.5R 5/10", {0.4533, 0.3058, 19.77 * MGO}, {2.5, 5, 10}},
    {"purple, 5P 3/7", {0.2845, 0.2020, 6.56 * MGO}, {85, 3, 7}},
    {"yellow green, 5GY 7.1/9.1", {0.3800, 0.4887, 44.29 * MGO}, {35, 7.1, 9.1}},
    {"orange yellow, 10YR 7/10.5", {0.4729, 0.4375, 43.06 * MGO}, {20, 7, 10.5}},
    {"blue, 7.5PB 2.9/12.7", {0.1866, 0.1285, 6.11 * MGO}, {77.5, 2.9, 12.7}},
    {"green, 0.25G 5.4/8.65", {0.3046, 0.4782, 23.39 * MGO}, {40.25, 5.4, 8.65}},
    {"red, 5R 4/12", {0.5385, 0.3129, 12.00 * MGO}, {5, 4, 12}},
    {"yellow, 5Y 8/11.1", {0.4480, 0.4703, 59.10 * MGO}, {25, 8, 11.1}},
    {"magenta, 2.5RP 5/12", {0.3635, 0.2325, 19.77 * MGO}, {92.5, 5, 12}},
    {"cyan, 5B 5/8", {0.1958, 0.2519, 19.77 * MGO}, {65, 5, 8}},
    {"white, N 9.5/", {0.3101, 0.3163, 90.01 * MGO}, {0, 9.5, 0}},
    {"neutral 8, N 8/", {0.3101, 0.3163, 59.10 * MGO}, {0, 8, 0}},
    {"neutral 6.5, N 6.5/", {0.3101, 0.3163, 36.20 * MGO}, {0, 6.5, 0}},
    {"neutral 5, N 5/", {0.3101, 0.3163, 19.77 * MGO}, {0, 5, 0}},
    {"neutral 3.5, N 3.5/", {0.3101, 0.3163, 9.00 * MGO}, {0, 3.5, 0}},
    {"black, N 2/", {0.3101, 0.3163, 3.13 * MGO}, {0, 2, 0}},
};

enum { LUMINANCE_COUNT = sizeof LUMINANCES / sizeof *LUMINANCES };
enum {
  INVERSION_COUNT = sizeof INVERSIONS / sizeof *INVERSIONS,
  PATCH_COUNT = sizeof PATCHES / sizeof *PATCHES
};

static double hue_between(double a, double b)
{
  return fabs(remainder(a - b, 100));
}

START_TEST(luminance_of_value)
{
  double value = LUMINANCES[_i].value, luminance = LUMINANCES[_i].luminance;

  ck_assert_msg(fabs(munsell_luminance(value) - luminance) <= LUMINANCE_ROUNDING,
                "value %g: Y %.6f, not %.4f", value, munsell_luminance(value), luminance);
  ck_assert_msg(fabs(munsell_value(munsell_luminance(value)) - value) <= 1e-12,
                "value %g comes back as %.15g", value, munsell_value(munsell_luminance(value)));
}
END_TEST

/* Published with the documentation of another implementation, which reads a table of 0.001 steps, to seven decimals. */
START_TEST(value_of_luminance)
{
  ck_assert_double_eq_tol(munsell_value(12.23634268), 4.0824437, 1e-7);
}
END_TEST

static void check_inversion(const struct published *row)
{
  double value = row->notation.value;
  bool light = value > 9, dark = value < 2;
  double hue = dark ? DARK_HUE_SPREAD : light ? LIGHT_HUE_SPREAD : HUE_SPREAD;
  double chroma = dark ? DARK_CHROMA_SPREAD : light ? LIGHT_CHROMA_SPREAD : CHROMA_SPREAD;
  struct munsell m;

  ck_assert_msg(munsell_from_xyY(row->colour, &m, NULL), "%s: no solution", row->name);
  bool neutral = row->notation.chroma == 0;
  ck_assert_msg(neutral || hue_between(m.hue, row->notation.hue) <= hue, "%s: hue %.3f", row->name, m.hue);
  ck_assert_msg(fabs(m.value - value) <= VALUE_SPREAD, "%s: value %.4f", row->name, m.value);
  ck_assert_msg(fabs(m.chroma - row->notation.chroma) <= chroma, "%s: chroma %.3f", row->name, m.chroma);
}

START_TEST(published_inversion)
{
  check_inversion(&INVERSIONS[_i]);
}
END_TEST

START_TEST(chart_patch)
{
  check_inversion(&PATCHES[_i]);
}
END_TEST

/* Checks of many sources, kept beside the project: id, group, source, x, y, Y, hue (empty for neutrals), value, chroma. */
static struct csv open_checks(void)
{
  char path[1024];
  struct csv checks = {{0}, 0, NULL};
  struct error error;

  if (shared_path("reference/munsell-inverse-checks.csv", path, sizeof path)) {
    ck_assert_msg(csv_read(path, &checks, &error), "%s", error.text);
  }
  return checks;
}

/* Departures of the rows of one kind. */
struct spread {
  size_t count;
  double hue[600], chroma[600], weighed[600];
};

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

static void print_one(const char *what, double *departures, size_t count)
{
  qsort(departures, count, sizeof *departures, by_size);
  printf("  %-4s median %.3f, 95 %% %.3f, most %.3f", what, departures[count / 2],
         departures[count * 95 / 100], departures[count - 1]);
}

static void print_spread(const char *source, const char *range, struct spread *spread)
{
  if (spread->count > 0) {
    printf("%-36s value %-7s %3zu rows:", source, range, spread->count);
    print_one("dH", spread->hue, spread->count);
    print_one("dC", spread->chroma, spread->count);
    print_one("dH C", spread->weighed, spread->count);
    putchar('\n');
  }
}

static void add_row(struct spread *spread, const struct csv *checks, size_t row, bool strict)
{
  struct xyY c = {csv_number(checks, row, 3), csv_number(checks, row, 4), csv_number(checks, row, 5)};
  bool neutral = checks->cells[row][6][0] == '\0';
  double chroma = csv_number(checks, row, 8);
  struct munsell m;

  ck_assert_msg(munsell_from_xyY(c, &m, NULL), "row %s: no solution", checks->cells[row][0]);
  double dh = neutral ? 0 : hue_between(m.hue, csv_number(checks, row, 6)), dc = fabs(m.chroma - chroma);
  ck_assert_msg(!strict || (dh <= HUE_SPREAD && dc <= CHROMA_SPREAD), "row %s, %s: hue %.3f, chroma %.3f",
                checks->cells[row][0], checks->cells[row][9], m.hue, m.chroma);
  spread->hue[spread->count] = dh;
  spread->chroma[spread->count] = dc;
  spread->weighed[spread->count++] = dh * chroma;
}

/* Rows of a source whose value is in low..high; `strict` holds them to the spreads above. */
static void check_rows(const struct csv *checks, bool package, double low, double high, const char *range,
                       bool strict)
{
  struct spread spread = {.count = 0};

  for (size_t row = 0; row < checks->rows; row++) {
    double value = csv_number(checks, row, 7);
    bool is_package = csv_number(checks, row, 0) <= 400;
    if (is_package == package && value >= low && value <= high) {
      add_row(&spread, checks, row, strict);
    }
  }
  print_spread(package ? "rows 1-400 (another implementation)" : "rows of all other sources", range, &spread);
}

START_TEST(checks_of_many_sources)
{
  struct csv checks = open_checks();

  if (checks.rows == 0) {
    printf("skipped: no munsell-inverse-checks.csv in the shared folder\n");
  }
  for (int package = 1; package >= 0; package--) {
    check_rows(&checks, package, 2, 9, "2 to 9", true);
    check_rows(&checks, package, 0, 0.9999, "below 1", false);
    check_rows(&checks, package, 1, 1.9999, "1 to 2", false);
    check_rows(&checks, package, 9.0001, 10, "above 9", false);
  }
  csv_clear(&checks);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("munsell published");
  TCase *tcase = tcase_create("published");

  tcase_add_loop_test(tcase, luminance_of_value, 0, LUMINANCE_COUNT);
  tcase_add_test(tcase, value_of_luminance);
  tcase_add_loop_test(tcase, published_inversion, 0, INVERSION_COUNT);
  tcase_add_loop_test(tcase, chart_patch, 0, PATCH_COUNT);
  tcase_add_test(tcase, checks_of_many_sources);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
