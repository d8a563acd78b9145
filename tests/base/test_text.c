/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "random.h"
#include "suite.h"

static const struct {
  const char *word;
  double value;
} NUMBERS[] = {{"4", 4},
               {"-.5", -0.5},
               {"1e3", 1000},
               {"+7.25", 7.25},
               {"0", 0},
               {"5.", 5},
               {"1E-2", 0.01},
               {"007", 7},
               {"-0", 0},
               {"2.5e+1", 25},
               {"1e308", 1e308},
               {"1e-400", 0},
               {"123456789012345678901234567890", 123456789012345678901234567890.0}};

START_TEST(decimal_numbers_are_read)
{
  double value = 99;

  ck_assert_msg(text_number(NUMBERS[_i].word, &value), "%s", NUMBERS[_i].word);
  ck_assert_msg(value == NUMBERS[_i].value, "%s: %.17g", NUMBERS[_i].word, value);
}
END_TEST

static const char *const NO_NUMBERS[] = {
    "",    " ",    "nan", "NAN", "inf",   "-inf", "infinity", "0x10",      "0x1p3", "1e999",  "-1e999", "1,5",
    " 1",  "1 ",   "1\n", "1 2", "--1",   "+-1",  "1-",       ".",         "-",     "e",      "e3",     "1e",
    "1e+", "1..2", "1d3", "one", "1_000", "0b1",  "\xd9\xa1", "1\xc2\xa0", "4/",    "nan(1)",
};

START_TEST(what_is_no_number_is_refused)
{
  double value = 99;

  ck_assert_msg(!text_number(NO_NUMBERS[_i], &value), "'%s' was read as %g", NO_NUMBERS[_i], value);
  ck_assert_double_eq(value, 99);
}
END_TEST

START_TEST(number_in_the_middle_of_bytes)
{
  double value = 99;

  ck_assert(text_number_bytes("1234", 2, &value) && value == 12);
  ck_assert(text_number_bytes("12e", 2, &value) && value == 12);
  ck_assert(!text_number_bytes("12\0"
                               "3",
                               4, &value));
  ck_assert(!text_number_bytes("\0", 1, &value));
  ck_assert(!text_number_bytes("12", 0, &value));
}
END_TEST

/* Longer than any number that is written; the word is refused, not cut. */
START_TEST(endless_words_are_refused)
{
  char word[200];
  double value = 99;

  memset(word, '1', sizeof word);
  ck_assert(!text_number_bytes(word, sizeof word, &value));
  ck_assert(!text_number_bytes(word, 64, &value));
  ck_assert(text_number_bytes(word, 63, &value));
}
END_TEST

START_TEST(printed_doubles_come_back)
{
  enum { SEED = 3, RUNS = 20000 };
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    double value = random_normal(&random) * random_between(&random, 1e-6, 1e6), back;
    char word[64];
    snprintf(word, sizeof word, run % 2 ? "%.17g" : "%.17e", value);
    if (!(text_number(word, &back) && back == value)) {
      ck_abort_msg("seed %d: %s", SEED, word);
    }
  }
}
END_TEST

START_TEST(text_grows)
{
  struct text text = {0};

  ck_assert_ptr_null(text.data);
  text_add(&text, "");
  ck_assert_str_eq(text.data, "");
  for (int i = 0; i < 1000; i++) {
    text_format(&text, "%d,", i % 10);
    text_add(&text, "ab");
    text_add_bytes(&text, "cde", 1);
  }
  ck_assert_uint_eq(text.length, 5000);
  ck_assert_uint_eq(strlen(text.data), 5000);
  ck_assert(!text.failed && memcmp(text.data + 4990, "8,abc9,abc", 10) == 0);
  text_clear(&text);
  ck_assert(!text.data && text.length == 0);
}
END_TEST

START_TEST(text_is_cut_back)
{
  struct text text = {0};

  text_cut(&text, 0);
  ck_assert_ptr_null(text.data);
  text_add(&text, "kept and not");
  text_cut(&text, 4);
  ck_assert_str_eq(text.data, "kept");
  text_add(&text, "!");
  ck_assert_str_eq(text.data, "kept!");
  text_clear(&text);
}
END_TEST

START_TEST(bytes_may_hold_nul)
{
  struct text text = {0};

  text_add_bytes(&text, "a\0b", 3);
  ck_assert_uint_eq(text.length, 3);
  ck_assert_mem_eq(text.data, "a\0b", 4);
  text_clear(&text);
}
END_TEST

START_TEST(impossible_lengths_fail_and_keep_the_text)
{
  struct text text = {0};

  text_add(&text, "kept");
  text_add_bytes(&text, "", SIZE_MAX - 2);
  ck_assert(text.failed);
  text_add(&text, "more");
  ck_assert_str_eq(text.data, "kept");
  text_clear(&text);
  text_add_bytes(&text, "", SIZE_MAX / 2 + 2);
  ck_assert(text.failed && !text.data);
  text_clear(&text);
}
END_TEST

static const struct {
  double value;
  int decimals;
  const char *text;
} FIXED[] = {{0, 0, "0"},
             {0, 3, "0.000"},
             {-0.0, 2, "0.00"},
             {-0.004, 2, "0.00"},
             {-0.005, 2, "-0.01"},
             {0.5, 0, "1"},
             {2.5, 0, "3"},
             {-2.5, 0, "-3"},
             {9.9951, 2, "10.00"},
             {12.25, 1, "12.3"},
             {0.3101, 10, "0.3101000000"},
             {99999, 10, "99999.0000000000"},
             {99999999999999, 1, "99999999999999.0"},
             {1e15, 0, "1.000000000e+15"},
             {-1.25e308, 10, "-1.250000000e+308"},
             {1e-300, 5, "0.00000"}};

START_TEST(fixed_decimals)
{
  char text[TEXT_FIXED_SIZE];
  size_t length = text_fixed(text, FIXED[_i].value, FIXED[_i].decimals);

  ck_assert_str_eq(text, FIXED[_i].text);
  ck_assert_uint_eq(length, strlen(text));
}
END_TEST

/* As printf, but where the product with the power of ten is within rounding of a half. */
START_TEST(fixed_decimals_are_those_of_printf)
{
  struct random random = random_start(15);

  for (int i = 0; i < 20000; i++) {
    int decimals = random_below(&random, 11);
    double value = random_normal(&random) * 100;
    char text[TEXT_FIXED_SIZE], expected[64];
    text_fixed(text, value, decimals);
    snprintf(expected, sizeof expected, "%.*f", decimals, value);
    bool zero = strspn(expected, "-0.") == strlen(expected);
    ck_assert_msg(strcmp(text, expected + (zero && *expected == '-')) == 0,
                  "%.17g with %d places is written %s", value, decimals, text);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("base/text");
  TCase *cases = tcase_create("text");

  tcase_add_loop_test(cases, decimal_numbers_are_read, 0, sizeof NUMBERS / sizeof *NUMBERS);
  tcase_add_loop_test(cases, what_is_no_number_is_refused, 0, sizeof NO_NUMBERS / sizeof *NO_NUMBERS);
  tcase_add_test(cases, number_in_the_middle_of_bytes);
  tcase_add_test(cases, endless_words_are_refused);
  tcase_add_test(cases, printed_doubles_come_back);
  tcase_add_loop_test(cases, fixed_decimals, 0, sizeof FIXED / sizeof *FIXED);
  tcase_add_test(cases, fixed_decimals_are_those_of_printf);
  tcase_add_test(cases, text_grows);
  tcase_add_test(cases, text_is_cut_back);
  tcase_add_test(cases, bytes_may_hold_nul);
  tcase_add_test(cases, impossible_lengths_fail_and_keep_the_text);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
