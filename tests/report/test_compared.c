/* SPDX-License-Identifier: MIT */
/* A comparison for people, of collections made up. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "collect.h"
#include "report/compared.h"
#include "suite.h"

/* Rows of the table of derived quantities. */
enum { ROWS = 60 };

static char *indices_of(const struct collection *c)
{
  const struct findings_wanted wanted = {NULL, 100, 100};
  struct findings f;
  struct error error;
  struct text out = {0};

  ck_assert_msg(findings_make(c, &wanted, &f, &error), "%s", error.text);
  report_compared_indices(&f, &out);
  findings_clear(&f);
  ck_assert(!out.failed);
  return out.data;
}

static void add(struct collection *c, size_t count, const char *find)
{
  for (size_t i = 0; i < count; i++) {
    char context[16];
    snprintf(context, sizeof context, "%03zu", c->count);
    struct collected *item = collect_notation(c, context, MOISTURE_MOIST, "10YR 4/3", 0.1);
    snprintf(item->region.find, sizeof item->region.find, "%s", find);
  }
}

/* Sherds have no derived quantities and take up no row: the formulas belong to the rows that are shown, wherever they come from. */
START_TEST(formulas_of_the_rows_that_are_shown)
{
  struct collection c = {0};

  collect_photo(&c);
  add(&c, ROWS, "7");
  add(&c, 2, "");
  char *text = indices_of(&c);
  ck_assert_ptr_nonnull(strstr(text, "\n  061"));
  ck_assert_ptr_nonnull(strstr(text, "redness rating: RR = "));
  ck_assert_ptr_null(strstr(text, "not listed here"));
  free(text);
  collection_clear(&c);
}
END_TEST

START_TEST(what_is_not_shown_is_counted)
{
  struct collection c = {0};

  collect_photo(&c);
  add(&c, ROWS + 5, "");
  char *text = indices_of(&c);
  ck_assert_ptr_nonnull(strstr(text, "\n  059"));
  ck_assert_ptr_null(strstr(text, "\n  060"));
  ck_assert_ptr_nonnull(strstr(text, "up to 5 more deposits are not listed here"));
  free(text);
  collection_clear(&c);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compared");
  TCase *tcase = tcase_create("compared");

  tcase_add_test(tcase, formulas_of_the_rows_that_are_shown);
  tcase_add_test(tcase, what_is_not_shown_is_counted);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
