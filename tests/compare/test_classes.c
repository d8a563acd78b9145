/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "compare/classes.h"
#include "csv.h"
#include "shared.h"
#include "suite.h"

/* Both sides of every limit, from the tables (compare/classes.c names them). */
static const struct {
  enum class_system system;
  enum class_attribute attribute;
  double value;
  const char *word;
} LIMITS[] = {
    {CLASS_USDA, CLASS_ABUNDANCE, 0, "few"},
    {CLASS_USDA, CLASS_ABUNDANCE, 1.99, "few"},
    {CLASS_USDA, CLASS_ABUNDANCE, 2, "common"},
    {CLASS_USDA, CLASS_ABUNDANCE, 19.99, "common"},
    {CLASS_USDA, CLASS_ABUNDANCE, 20, "many"},
    {CLASS_USDA, CLASS_ABUNDANCE, 100, "many"},
    {CLASS_USDA, CLASS_SIZE, 1.99, "fine"},
    {CLASS_USDA, CLASS_SIZE, 2, "medium"},
    {CLASS_USDA, CLASS_SIZE, 5, "coarse"},
    {CLASS_USDA, CLASS_SIZE, 20, "very coarse"},
    {CLASS_USDA, CLASS_SIZE, 76, "extremely coarse"},
    {CLASS_USDA, CLASS_SIZE, 1e4, "extremely coarse"},
    {CLASS_USDA, CLASS_EDGE, 0.05, "sharp"},
    {CLASS_USDA, CLASS_EDGE, 0.1, "clear"},
    {CLASS_USDA, CLASS_EDGE, 2, "diffuse"},
    {CLASS_USDA, CLASS_BOUNDARY, 0.49, "very abrupt"},
    {CLASS_USDA, CLASS_BOUNDARY, 0.5, "abrupt"},
    {CLASS_USDA, CLASS_BOUNDARY, 2, "clear"},
    {CLASS_USDA, CLASS_BOUNDARY, 5, "gradual"},
    {CLASS_USDA, CLASS_BOUNDARY, 15, "diffuse"},
    {CLASS_FAO, CLASS_ABUNDANCE, 0, "none"},
    {CLASS_FAO, CLASS_ABUNDANCE, 0.01, "very few"},
    {CLASS_FAO, CLASS_ABUNDANCE, 2, "very few"},
    {CLASS_FAO, CLASS_ABUNDANCE, 2.01, "few"},
    {CLASS_FAO, CLASS_ABUNDANCE, 5, "few"},
    {CLASS_FAO, CLASS_ABUNDANCE, 15, "common"},
    {CLASS_FAO, CLASS_ABUNDANCE, 40, "many"},
    {CLASS_FAO, CLASS_ABUNDANCE, 40.01, "abundant"},
    {CLASS_FAO, CLASS_SIZE, 1.99, "very fine"},
    {CLASS_FAO, CLASS_SIZE, 2, "fine"},
    {CLASS_FAO, CLASS_SIZE, 6, "fine"},
    {CLASS_FAO, CLASS_SIZE, 20, "medium"},
    {CLASS_FAO, CLASS_SIZE, 20.01, "coarse"},
    {CLASS_FAO, CLASS_EDGE, 0.49, "sharp"},
    {CLASS_FAO, CLASS_EDGE, 0.5, "clear"},
    {CLASS_FAO, CLASS_EDGE, 2, "clear"},
    {CLASS_FAO, CLASS_EDGE, 2.01, "diffuse"},
    {CLASS_FAO, CLASS_BOUNDARY, 2, "abrupt"},
    {CLASS_FAO, CLASS_BOUNDARY, 2.01, "clear"},
    {CLASS_FAO, CLASS_BOUNDARY, 5, "clear"},
    {CLASS_FAO, CLASS_BOUNDARY, 15, "gradual"},
    {CLASS_FAO, CLASS_BOUNDARY, 15.01, "diffuse"},
};

START_TEST(limits)
{
  const struct feature_class *found = class_of(LIMITS[_i].system, LIMITS[_i].attribute, LIMITS[_i].value);

  ck_assert_msg(found && strcmp(found->word, LIMITS[_i].word) == 0, "%s attribute %d, %g: %s, not %s",
                class_system_word(LIMITS[_i].system), (int)LIMITS[_i].attribute, LIMITS[_i].value,
                found ? found->word : "none", LIMITS[_i].word);
}
END_TEST

START_TEST(no_class_for_what_is_no_measure)
{
  for (int system = 0; system < CLASS_SYSTEMS; system++) {
    for (int attribute = 0; attribute < CLASS_ATTRIBUTES; attribute++) {
      ck_assert_ptr_null(class_of((enum class_system)system, (enum class_attribute)attribute, -0.1));
      ck_assert_ptr_null(class_of((enum class_system)system, (enum class_attribute)attribute, (double)NAN));
      for (double value = 0; value <= 100; value += 0.05) {
        ck_assert_msg(class_of((enum class_system)system, (enum class_attribute)attribute, value),
                      "a gap at %g", value);
      }
    }
    ck_assert_ptr_null(class_of((enum class_system)system, CLASS_ABUNDANCE, 100.1));
  }
}
END_TEST

static enum class_attribute attribute_named(const char *name)
{
  static const char *const word[CLASS_ATTRIBUTES] = {"abundance", "size", "feature_boundary",
                                                     "layer_boundary_thickness"};
  int k = 0;

  while (k < CLASS_ATTRIBUTES && strcmp(word[k], name) != 0) {
    k++;
  }
  ck_assert_msg(k < CLASS_ATTRIBUTES, "attribute %s", name);
  return (enum class_attribute)k;
}

/* Row by row against the table that the classes were retyped from, where it is there. */
START_TEST(tabulated_rows)
{
  enum { SYSTEM, ATTRIBUTE, WORD, CODE, LOWER, LOWER_IN, UPPER, UPPER_IN };
  char path[512];
  struct csv csv;
  struct error error;

  if (!shared_path("reference/trade/feature_classes.csv", path, sizeof path)) {
    printf("skipped: no reference/trade/feature_classes.csv\n");
    return;
  }
  ck_assert_msg(csv_read(path, &csv, &error), "%s", error.text);
  ck_assert_uint_gt(csv.rows, 30);
  for (size_t row = 0; row < csv.rows; row++) {
    char **cell = csv.cells[row];
    enum class_system system = strcmp(cell[SYSTEM], "USDA") == 0 ? CLASS_USDA : CLASS_FAO;
    double lower = csv_number(&csv, row, LOWER);
    double upper = cell[UPPER][0] ? csv_number(&csv, row, UPPER) : (double)INFINITY;
    double middle = isfinite(upper) ? (lower + upper) / 2 : lower + 1;
    const struct feature_class *found = class_of(system, attribute_named(cell[ATTRIBUTE]), middle);
    ck_assert_msg(found && strcmp(found->word, cell[WORD]) == 0, "row %s %s", cell[SYSTEM], cell[WORD]);
    ck_assert_str_eq(found->code, cell[CODE]);
    ck_assert_msg(found->lower == lower && found->upper == upper, "limits of %s", cell[WORD]);
    ck_assert_int_eq(found->lower_in, csv_number(&csv, row, LOWER_IN) > 0);
    ck_assert_int_eq(found->upper_in, csv_number(&csv, row, UPPER_IN) > 0);
  }
  csv_clear(&csv);
}
END_TEST

START_TEST(words)
{
  ck_assert_str_eq(class_system_word(CLASS_USDA), "USDA");
  ck_assert_str_eq(class_system_word(CLASS_FAO), "FAO 2006");
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compare classes");
  TCase *tests = tcase_create("all");

  tcase_add_loop_test(tests, limits, 0, sizeof LIMITS / sizeof *LIMITS);
  tcase_add_test(tests, no_class_for_what_is_no_measure);
  tcase_add_test(tests, tabulated_rows);
  tcase_add_test(tests, words);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
