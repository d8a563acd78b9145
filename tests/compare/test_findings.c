/* SPDX-License-Identifier: MIT */
/* Which pairs of a collection are told in words. */
#include <check.h>
#include <stdio.h>

#include "collect.h"
#include "compare/findings.h"
#include "suite.h"

static const struct findings_wanted WANTED = {NULL, 100, 100};

static void add(struct collection *c, const char *role, enum region_moisture moisture)
{
  struct collected *item = collect_lab(c, "", moisture, (struct lab){30 + (double)c->count, 5, 10}, 0.1);

  snprintf(item->region.role, sizeof item->region.role, "%s", role);
}

static const struct {
  const char *role[2];
  enum region_moisture moisture[2];
  size_t lines;
} CASE[] = {
    {{"fill", "surrounding deposit"}, {MOISTURE_MOIST, MOISTURE_MOIST}, 1},
    {{"surrounding deposit", "fill"}, {MOISTURE_DRY, MOISTURE_DRY}, 1},
    {{"fill", "surrounding deposit"}, {MOISTURE_UNSTATED, MOISTURE_UNSTATED}, 1},
    {{"fill", "surrounding deposit"}, {MOISTURE_MOIST, MOISTURE_UNSTATED}, 1},
    {{"fill", "surrounding deposit"}, {MOISTURE_MOIST, MOISTURE_DRY}, 0},
    {{"fill", "surrounding deposit"}, {MOISTURE_MOIST, MOISTURE_WET}, 0},
    {{"fill", "fill"}, {MOISTURE_MOIST, MOISTURE_MOIST}, 0},
    {{"surrounding deposit", ""}, {MOISTURE_MOIST, MOISTURE_MOIST}, 0},
};

/* A fill and what surrounds it are a line of their own, unless one is known to be wetter. */
START_TEST(a_fill_against_what_surrounds_it)
{
  struct collection c = {0};
  struct findings f;
  struct error error;

  collect_photo(&c);
  add(&c, CASE[_i].role[0], CASE[_i].moisture[0]);
  add(&c, CASE[_i].role[1], CASE[_i].moisture[1]);
  ck_assert_msg(findings_make(&c, &WANTED, &f, &error), "%s", error.text);
  ck_assert_uint_eq(f.lines, CASE[_i].lines);
  findings_clear(&f);
  collection_clear(&c);
}
END_TEST

/* What touches in the second of three photos is told there, and leaves the first and third their fills. */
START_TEST(each_photo_has_its_own_lines)
{
  static const struct pair_choice LINE[] = {{0, 1}, {4, 5}, {6, 7}};
  struct collection c = {0};
  struct findings f;
  struct error error;

  for (int p = 0; p < 3; p++) {
    collect_photo(&c);
    add(&c, "fill", MOISTURE_MOIST);
    add(&c, "surrounding deposit", MOISTURE_MOIST);
    if (p == 1) {
      add(&c, "fill", MOISTURE_MOIST);
      add(&c, "fill", MOISTURE_MOIST);
    }
  }
  ck_assert(collection_add_touch(&c, (struct collected_touch){.a = 4, .b = 5, .saved = true}, &error));
  ck_assert_msg(findings_make(&c, &WANTED, &f, &error), "%s", error.text);
  ck_assert_uint_eq(f.lines, sizeof LINE / sizeof *LINE);
  for (size_t i = 0; i < f.lines; i++) {
    ck_assert_msg(f.line[i].a == LINE[i].a && f.line[i].b == LINE[i].b, "line %zu: %zu and %zu", i,
                  f.line[i].a, f.line[i].b);
  }
  findings_clear(&f);
  collection_clear(&c);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("findings");
  TCase *tcase = tcase_create("findings");

  tcase_add_loop_test(tcase, a_fill_against_what_surrounds_it, 0, sizeof CASE / sizeof *CASE);
  tcase_add_test(tcase, each_photo_has_its_own_lines);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
