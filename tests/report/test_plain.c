/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "report/plain.h"
#include "suite.h"

START_TEST(labels_cannot_steer_the_terminal)
{
  struct text text = {0};

  plain_add(&text, "a\x1b[2Jb\nc\x7f\xC2\x9B"
                   "d\xFF \xC3\xA9");
  ck_assert_str_eq(text.data, "a?[2Jb?c??d? \xC3\xA9");
  text_clear(&text);
}
END_TEST

START_TEST(columns_count_characters_not_bytes_or_colours)
{
  const char *swatch = "\x1b[48;2;1;2;3m    \x1b[0m", *word = "\xC2\xB1"
                                                              "0.5";

  ck_assert_uint_eq(plain_columns(swatch, strlen(swatch)), 4);
  ck_assert_uint_eq(plain_columns(word, strlen(word)), 4);
}
END_TEST

START_TEST(paragraphs_keep_to_the_width)
{
  struct text words = {0}, text = {0};
  size_t lines = 0;

  for (int i = 0; i < 60; i++) {
    text_format(&words, "word%d ", i * i);
  }
  plain_paragraph(&text, "- ", "  ", words.data);
  for (char *line = text.data, *end; (end = strchr(line, '\n')); line = end + 1, lines++) {
    ck_assert_uint_le((size_t)(end - line), PLAIN_WIDTH);
    ck_assert(end[-1] != ' ');
    ck_assert(memcmp(line, lines == 0 ? "- word" : "  word", 6) == 0);
  }
  ck_assert_uint_gt(lines, 3);
  text_clear(&words);
  text_clear(&text);
}
END_TEST

START_TEST(a_word_longer_than_the_line_stays_whole)
{
  char longest[PLAIN_WIDTH + 20] = {0};
  struct text text = {0}, expected = {0};

  memset(longest, 'x', sizeof longest - 1);
  plain_paragraph(&text, "", "", longest);
  text_format(&expected, "%s\n", longest);
  ck_assert_str_eq(text.data, expected.data);
  text_clear(&text);
  text_clear(&expected);
}
END_TEST

START_TEST(tables_align)
{
  struct text text = {0};

  plain_table(&text, "region\tL*\tleft out\nfosse \xC3\xA9t\xC3\xA9\t5.0\t\na\t41.25\tglint\n", "lrl");
  ck_assert_str_eq(text.data, "  region        L*  left out\n"
                              "  fosse \xC3\xA9t\xC3\xA9    5.0\n"
                              "  a          41.25  glint\n");
  text_clear(&text);
}
END_TEST

/* Parts that are put are empty afterwards; that there was no memory for one is not lost. */
START_TEST(parts_are_put_and_cleared)
{
  struct text text = {0}, part = {0};

  text_add(&part, "a\tb\n");
  plain_put_table(&text, &part, "ll");
  ck_assert_ptr_null(part.data);
  text_add(&part, "words");
  plain_put_paragraph(&text, "- ", "", &part);
  ck_assert_ptr_null(part.data);
  ck_assert_str_eq(text.data, "  a  b\n- words\n");
  ck_assert(!text.failed);
  part.failed = true;
  if (_i == 0) {
    plain_put_table(&text, &part, "ll");
  } else {
    plain_put_paragraph(&text, "", "", &part);
  }
  ck_assert(text.failed && !part.failed);
  text_clear(&text);
}
END_TEST

START_TEST(cells_beyond_the_columns_are_left_out)
{
  struct text text = {0};

  plain_table(&text, "a\tb\tc\nd\te\tf\n", "lr");
  ck_assert_str_eq(text.data, "  a  b\n  d  e\n");
  text_clear(&text);
  plain_table(&text, "1\t2\t3\t4\t5\t6\t7\t8\t9\t10\t11\t12\t13\t14\t15\t16\t17\t18\n", "llllllllllllllllll");
  ck_assert_str_eq(text.data, "  1  2  3  4  5  6  7  8  9  10  11  12  13  14  15  16\n");
  text_clear(&text);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("plain");
  TCase *tcase = tcase_create("plain");

  tcase_add_test(tcase, labels_cannot_steer_the_terminal);
  tcase_add_test(tcase, columns_count_characters_not_bytes_or_colours);
  tcase_add_test(tcase, paragraphs_keep_to_the_width);
  tcase_add_test(tcase, a_word_longer_than_the_line_stays_whole);
  tcase_add_test(tcase, tables_align);
  tcase_add_loop_test(tcase, parts_are_put_and_cleared, 0, 2);
  tcase_add_test(tcase, cells_beyond_the_columns_are_left_out);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
