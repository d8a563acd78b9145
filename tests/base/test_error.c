/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <string.h>

#include "base/error.h"
#include "suite.h"

START_TEST(text_is_one_line_whatever_a_name_holds)
{
  struct error error = {0};

  ck_assert(!error_set(&error, ERROR_FILE, "unreadable", "%s: %d", "a\nb\x1b[31m\x7f\xc3\xb6", 7));
  ck_assert_str_eq(error.text, "a?b?[31m?\xc3\xb6: 7");
  ck_assert_str_eq(error.code, "unreadable");
  ck_assert_int_eq(error.kind, ERROR_FILE);
}
END_TEST

START_TEST(too_long_a_text_is_cut)
{
  struct error error = {0};
  char name[2000];

  memset(name, 'x', sizeof name - 1);
  name[sizeof name - 1] = '\0';
  error_set(&error, ERROR_FILE, name, "%s", name);
  ck_assert_uint_eq(strlen(error.text), sizeof error.text - 1);
  ck_assert_uint_eq(strlen(error.code), sizeof error.code - 1);
  error_prefix(&error, "file");
  ck_assert_msg(strncmp(error.text, "file: xxx", 9) == 0 && strlen(error.text) == sizeof error.text - 1, "%s",
                error.text);
  error_prefix(&error, name);
  ck_assert_uint_eq(strlen(error.text), sizeof error.text - 1);
}
END_TEST

START_TEST(prefix_names_the_file_and_keeps_the_rest)
{
  struct error error = {0};

  error_set(&error, ERROR_UNMEASURABLE, "clipped", "white is clipped; expose less");
  ck_assert(!error_prefix(&error, "a\tb.jpg"));
  ck_assert_str_eq(error.text, "a?b.jpg: white is clipped; expose less");
  ck_assert_str_eq(error.code, "clipped");
  ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
}
END_TEST

START_TEST(a_text_of_the_error_itself_can_be_set_again)
{
  struct error error = {0};

  error_set(&error, ERROR_FILE, "one", "first");
  error_set(&error, ERROR_USAGE, "two", "second");
  ck_assert_str_eq(error.text, "second");
  ck_assert_int_eq(error.kind, ERROR_USAGE);
  ck_assert(!error_no_memory(&error, "a photo"));
  ck_assert_int_eq(error.kind, ERROR_INTERNAL);
  ck_assert_str_eq(error.code, "no-memory");
  ck_assert_msg(strstr(error.text, "a photo"), "%s", error.text);
}
END_TEST

START_TEST(exit_status_is_the_contract_s)
{
  ck_assert_int_eq(error_exit_status(ERROR_NONE), 0);
  ck_assert_int_eq(error_exit_status(ERROR_UNMEASURABLE), 1);
  ck_assert_int_eq(error_exit_status(ERROR_USAGE), 2);
  ck_assert_int_eq(error_exit_status(ERROR_FILE), 3);
  ck_assert_int_eq(error_exit_status(ERROR_INTERNAL), 4);
  ck_assert_int_eq(error_exit_status((enum error_kind)99), 4);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("base/error");
  TCase *cases = tcase_create("error");

  tcase_add_test(cases, text_is_one_line_whatever_a_name_holds);
  tcase_add_test(cases, too_long_a_text_is_cut);
  tcase_add_test(cases, prefix_names_the_file_and_keeps_the_rest);
  tcase_add_test(cases, a_text_of_the_error_itself_can_be_set_again);
  tcase_add_test(cases, exit_status_is_the_contract_s);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
