/* SPDX-License-Identifier: MIT */
/* Pairs in words and figures. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "collect.h"
#include "colour/difference.h"
#include "compare/pairs.h"
#include "munsell/notation.h"
#include "suite.h"

/* Notations come back from Lab to this. */
static const double ROUND_TRIP = 1e-4;

static const struct {
  const char *a, *b, *hue, *lightness, *chroma;
  double pages, value, strength;
} STEP[] = {
    {"10YR 4/3", "7.5YR 5/4", "redder", "lighter", "stronger", -1, 1, 1},
    {"10YR 4/3", "2.5Y 4/2", "yellower", NULL, "weaker", 1, 0, -1},
    {"5R 4/4", "10RP 4/4", "more purple", NULL, NULL, -2, 0, 0},
    {"10Y 6/4", "5GY 6/4", "greener", NULL, NULL, 2, 0, 0},
    {"10G 5/4", "5BG 5/4", "bluer", NULL, NULL, 2, 0, 0},
    {"10BG 5/4", "5BG 5/4", "greener", NULL, NULL, -2, 0, 0},
    {"10P 5/4", "5RP 5/4", "redder", NULL, NULL, 2, 0, 0},
    {"7.5RP 5/6", "2.5R 5/6", "redder", NULL, NULL, 2, 0, 0},
    {"N 5/", "10YR 5/3", NULL, NULL, "stronger", 0, 0, 3},
};

START_TEST(steps_and_words)
{
  struct collection c = {0};

  collect_photo(&c);
  collect_notation(&c, "1", MOISTURE_MOIST, STEP[_i].a, 1e-4);
  collect_notation(&c, "2", MOISTURE_DRY, STEP[_i].b, 1e-4);
  struct pair pair = pair_of(&c, 0, 1), back = pair_of(&c, 1, 0);
  const char *word = pair_hue_word(c.item[0].reading.munsell, c.item[1].reading.munsell);
  ck_assert_msg(STEP[_i].hue ? word && strcmp(word, STEP[_i].hue) == 0 : word == NULL, "%s %s: %s",
                STEP[_i].a, STEP[_i].b, word ? word : "none");
  ck_assert(fabs(pair.measured.pages - STEP[_i].pages) < ROUND_TRIP);
  ck_assert(fabs(pair.measured.value - STEP[_i].value) < ROUND_TRIP);
  ck_assert(fabs(pair.measured.chroma - STEP[_i].strength) < ROUND_TRIP);
  ck_assert(fabs(back.measured.pages + pair.measured.pages) < ROUND_TRIP);
  ck_assert(!STEP[_i].lightness ||
            (pair.lightness && strcmp(pair_lightness_word(&pair), STEP[_i].lightness) == 0));
  ck_assert(!STEP[_i].chroma || (pair.chroma && strcmp(pair_chroma_word(&pair), STEP[_i].chroma) == 0));
  ck_assert(fabs(back.parts.lightness + pair.parts.lightness) < 1e-9);
  ck_assert_int_eq(pair.same_moisture, 0);
  collection_clear(&c);
}
END_TEST

/* The parts of the difference and the rotation term make up its square (CIE 142-2001). */
START_TEST(parts_make_up_the_whole)
{
  struct collection c = {0};

  collect_photo(&c);
  collect_lab(&c, "1", MOISTURE_UNSTATED, (struct lab){40, 8, 20}, 0.1);
  collect_lab(&c, "2", MOISTURE_DRY, (struct lab){43, 6, 24}, 0.1);
  struct pair pair = pair_of(&c, 0, 1);
  double sum = pair.parts.lightness * pair.parts.lightness + pair.parts.chroma * pair.parts.chroma +
               pair.parts.hue * pair.parts.hue + pair.parts.rotation;
  ck_assert(fabs(sqrt(sum) - pair.difference.de00) < 1e-9);
  ck_assert(pair.parts.lightness > 0 && pair.parts.chroma > 0);
  ck_assert_int_eq(pair.same_moisture, -1);
  collection_clear(&c);
}
END_TEST

/* A part is told apart when it is more than 1.96 standard deviations: here 2 units of L* with one of sqrt(2 v). */
START_TEST(a_part_alone_is_told_apart)
{
  for (int told = 0; told < 2; told++) {
    struct collection c = {0};
    double variance = told ? 0.5 : 0.54; /* 1.96 sqrt(2 v) is 1.96 and 2.04 */
    collect_photo(&c);
    collect_lab(&c, "1", MOISTURE_DRY, (struct lab){40, 8, 20}, variance);
    collect_lab(&c, "2", MOISTURE_DRY, (struct lab){42, 8, 20}, variance);
    struct pair pair = pair_of(&c, 0, 1);
    ck_assert(pair.lightness == (told == 1) && !pair.chroma && !pair.hue);
    collection_clear(&c);
  }
}
END_TEST

/* Nearest first, and those that touch before all. */
START_TEST(what_is_shown)
{
  struct collection c = {0};
  struct pair_table table;
  struct pair_choice *list;
  struct error error;
  size_t count;

  collect_photo(&c);
  for (int i = 0; i < 6; i++) {
    collect_lab(&c, "", MOISTURE_DRY, (struct lab){30 + i * i, 5, 10}, 0.1);
  }
  ck_assert(collection_add_touch(&c, (struct collected_touch){.a = 0, .b = 5, .saved = true}, &error));
  ck_assert(pair_table_make(&c, &table, &error) && pair_choose(&c, &table, 4, &list, &count, &error));
  ck_assert_uint_eq(count, 4);
  ck_assert(list[0].a == 0 && list[0].b == 5);
  ck_assert(list[1].a == 0 && list[1].b == 1);
  ck_assert(list[2].a == 1 && list[2].b == 2);
  ck_assert(list[3].a == 0 && list[3].b == 2);
  free(list);
  ck_assert(pair_choose(&c, &table, 4950, &list, &count, &error));
  ck_assert_uint_eq(count, 15);
  free(list);
  pair_table_clear(&table);
  collection_clear(&c);
}
END_TEST

/* Readings of one photo move together; of two photos they don't. */
START_TEST(what_is_shared_cancels_within_a_photo_only)
{
  for (int photos = 1; photos <= 2; photos++) {
    struct collection c = {0};
    for (int i = 0; i < 2; i++) {
      if (i < photos) {
        collect_photo(&c);
      }
      struct collected *item = collect_lab(&c, "", MOISTURE_DRY, (struct lab){40 + 2 * i, 8, 20}, 0.04);
      item->reading.shared[0][0] = 2;
      item->columns = 1;
      item->reading.covariance.m[0][0] += 4;
    }
    struct difference d = collection_difference(&c, 0, 1);
    double expected = 0.08 + (photos == 2 ? 8 : 0);
    ck_assert_msg(fabs(d.covariance.m[0][0] - expected) < 1e-3, "%d photos: %g", photos,
                  d.covariance.m[0][0]);
    ck_assert(d.apart == (photos == 1));
    double weight[2] = {1, -1};
    ck_assert(fabs(collection_covariance(&c, weight).m[0][0] - expected) < 1e-9);
    struct vec3 gradient[2] = {{{1, 0, 0}}, {{-1, 0, 0}}};
    ck_assert(fabs(collection_variance(&c, gradient) - expected) < 1e-9);
    collection_clear(&c);
  }
}
END_TEST

/* Two regions on either side of a step that may be a shadow's edge. Where they touch the step is what is looked at and taken for
 * colour; the columns of saved readings hold it no longer by itself. */
START_TEST(across_a_boundary_a_step_is_colour)
{
  static const struct {
    bool touch, saved, apart;
  } CASE[] = {{false, false, false}, {true, false, true}, {true, true, false}};

  for (size_t n = 0; n < sizeof CASE / sizeof *CASE; n++) {
    struct collection c = {0};
    struct collected_touch touch = {.a = 1, .b = 2, .saved = CASE[n].saved};
    struct pair_table table;
    struct error error;
    collect_photo(&c);
    for (int i = 0; i < 3; i++) {
      struct collected *item = collect_lab(&c, "", MOISTURE_DRY, (struct lab){40 + 3 * i, 8, 20}, 0.04);
      item->reading.shared[0][READING_UNSURE] = 2 * i;
      item->columns = READING_SHARED;
    }
    ck_assert(!CASE[n].touch || collection_add_touch(&c, touch, &error));
    ck_assert(collection_difference(&c, 1, 2).apart == CASE[n].apart);
    ck_assert(collection_difference(&c, 2, 1).apart == CASE[n].apart);
    ck_assert(!collection_difference(&c, 0, 1).apart);
    ck_assert(pair_table_make(&c, &table, &error));
    for (size_t i = 0; i < 3; i++) {
      for (size_t j = i + 1; j < 3; j++) {
        ck_assert_msg(table.apart[pair_index(3, i, j)] == collection_difference(&c, i, j).apart,
                      "case %zu: %zu %zu", n, i, j);
      }
    }
    pair_table_clear(&table);
    collection_clear(&c);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("pairs");
  TCase *tcase = tcase_create("pairs");

  tcase_add_loop_test(tcase, steps_and_words, 0, sizeof STEP / sizeof *STEP);
  tcase_add_test(tcase, parts_make_up_the_whole);
  tcase_add_test(tcase, a_part_alone_is_told_apart);
  tcase_add_test(tcase, what_is_shown);
  tcase_add_test(tcase, what_is_shared_cancels_within_a_photo_only);
  tcase_add_test(tcase, across_a_boundary_a_step_is_colour);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
