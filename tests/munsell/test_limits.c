/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>

#include "colour/spectrum.h"
#include "csv.h"
#include "munsell/notation.h"
#include "munsell/renotation.h"
#include "random.h"
#include "suite.h"

enum { RUNS = 20000, SEED = 1935 };

/* The rows of 1943 and 1956 were smoothed by eye on the limits of their day: a few are outside by as much as this in xy. */
static const double PUBLISHED_OUTSIDE = 0.003;
enum { PUBLISHED_OUTSIDE_MOST = 6 };
/* Bands of 5 nm against limits at 1 nm, and the white of the sums against that of CIE 15: at most this part of the way from
 * grey, and this step in xy. */
static const double BANDS = 0.02, WHITES = 1e-4;

static struct xyY from_grey(struct xyY c, double times)
{
  return (struct xyY){0.31006 + times * (c.x - 0.31006), 0.31616 + times * (c.y - 0.31616), c.Y};
}

START_TEST(published_rows_are_real)
{
  struct csv rows;
  struct error error;
  int outside = 0;

  ck_assert_msg(csv_read(TAWNY_SOURCE_ROOT "/calibration/munsell/renotation.csv", &rows, &error), "%s",
                error.text);
  for (size_t i = 0; i < rows.rows; i++) {
    struct xyY c = {csv_number(&rows, i, 3), csv_number(&rows, i, 4),
                    munsell_luminance(csv_number(&rows, i, 1))};
    double radius = hypot(c.x - 0.31006, c.y - 0.31616);
    bool published = rows.cells[i][5][0] == '1';
    outside += published && !munsell_is_real_surface(c);
    ck_assert_msg(!published || munsell_is_real_surface(from_grey(c, 1 - PUBLISHED_OUTSIDE / radius)),
                  "%s %s/%s", rows.cells[i][0], rows.cells[i][1], rows.cells[i][2]);
  }
  ck_assert_int_le(outside, PUBLISHED_OUTSIDE_MOST);
  csv_clear(&rows);
}
END_TEST

/* A reflectance of 1 from band `first` on for `count` bands, round and round, and 0 elsewhere, or any other. */
static struct xyY surface(struct random *random, bool optimal)
{
  struct spectrum reflectance = {{0}}, light = spectrum_of_illuminant(ILLUMINANT_C);
  int first = random_below(random, SPECTRUM_BANDS), count = 1 + random_below(random, SPECTRUM_BANDS - 1);

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    bool inside = (i - first + SPECTRUM_BANDS) % SPECTRUM_BANDS < count;
    reflectance.band[i] = optimal ? inside : random_unit(random);
  }
  return colour_xyY_from_xyz(spectrum_xyz(&reflectance, &light), COLOUR_WHITE_C);
}

START_TEST(surfaces_are_real)
{
  struct random random = random_start(SEED);

  for (int i = 0; i < RUNS; i++) {
    struct xyY c = surface(&random, i % 2);
    double inward = fmax(1 - BANDS - WHITES / hypot(c.x - 0.31006, c.y - 0.31616), 0);
    ck_assert_msg(munsell_is_real_surface(from_grey(c, inward)), "%.6f %.6f %.6f is a surface", c.x, c.y,
                  c.Y);
  }
}
END_TEST

/* Those that are brightest or darkest of their kind are on the limit, so the next thing beyond is no surface. */
START_TEST(limits_are_tight)
{
  struct random random = random_start(SEED);

  for (int i = 0; i < RUNS; i++) {
    struct xyY c = surface(&random, true);
    double radius = hypot(c.x - 0.31006, c.y - 0.31616);
    struct xyY beyond = from_grey(c, 1 + BANDS + WHITES / radius);
    ck_assert_msg(c.Y < 0.01 || c.Y > 99.99 || !munsell_is_real_surface(beyond),
                  "%.6f %.6f %.6f is beyond the limit", beyond.x, beyond.y, beyond.Y);
  }
}
END_TEST

START_TEST(ends)
{
  ck_assert(munsell_is_real_surface((struct xyY){0.31006, 0.31616, 0}));
  ck_assert(munsell_is_real_surface((struct xyY){0.31006, 0.31616, 50}));
  ck_assert(munsell_is_real_surface((struct xyY){0.31006, 0.31616, 100}));
  ck_assert(!munsell_is_real_surface((struct xyY){0.35, 0.35, 100}));
  ck_assert(!munsell_is_real_surface((struct xyY){0.31006, 0.31616, 100.1}));
  ck_assert(!munsell_is_real_surface((struct xyY){0.31006, 0.31616, -0.1}));
  ck_assert(!munsell_is_real_surface((struct xyY){0.3, 0, 10}));
  ck_assert(!munsell_is_real_surface((struct xyY){NAN, 0.3, 10}));
}
END_TEST

/* Inside the rows and yet no surface: said by the inverse as well. */
START_TEST(extrapolated_beyond_the_limit)
{
  struct munsell m, vivid;
  struct error error;
  enum munsell_place place;

  ck_assert(munsell_parse("7.5PB 3/48", &vivid, &error));
  ck_assert_int_eq(munsell_place_in_rows(vivid), MUNSELL_EXTRAPOLATED);
  ck_assert(!munsell_is_real_surface(munsell_to_xyY(vivid)));
  ck_assert(munsell_from_xyY(munsell_to_xyY(vivid), &m, &place));
  ck_assert_int_eq(place, MUNSELL_OUTSIDE);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("munsell limits");
  TCase *tcase = tcase_create("limits");

  tcase_set_timeout(tcase, 60);
  tcase_add_test(tcase, published_rows_are_real);
  tcase_add_test(tcase, surfaces_are_real);
  tcase_add_test(tcase, limits_are_tight);
  tcase_add_test(tcase, ends);
  tcase_add_test(tcase, extrapolated_beyond_the_limit);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
