/* SPDX-License-Identifier: MIT */
/* Saved readings: what is read of them, what is refused with which words, and how fast many are compared. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/text.h"
#include "compare/findings.h"
#include "compare/saved.h"
#include "measure/values.h"
#include "random.h"
#include "suite.h"

/* CPU time for all pairs of so many readings, parsing included, that is asked for; sanitizers and builds that are not optimised may
 * take more. */
enum { MANY = 1000, COLUMNS = 15, SEED = 4200 };
#if defined(__SANITIZE_ADDRESS__) || !defined(__OPTIMIZE__)
static const double SECONDS = 6;
#else
static const double SECONDS = 0.5;
#endif

#define READING                                                                                              \
  "{\"region\": \"a\", \"context\": \"1042\", \"find\": null, \"zone\": null, \"role\": \"fill\", "          \
  "\"moisture\": \"moist\", \"lab_d50\": [41.2, 8.5, 16.1], \"chip\": \"10YR 4/3\", "                        \
  "\"uncertainty\": {\"de00\": 1.2, \"hue\": 0.5, \"value\": 0.1, \"chroma\": 0.2}"
#define DOUBT                                                                                                \
  ", \"lab_covariance\": [0.3, 0.01, 0.02, 0.2, 0.03, 0.25], \"lab_shared\": [[0.3, 0.1, 0.0], [0.1, 0.2, "  \
  "0.1]]}"
#define OTHER                                                                                                \
  "{\"region\": \"b\", \"context\": null, \"moisture\": null, \"lab_d50\": [44.2, 9.5, 17.1], "              \
  "\"chip\": \"7.5YR 4/3\", \"uncertainty\": {\"de00\": 1.2, \"hue\": null, \"value\": 0.1, \"chroma\": "    \
  "0.2}"
#define LINE(readings, rest)                                                                                 \
  "{\"photo\": {\"file\": \"x.jpg\", \"sha256\": \"ab\"}, \"verdict\": \"sound\", \"readings\": [" readings  \
  "]" rest "}\n"
#define TOUCHING ", \"differences\": [{\"a\": \"a\", \"b\": \"b\", \"touching\": true}]"

#define ITEM(label)                                                                                          \
  "{\"region\": \"" label "\", \"lab_d50\": [41.2, 8.5, 16.1], \"chip\": \"10YR 4/3\", "                     \
  "\"uncertainty\": {\"de00\": 1.2, \"hue\": 0.5, \"value\": 0.1, \"chroma\": 0.2}}"
#define PAIR(a, b) "{\"a\": \"" a "\", \"b\": \"" b "\", \"touching\": true}"
#define PAIRS(list) ", \"differences\": [" list "]"
#define THREE(file, pairs)                                                                                   \
  "{\"photo\": {\"file\": \"" file                                                                           \
  "\"}, \"readings\": [" ITEM("a") ", " ITEM("b") ", " ITEM("c") "]" PAIRS(pairs) "}\n"

static bool read_text(const char *text, struct collection *c, struct error *error)
{
  struct file_bytes bytes = {(uint8_t *)strdup(text), strlen(text)};
  bool done = saved_read("f.jsonl", &bytes, c, error);

  file_bytes_clear(&bytes);
  return done;
}

START_TEST(readings_come_back)
{
  struct collection c = {0};
  struct error error;

  ck_assert_msg(read_text("\n" LINE(READING DOUBT ", " OTHER DOUBT,
                                    TOUCHING) "{\"photo\": {\"file\": \"y.jpg\"}, \"error\": {\"code\": "
                                              "\"no-card\", \"text\": \"\"}}\n",
                          &c, &error),
                "%s", error.text);
  ck_assert_uint_eq(c.count, 2);
  ck_assert_uint_eq(c.photos, 1);
  ck_assert_str_eq(c.item[0].region.context, "1042");
  ck_assert_str_eq(c.item[1].region.label, "b");
  ck_assert_int_eq(c.item[0].region.moisture, MOISTURE_MOIST);
  ck_assert_int_eq(c.item[1].region.moisture, MOISTURE_UNSTATED);
  ck_assert_str_eq(c.item[0].reading.chip->notation, "10YR 4/3");
  ck_assert_uint_eq(c.item[0].columns, 2);
  ck_assert(fabs(c.item[0].reading.own.m[0][0] - (0.3 - 0.09 - 0.01)) < 1e-9);
  ck_assert(fabs(c.item[0].reading.own.m[1][2] - (0.03 - 0.02)) < 1e-9);
  ck_assert(c.photo[0].shares && !c.item[0].doubtful);
  ck_assert_ptr_nonnull(collection_touch(&c, 1, 0));
  ck_assert(collection_touch(&c, 0, 1)->saved);
  /* both share all columns alike: only what is their own is left */
  struct difference d = collection_difference(&c, 0, 1);
  ck_assert(fabs(d.covariance.m[0][0] - 2 * (0.3 - 0.1)) < 1e-3);
  collection_clear(&c);
}
END_TEST

/* Of two photos, so that the second one's pairs stand behind the first one's. */
START_TEST(pairs_in_any_order)
{
  static const size_t touching[][2] = {{0, 1}, {1, 2}, {0, 2}, {3, 4}, {3, 5}}, apart[] = {4, 5};
  struct collection c = {0};
  struct error error;

  ck_assert_msg(read_text(THREE("x", PAIR("b", "c") ", " PAIR("a", "c") ", " PAIR("a", "b"))
                              THREE("y", PAIR("a", "c") ", " PAIR("a", "b")),
                          &c, &error),
                "%s", error.text);
  ck_assert_uint_eq(c.touches, 5);
  for (size_t i = 0; i < sizeof touching / sizeof *touching; i++) {
    const struct collected_touch *touch = collection_touch(&c, touching[i][0], touching[i][1]);
    ck_assert_msg(touch && touch->a == touching[i][0] && touch->b == touching[i][1], "%zu and %zu",
                  touching[i][0], touching[i][1]);
  }
  ck_assert_ptr_null(collection_touch(&c, apart[0], apart[1]));
  collection_clear(&c);
}
END_TEST

START_TEST(only_what_has_an_error_is_passed_over)
{
  struct collection c = {0};
  struct error error;

  ck_assert_msg(
      read_text(LINE("{\"region\": \"z\", \"error\": {\"code\": \"no-pixels\", \"text\": \"\"}}, " READING
                     ", \"error\": null" DOUBT,
                     ", \"error\": null"),
                &c, &error),
      "%s", error.text);
  ck_assert_uint_eq(c.photos, 1);
  ck_assert_uint_eq(c.count, 1);
  ck_assert_str_eq(c.item[0].region.label, "a");
  collection_clear(&c);
}
END_TEST

START_TEST(without_the_keys_the_radius_is_all)
{
  struct collection c = {0};
  struct error error;

  ck_assert_msg(read_text(LINE(READING "}, " OTHER "}", ""), &c, &error), "%s", error.text);
  ck_assert(!c.photo[0].shares);
  ck_assert_uint_eq(c.item[0].columns, 0);
  /* the radius that this covariance has is the one it was made of */
  ck_assert_msg(fabs(values_radius95(c.item[0].reading.lab_d50, c.item[0].reading.covariance) - 1.2) < 0.01,
                "%g", values_radius95(c.item[0].reading.lab_d50, c.item[0].reading.covariance));
  collection_clear(&c);
}
END_TEST

static const struct {
  const char *text, *said;
} WRONG[] = {
    {"{\"photo\": 1", "f.jsonl: line 1: column "},
    {"\n[1, 2]\n", "f.jsonl: line 2: there is no \"photo\""},
    {"{\"a\": 1}\n", "line 1: there is no \"photo\""},
    {"{\"photo\": {\"file\": \"x\"}}\n", "there is no \"readings\""},
    {"{\"photo\": {}, \"readings\": []}\n", "\"file\" is missing"},
    {LINE("7", ""), "\"readings\" holds what is no object"},
    {LINE("{}", ""), "\"region\" is missing"},
    {LINE("{\"region\": 7}", ""), "\"region\" must be a text"},
    {LINE("{\"region\": \"a\"}", ""), "a: \"lab_d50\" must be a list of 3 numbers"},
    {LINE("{\"region\": \"a\", \"moisture\": \"damp\"}", ""),
     "\"moisture\" must be \"dry\", \"moist\", \"wet\" or null"},
    {LINE("{\"region\": \"a\", \"lab_d50\": [1, 2, \"x\"]}", ""), "\"lab_d50\" holds what is no number"},
    {LINE("{\"region\": \"a\", \"lab_d50\": [1, 2, 1e9]}", ""), "\"lab_d50\" holds what is no number"},
    {LINE("{\"region\": \"a\", \"lab_d50\": [400, 2, 3]}", ""), "\"lab_d50\" is no colour"},
    {LINE("{\"region\": \"a\", \"lab_d50\": [40, 2, 3]}", ""), "\"chip\" is missing"},
    {LINE("{\"region\": \"a\", \"lab_d50\": [40, 2, 3], \"chip\": \"10YR 4/9\"}", ""),
     "\"chip\": 10YR 4/9 is no soil chip"},
    {LINE("{\"region\": \"a\", \"lab_d50\": [40, 2, 3], \"chip\": \"10YR 4/3\"}", ""),
     "\"uncertainty.hue\" holds"},
    {LINE(READING ", \"lab_covariance\": [1, 2]}", ""), "\"lab_covariance\" must be a list of 6 numbers"},
    {LINE(READING ", \"lab_covariance\": [-1, 0, 0, 1, 0, 1], \"lab_shared\": []}", ""),
     "\"lab_covariance\" is no covariance"},
    {LINE(READING ", \"lab_covariance\": [1, 0, 0, 1, 0, 1]}", ""),
     "\"lab_shared\" must be a list of up to 72 columns"},
    {LINE(READING ", \"lab_covariance\": [1, 0, 0, 1, 0, 1], \"lab_shared\": [[1, 2]]}", ""),
     "\"lab_shared\" must be a list of 3"},
    {LINE(READING DOUBT ", " OTHER ", \"lab_covariance\": [1, 0, 0, 1, 0, 1], \"lab_shared\": []}", ""),
     "\"lab_shared\" has more columns in some readings"},
    {LINE(READING DOUBT ", " READING DOUBT, ""), "\"readings\" has region a twice"},
    {LINE(READING DOUBT, TOUCHING), "\"differences\" names a pair that \"readings\" does not have"},
    {LINE(ITEM("a") ", " ITEM("b"), PAIRS(PAIR("b", "a"))),
     "\"differences\" names a pair that \"readings\" does not have in this order"},
    {LINE(ITEM("a") ", " ITEM("b") ", " ITEM("c"),
          PAIRS(PAIR("b", "c") ", " PAIR("a", "b") ", " PAIR("b", "c"))),
     "\"differences\" has the pair b and c twice"},
    {LINE(READING DOUBT, "") LINE(READING DOUBT, ""), "the same regions of photo x.jpg are given twice"},
};

START_TEST(what_is_malformed_is_named)
{
  struct collection c = {0};
  struct error error = {0};

  ck_assert_msg(!read_text(WRONG[_i].text, &c, &error), "%s was read", WRONG[_i].text);
  ck_assert_msg(strstr(error.text, WRONG[_i].said) != NULL, "expected \"%s\", got \"%s\"", WRONG[_i].said,
                error.text);
  ck_assert(error.kind == ERROR_FILE || strcmp(error.code, "given-twice") == 0);
  collection_clear(&c);
}
END_TEST

/* One photo of many readings, and another one. */
static void write_many(struct text *out)
{
  struct random random = random_start(SEED);

  for (int photo = 0; photo < 2; photo++) {
    text_format(out, "{\"photo\": {\"file\": \"%d.jpg\", \"sha256\": \"%d\"}, \"readings\": [", photo, photo);
    for (int i = 0; i < MANY / 2; i++) {
      text_format(out,
                  "%s{\"region\": \"r%d\", \"context\": \"%d\", \"moisture\": \"%s\", \"lab_d50\": [%.3f, "
                  "%.3f, %.3f], "
                  "\"chip\": \"10YR 4/3\", \"uncertainty\": {\"de00\": 1.0, \"hue\": 0.5, \"value\": 0.1, "
                  "\"chroma\": 0.2}, "
                  "\"lab_covariance\": [2, 0, 0, 2, 0, 2], \"lab_shared\": [",
                  i ? ", " : "", i, random_below(&random, 80), photo ? "dry" : "moist",
                  random_between(&random, 25, 70), random_between(&random, 2, 15),
                  random_between(&random, 5, 25));
      for (int k = 0; k < COLUMNS; k++) {
        text_format(out, "%s[%.5f, %.5f, %.5f]", k ? ", " : "", random_between(&random, 0, 0.3),
                    random_between(&random, 0, 0.3), random_between(&random, 0, 0.3));
      }
      text_add(out, "]}");
    }
    text_add(out, "]}\n");
  }
}

/* Everything that `tawny compare` computes of 1,000 readings. */
START_TEST(a_thousand_readings_are_compared_in_half_a_second)
{
  struct findings_wanted wanted = {NULL, 4950, 500};
  struct collection c = {0};
  struct findings findings;
  struct text text = {0};
  struct error error;

  write_many(&text);
  clock_t start = clock();
  ck_assert_msg(read_text(text.data, &c, &error), "%s", error.text);
  ck_assert_msg(findings_make(&c, &wanted, &findings, &error), "%s", error.text);
  double took = (double)(clock() - start) / CLOCKS_PER_SEC;
  ck_assert_uint_eq(findings.table.count, MANY);
  ck_assert_uint_eq(findings.shown_count, 4950);
  ck_assert_msg(took < SECONDS, "%.2f s", took);
  printf("%d readings compared in %.2f s of CPU time\n", MANY, took);
  findings_clear(&findings);
  collection_clear(&c);
  text_clear(&text);
}
END_TEST

/* The table of all pairs says of each what the pair alone says. */
START_TEST(the_table_agrees_with_single_pairs)
{
  struct random random = random_start(SEED + 1);
  struct collection c = {0};
  struct pair_table table;
  struct text text = {0};
  struct error error;

  write_many(&text);
  ck_assert(read_text(text.data, &c, &error) && pair_table_make(&c, &table, &error));
  for (int n = 0; n < 3000; n++) {
    size_t i = (size_t)random_below(&random, MANY - 1);
    size_t j = i + 1 + (size_t)random_below(&random, MANY - 1 - (int)i);
    struct difference d = collection_difference(&c, i, j);
    size_t at = pair_index(MANY, i, j);
    ck_assert_msg(fabs((double)table.de00[at] - d.de00) < 1e-4, "%zu %zu: %g %g", i, j,
                  (double)table.de00[at], d.de00);
    ck_assert_msg(table.apart[at] == d.apart, "%zu %zu", i, j);
  }
  pair_table_clear(&table);
  collection_clear(&c);
  text_clear(&text);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("saved");
  TCase *tcase = tcase_create("saved");

  tcase_set_timeout(tcase, 120);
  tcase_add_test(tcase, readings_come_back);
  tcase_add_test(tcase, pairs_in_any_order);
  tcase_add_test(tcase, only_what_has_an_error_is_passed_over);
  tcase_add_test(tcase, without_the_keys_the_radius_is_all);
  tcase_add_loop_test(tcase, what_is_malformed_is_named, 0, sizeof WRONG / sizeof *WRONG);
  tcase_add_test(tcase, a_thousand_readings_are_compared_in_half_a_second);
  tcase_add_test(tcase, the_table_agrees_with_single_pairs);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
