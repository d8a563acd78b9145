/* SPDX-License-Identifier: MIT */
/* Every row of tests/data/culori.csv, which another implementation computed. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "colour/difference.h"
#include "colour/srgb.h"
#include "csv.h"
#include "suite.h"

/* The table is printed with nine decimals. */
static const double ROUNDING = 1e-9;
/* CIEDE2000 of white: the ICC's D50 here, that of xy 0.3457, 0.3585 there; and the standard's sRGB matrix with four decimals here, ten
 * there. */
static const double CONSTANTS = 0.05;
/* The white of the rows "xyz", Y = 100. */
static const struct xyz WHITE = {100 * 0.3457 / 0.3585, 100, 100 * (1 - 0.3457 - 0.3585) / 0.3585};

enum { IN = 1, SECOND = 4, OUT = 7 }; /* columns */

static struct vec3 numbers(const struct csv *table, size_t row, size_t column)
{
  return (struct vec3){{csv_number(table, row, column), csv_number(table, row, column + 1),
                        csv_number(table, row, column + 2)}};
}

static void expect_same(const struct csv *table, size_t row, struct vec3 ours)
{
  struct vec3 theirs = numbers(table, row, OUT);

  for (int k = 0; k < 3; k++) {
    ck_assert_msg(fabs(ours.v[k] - theirs.v[k]) <= ROUNDING, "row %zu, %s, figure %d: %.10f, not %.10f",
                  row + 1, table->cells[row][0], k + 1, ours.v[k], theirs.v[k]);
  }
}

static void expect_srgb(const struct csv *table, size_t row)
{
  unsigned red, green, blue;

  ck_assert_int_eq(sscanf(table->cells[row][IN], "#%2x%2x%2x", &red, &green, &blue), 3);
  struct srgb code = {(uint8_t)red, (uint8_t)green, (uint8_t)blue, true};
  struct lab ours = colour_lab_from_xyz(colour_xyz_d50_from_srgb(code), COLOUR_WHITE_D50);
  double apart = colour_de00(ours, colour_lab_from_vec(numbers(table, row, OUT)));
  ck_assert_msg(apart <= CONSTANTS, "row %zu, %s: %.4f apart", row + 1, table->cells[row][IN], apart);
}

static void expect_row(const struct csv *table, size_t row)
{
  struct lab c = colour_lab_from_vec(numbers(table, row, IN));
  const char *kind = table->cells[row][0];

  if (strcmp(kind, "srgb") == 0) {
    expect_srgb(table, row);
  } else if (strcmp(kind, "xyz") == 0) {
    struct xyz ours = colour_xyz_from_lab(c, WHITE);
    expect_same(table, row, (struct vec3){{ours.X / 100, ours.Y / 100, ours.Z / 100}});
  } else if (strcmp(kind, "lch") == 0) {
    struct lch ours = colour_lch_from_lab(c);
    expect_same(table, row, (struct vec3){{ours.L, ours.C, ours.h}});
  } else {
    ck_assert_str_eq(kind, "de00");
    struct lab second = colour_lab_from_vec(numbers(table, row, SECOND));
    expect_same(table, row, (struct vec3){{colour_de00(c, second), 0, 0}});
  }
}

enum { ROWS = 400 };

START_TEST(row_agrees)
{
  struct csv table;
  struct error error;

  ck_assert_msg(csv_read(TAWNY_SOURCE_ROOT "/tests/data/culori.csv", &table, &error), "%s", error.text);
  ck_assert_uint_eq(table.rows, ROWS);
  expect_row(&table, (size_t)_i);
  csv_clear(&table);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("colour/second");
  TCase *cases = tcase_create("second");

  tcase_add_loop_test(cases, row_agrees, 0, ROWS);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
