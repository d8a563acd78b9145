/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <string.h>

#include "colour/difference.h"
#include "csv.h"
#include "munsell/notation.h"
#include "munsell/tables.h"
#include "random.h"
#include "suite.h"

enum { SEED = 2000, RUNS = 2000, NEAREST = 12 };

/* Labs of chips stand in the tables with 15 digits. */
static const double ROUNDING = 1e-9;

static size_t book_chip_count(void)
{
  return MUNSELL_BOOK_PAGES[MUNSELL_BOOK_PAGE_COUNT - 1].first +
         MUNSELL_BOOK_PAGES[MUNSELL_BOOK_PAGE_COUNT - 1].count;
}

static void check_chip(const struct munsell_chip *chip)
{
  struct munsell m;
  struct error error;
  struct lch lch = colour_lch_from_lab(chip->lab_c);

  ck_assert_msg(munsell_parse(chip->notation, &m, &error), "%s", error.text);
  ck_assert_msg(m.hue == chip->colour.hue && m.value == chip->colour.value && m.chroma == chip->colour.chroma,
                "%s", chip->notation);
  struct lab lab = colour_lab_from_xyz(colour_xyz_from_xyY(munsell_to_xyY(m)), COLOUR_WHITE_C);
  ck_assert_msg(colour_difference_1976(lab, chip->lab_c).total <= ROUNDING, "%s: Lab", chip->notation);
  ck_assert_msg(fabs(lch.C - chip->lch_c.C) <= ROUNDING && fabs(lch.h - chip->lch_c.h) * lch.C <= ROUNDING,
                "%s: LCh", chip->notation);
}

START_TEST(chips_are_where_the_map_is)
{
  for (size_t i = 0; i < munsell_soil_chip_count(); i++) {
    check_chip(munsell_soil_chip(i));
  }
  for (size_t i = 0; i < book_chip_count(); i++) {
    check_chip(&MUNSELL_BOOK_CHIPS[i]);
  }
}
END_TEST

/* The chips are the rows of the table, less those of chroma 0 on a hue page, with their names. */
START_TEST(soil_chips_are_the_table)
{
  struct csv rows;
  struct error error;
  size_t old_neutrals = 0;

  ck_assert_msg(csv_read(TAWNY_SOURCE_ROOT "/calibration/munsell/soil_names.csv", &rows, &error), "%s",
                error.text);
  for (size_t row = 0; row < rows.rows; row++) {
    const struct munsell_chip *found = NULL;
    const char *notation = rows.cells[row][0];
    for (size_t i = 0; i < munsell_soil_chip_count(); i++) {
      found = strcmp(munsell_soil_chip(i)->notation, notation) ? found : munsell_soil_chip(i);
    }
    old_neutrals += !found;
    ck_assert_msg(found ? !strcmp(found->name, rows.cells[row][1]) : strstr(notation, "/0") != NULL, "%s",
                  notation);
    ck_assert(!found || "lmh"[found->confidence] == rows.cells[row][2][0]);
  }
  ck_assert_uint_eq(munsell_soil_chip_count() + old_neutrals, rows.rows);
  ck_assert_uint_eq(old_neutrals, 2);
  csv_clear(&rows);
}
END_TEST

/* Names as survey texts have them. */
START_TEST(names)
{
  static const char *const CASES[][2] = {{"10YR 4/3", "brown"},        {"10YR 3/3", "dark brown"},
                                         {"5YR 4/6", "yellowish red"}, {"2.5Y 5/2", "grayish brown"},
                                         {"N 3/", "very dark gray"},   {"10R 4/6", "red"}};

  for (size_t i = 0; i < sizeof CASES / sizeof *CASES; i++) {
    struct munsell m;
    struct error error;
    double de00;
    ck_assert(munsell_parse(CASES[i][0], &m, &error));
    const struct munsell_chip *chip = munsell_nearest_soil_chip(
        colour_lab_from_xyz(colour_xyz_from_xyY(munsell_to_xyY(m)), COLOUR_WHITE_C), &de00);
    ck_assert_str_eq(chip->notation, CASES[i][0]);
    ck_assert_str_eq(chip->name, CASES[i][1]);
    ck_assert_double_le(de00, ROUNDING);
  }
}
END_TEST

/* Colours of every kind: soils, anything in Lab, greys, saturated blues, where the formula turns, and the axes. */
static struct lab some_lab(struct random *random, int kind)
{
  double light = random_between(random, 0, 100);

  switch (kind) {
  case 0:
    return (struct lab){light, random_between(random, -5, 25), random_between(random, -5, 45)};
  case 1:
    return (struct lab){light, random_between(random, -120, 120), random_between(random, -120, 120)};
  case 2:
    return (struct lab){light, random_between(random, -1, 1), random_between(random, -1, 1)};
  case 3:
    return (struct lab){light, random_between(random, -40, 60), random_between(random, -130, 0)};
  default:
    return (struct lab){light, random_below(random, 5) - 2, 10 * (random_below(random, 5) - 2)};
  }
}

static double nearest_by_force(struct lab at, const struct munsell_chip *chips, size_t count)
{
  double least = HUGE_VAL;

  for (size_t i = 0; i < count; i++) {
    least = fmin(least, colour_de00(at, chips[i].lab_c));
  }
  return least;
}

START_TEST(nearest_is_nearest)
{
  struct random random = random_start(SEED + (uint64_t)_i);

  for (int i = 0; i < RUNS; i++) {
    struct lab at = some_lab(&random, _i);
    double de00;
    const struct munsell_chip *chip = munsell_nearest_soil_chip(at, &de00);
    double least = nearest_by_force(at, MUNSELL_SOIL_CHIPS, munsell_soil_chip_count());
    ck_assert_msg(de00 == least && colour_de00(at, chip->lab_c) == least,
                  "soil, %.9f %.9f %.9f: %.17g, not %.17g", at.L, at.a, at.b, de00, least);
    if (i % 10 == 0) {
      chip = munsell_nearest_book_chip(at, &de00);
      least = nearest_by_force(at, MUNSELL_BOOK_CHIPS, book_chip_count());
      ck_assert_msg(de00 == least && colour_de00(at, chip->lab_c) == least,
                    "book, %.9f %.9f %.9f: %.17g, not %.17g", at.L, at.a, at.b, de00, least);
    }
  }
}
END_TEST

/* The k-th of the list is the k-th by force: as many chips are nearer as stand before it. */
START_TEST(nearest_list)
{
  struct random random = random_start(SEED);

  for (int i = 0; i < RUNS / 4; i++) {
    struct lab at = some_lab(&random, i % 5);
    const struct munsell_chip *chips[NEAREST];
    double de00[NEAREST];
    ck_assert_uint_eq(munsell_nearest_soil_chips(at, NEAREST, chips, de00), NEAREST);
    for (int k = 0; k < NEAREST; k++) {
      int nearer = 0, as_near = 0;
      for (size_t c = 0; c < munsell_soil_chip_count(); c++) {
        double d = colour_de00(at, munsell_soil_chip(c)->lab_c);
        nearer += d < de00[k], as_near += d == de00[k];
      }
      ck_assert_msg(colour_de00(at, chips[k]->lab_c) == de00[k] && nearer <= k && nearer + as_near > k,
                    "%.9f %.9f %.9f: place %d", at.L, at.a, at.b, k);
      ck_assert(k == 0 || chips[k] != chips[k - 1]);
    }
  }
}
END_TEST

START_TEST(odd_searches)
{
  const struct munsell_chip *chips[400];
  double de00[400];

  ck_assert_ptr_null(munsell_nearest_soil_chip((struct lab){NAN, 0, 0}, de00));
  ck_assert_ptr_null(munsell_nearest_soil_chip((struct lab){50, INFINITY, 0}, NULL));
  ck_assert_ptr_null(munsell_nearest_book_chip((struct lab){50, 0, NAN}, de00));
  ck_assert_uint_eq(munsell_nearest_soil_chips((struct lab){50, 0, 0}, 0, chips, de00), 0);
  ck_assert_uint_eq(munsell_nearest_soil_chips((struct lab){50, 0, NAN}, 3, chips, de00), 0);
  ck_assert_uint_eq(munsell_nearest_soil_chips((struct lab){50, 0, 0}, 400, chips, de00),
                    munsell_soil_chip_count());
  ck_assert_ptr_nonnull(munsell_nearest_soil_chip((struct lab){1e6, 1e6, -1e6}, NULL));
}
END_TEST

START_TEST(book)
{
  struct munsell red = {5, 4, 14}, white = {0, 9.4, 0};
  double de00;
  struct xyz c = colour_xyz_from_xyY(munsell_to_xyY(red));

  ck_assert_str_eq(munsell_nearest_book_chip(colour_lab_from_xyz(c, COLOUR_WHITE_C), &de00)->notation,
                   "5R 4/14");
  ck_assert_double_le(de00, ROUNDING);
  c = colour_xyz_from_xyY(munsell_to_xyY(white));
  ck_assert_str_eq(munsell_nearest_book_chip(colour_lab_from_xyz(c, COLOUR_WHITE_C), NULL)->notation,
                   "N 9.5/");
  for (size_t i = 0; i < book_chip_count(); i++) {
    ck_assert_ptr_null(MUNSELL_BOOK_CHIPS[i].name);
    ck_assert_int_eq(munsell_place_in_rows(MUNSELL_BOOK_CHIPS[i].colour), MUNSELL_PUBLISHED);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("munsell chip");
  TCase *tcase = tcase_create("chips");

  tcase_set_timeout(tcase, 120);
  tcase_add_test(tcase, chips_are_where_the_map_is);
  tcase_add_test(tcase, soil_chips_are_the_table);
  tcase_add_test(tcase, names);
  tcase_add_loop_test(tcase, nearest_is_nearest, 0, 5);
  tcase_add_test(tcase, nearest_list);
  tcase_add_test(tcase, odd_searches);
  tcase_add_test(tcase, book);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
