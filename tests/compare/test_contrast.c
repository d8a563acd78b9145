/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "compare/compare.h"
#include "munsell/notation.h"
#include "suite.h"

/* Pairs worked by hand from the table of USDA Soil Survey Technical Note 2 (Field Book for Describing and Sampling Soils 3.0,
 * p. 2-5), at both sides of its limits. */
static const struct {
  const char *a, *b;
  enum contrast contrast;
} PAIRS[] = {
    {"10YR 4/2", "10YR 4/3", CONTRAST_FAINT},
    {"10YR 4/2", "10YR 6/3", CONTRAST_FAINT},
    {"10YR 4/2", "10YR 4/4", CONTRAST_DISTINCT},
    {"10YR 4/2", "10YR 6/4", CONTRAST_DISTINCT},
    {"10YR 4/2", "10YR 7/2", CONTRAST_DISTINCT},
    {"10YR 4/2", "10YR 8/2", CONTRAST_PROMINENT},
    {"10YR 4/2", "10YR 4/6", CONTRAST_PROMINENT},
    {"10YR 4/2", "10YR 7/6", CONTRAST_PROMINENT},
    {"10YR 5/3", "7.5YR 5/4", CONTRAST_FAINT},
    {"10YR 5/3", "7.5YR 4/4", CONTRAST_FAINT},
    {"10YR 5/2", "7.5YR 5/4", CONTRAST_DISTINCT},
    {"10YR 5/3", "7.5YR 7/4", CONTRAST_DISTINCT},
    {"10YR 5/3", "7.5YR 8/3", CONTRAST_PROMINENT},
    {"10YR 5/3", "7.5YR 5/6", CONTRAST_PROMINENT},
    {"10YR 5/3", "5YR 5/3", CONTRAST_FAINT},
    {"10YR 5/3", "5YR 5/4", CONTRAST_DISTINCT},
    {"10YR 5/3", "5YR 4/3", CONTRAST_DISTINCT},
    {"10YR 5/3", "5YR 4/4", CONTRAST_DISTINCT},
    {"10YR 5/3", "5YR 5/6", CONTRAST_PROMINENT},
    {"10YR 6/3", "5YR 3/4", CONTRAST_PROMINENT},
    {"10YR 5/3", "2.5YR 5/3", CONTRAST_PROMINENT},
    {"10YR 2/1", "5YR 3/2", CONTRAST_FAINT},
    {"10YR 3/2", "2.5YR 2.5/2", CONTRAST_FAINT},
    {"10YR 3/2", "7.5YR 4/2", CONTRAST_FAINT},
    {"2.5Y 6/2", "7.5YR 5/6", CONTRAST_PROMINENT},
    {"5Y 5/1", "10YR 5/6", CONTRAST_PROMINENT},
    {"N 4/", "N 6/", CONTRAST_FAINT},
    {"N 5/", "10YR 5/1", CONTRAST_FAINT},
    {"N 5/", "10YR 5/4", CONTRAST_PROMINENT},
    {"10R 4/6", "5R 4/6", CONTRAST_FAINT},
    {"5Y 6/2", "10Y 6/1", CONTRAST_DISTINCT},
    {"10YR 4.5/2", "10YR 4/3.5", CONTRAST_DISTINCT},
    {"5R 5/4", "2.5R 5/4", CONTRAST_FAINT}, /* a step over the start of the note's own count */
    {"2.5R 5/4", "10RP 5/4", CONTRAST_FAINT},
    {"10RP 5/4", "2.5R 5/6", CONTRAST_DISTINCT},
};

static struct munsell parse(const char *notation)
{
  struct munsell m;
  struct error error = {0};

  ck_assert_msg(munsell_parse(notation, &m, &error), "%s: %s", notation, error.text);
  return m;
}

START_TEST(worked_pairs)
{
  struct munsell a = parse(PAIRS[_i].a), b = parse(PAIRS[_i].b);

  ck_assert_msg(contrast_of(a, b) == PAIRS[_i].contrast, "%s and %s: %s", PAIRS[_i].a, PAIRS[_i].b,
                contrast_word(contrast_of(a, b)));
  ck_assert_int_eq(contrast_of(b, a), PAIRS[_i].contrast);
}
END_TEST

/* The rows of the published table, word for word; a row with v or c below -1 asks for less than that. */
static enum contrast by_the_rows(int pages, int value, int chroma, bool both_low)
{
  if (both_low) {
    return CONTRAST_FAINT;
  }
  if ((pages == 0 && value <= 2 && chroma <= 1) || (pages == 1 && value <= 1 && chroma <= 1) ||
      (pages == 2 && value == 0 && chroma == 0)) {
    return CONTRAST_FAINT;
  }
  if ((pages == 0 && value <= 2 && chroma > 1 && chroma < 4) ||
      (pages == 0 && value > 2 && value < 4 && chroma < 4) ||
      (pages == 1 && value <= 1 && chroma > 1 && chroma < 3) ||
      (pages == 1 && value > 1 && value < 3 && chroma < 3) ||
      (pages == 2 && value == 0 && chroma > 0 && chroma < 2) ||
      (pages == 2 && value > 0 && value < 2 && chroma < 2)) {
    return CONTRAST_DISTINCT;
  }
  return CONTRAST_PROMINENT;
}

/* All whole steps, from both sides, on the way round from every hue page. */
START_TEST(whole_steps_are_the_rows)
{
  for (int pages = 0; pages <= 20; pages++) {
    for (int value = 0; value <= 8; value++) {
      for (int chroma = 0; chroma <= 7; chroma++) {
        struct munsell a = {2.5 * (_i + 1), 1, 1};
        struct munsell b = {fmod(2.5 * (_i + 1 + pages) - 0.001, 100) + 0.001, 1 + value, 1 + chroma};
        enum contrast expected = by_the_rows(pages, value, chroma, b.value <= 3 && b.chroma <= 2);
        ck_assert_msg(contrast_of(a, b) == expected, "page %d, %d pages, value %d, chroma %d", _i, pages,
                      value, chroma);
        ck_assert_int_eq(contrast_of(b, a), expected);
      }
    }
  }
}
END_TEST

/* Between whole steps contrast only grows with any of the three. */
START_TEST(contrast_grows)
{
  for (double pages = 0; pages < 4; pages += 0.13) {
    for (double value = 0; value < 5; value += 0.23) {
      for (double chroma = 0; chroma < 5; chroma += 0.23) {
        struct munsell a = {20, 4, 2}, b = {20 + 2.5 * pages, 4 + value, 2 + chroma};
        enum contrast here = contrast_of(a, b);
        struct munsell further[3] = {b, b, b};
        further[0].hue += 0.1;
        further[1].value += 0.1;
        further[2].chroma += 0.1;
        for (int k = 0; k < 3; k++) {
          ck_assert_msg(contrast_of(a, further[k]) >= here, "%g pages, %g value, %g chroma", pages, value,
                        chroma);
        }
      }
    }
  }
}
END_TEST

/* Limits are meant inclusive, though 4.2 - 3.2 is a little more than 1 in double arithmetic. */
START_TEST(decimals_do_not_tip_over)
{
  ck_assert_int_eq(contrast_of(parse("10YR 5/4.2"), parse("10YR 5/3.2")), CONTRAST_FAINT);
  ck_assert_int_eq(contrast_of(parse("10YR 6.3/4"), parse("10YR 4.3/4")), CONTRAST_FAINT);
  ck_assert_int_eq(contrast_of(parse("10YR 6.31/4"), parse("10YR 4.3/4")), CONTRAST_DISTINCT);
  ck_assert_int_eq(contrast_of(parse("8.75YR 5/4"), parse("10YR 6.5/4")),
                   CONTRAST_FAINT); /* half a page: limit 1.5 */
  ck_assert_int_eq(contrast_of(parse("8.75YR 5/4"), parse("10YR 6.6/4")), CONTRAST_DISTINCT);
}
END_TEST

START_TEST(words)
{
  ck_assert_str_eq(contrast_word(CONTRAST_FAINT), "faint");
  ck_assert_str_eq(contrast_word(CONTRAST_DISTINCT), "distinct");
  ck_assert_str_eq(contrast_word(CONTRAST_PROMINENT), "prominent");
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compare contrast");
  TCase *tests = tcase_create("all");

  tcase_add_loop_test(tests, worked_pairs, 0, sizeof PAIRS / sizeof *PAIRS);
  tcase_add_loop_test(tests, whole_steps_are_the_rows, 0, 40);
  tcase_add_test(tests, contrast_grows);
  tcase_add_test(tests, decimals_do_not_tip_over);
  tcase_add_test(tests, words);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
