/* SPDX-License-Identifier: MIT */
/* tawny propose as people and scripts meet it, on the plain picture of two flat soils and on rendered faces. */
#include <check.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "photo.h"
#include "region/file.h"
#include "run.h"
#include "suite.h"

static char folder[64];

static void make_folder(void)
{
  snprintf(folder, sizeof folder, "%s", run_folder());
  photo_write(run_path(folder, "good.png"), true);
  photo_write(run_path(folder, "bare.png"), false);
}

static void remove_folder(void)
{
  run_folder_remove(folder);
}

static struct run expect(const char *words, int status)
{
  struct run run = run_tawny(folder, words, "");

  ck_assert_msg(run.status == status, "%s: status %d, %s", words, run.status, run.err);
  return run;
}

static json_t *expect_json(const char *words)
{
  struct run run = expect(words, 0);
  json_t *object = json_loads(run.out, 0, NULL);

  ck_assert_msg(object != NULL, "%s: %s", words, run.out);
  run_clear(&run);
  return object;
}

static const char *label_at(const json_t *deposits, size_t i)
{
  return json_string_value(
      json_object_get(json_object_get(json_array_get(deposits, i), "reading"), "region"));
}

/* The sample section: topsoil, fill, the layer cut through, and the one below. The fill and the topsoil over it differ by less
 * than the eye is sure of. */
START_TEST(the_sample_section_is_four_deposits)
{
  json_t *object = expect_json("propose " TAWNY_SOURCE_ROOT "/samples/section-dry.jpg --json");
  const json_t *deposits = json_object_get(object, "deposits"),
               *boundaries = json_object_get(object, "boundaries");
  const char *const letter[] = {"a", "b", "c", "d"};
  size_t missed = 0;

  ck_assert_uint_eq(json_array_size(deposits), 4);
  ck_assert_uint_eq(json_array_size(boundaries), 4);
  for (size_t i = 0; i < 4; i++) {
    const json_t *boundary = json_array_get(boundaries, i);
    ck_assert_str_eq(label_at(deposits, i), letter[i]);
    ck_assert(json_is_true(json_object_get(boundary, "apart")));
    if (json_is_true(json_object_get(boundary, "easily_missed"))) {
      missed++;
      ck_assert_str_eq(json_string_value(json_object_get(boundary, "a")), "b");
      ck_assert_str_eq(json_string_value(json_object_get(boundary, "b")), "d");
    }
  }
  ck_assert_uint_eq(missed, 1);
  json_decref(object);
  struct run run = expect("propose " TAWNY_SOURCE_ROOT "/samples/section-dry.jpg", 0);
  ck_assert_ptr_nonnull(strstr(run.out, "Proposed deposits"));
  ck_assert_ptr_nonnull(strstr(run.out, "told apart, easily missed by eye"));
  run_clear(&run);
}
END_TEST

/* Every key of a proposal's reading is one of read's, with the same value; but nobody looked for mottles in it. */
static void expect_within(json_t *proposed, const json_t *read)
{
  const char *key;
  json_t *value;

  ck_assert_uint_gt(json_object_size(proposed), 10);
  ck_assert(json_is_null(json_object_get(proposed, "components")));
  ck_assert_uint_eq(json_array_size(json_object_get(proposed, "lab_covariance")), 6);
  ck_assert_uint_gt(json_array_size(json_object_get(proposed, "lab_shared")), 0);
  json_object_foreach(proposed, key, value)
  {
    ck_assert_msg(strcmp(key, "components") == 0 || json_equal(value, json_object_get(read, key)),
                  "%s differs", key);
  }
}

/* What is written is read back as it is, and gives the readings of the proposal. */
START_TEST(outlines_come_back_as_regions)
{
  json_t *proposed = expect_json("propose good.png --json --outlines out.json --overlay out.png");
  json_t *read = expect_json("read good.png --json --regions out.json");
  const json_t *deposits = json_object_get(proposed, "deposits"),
               *readings = json_object_get(read, "readings");
  struct region_list list = {0};
  struct error error;

  ck_assert_uint_eq(json_array_size(deposits), json_array_size(readings));
  for (size_t i = 0; i < json_array_size(deposits); i++) {
    expect_within(json_object_get(json_array_get(deposits, i), "reading"), json_array_get(readings, i));
  }
  ck_assert_msg(region_file_read(run_path(folder, "out.json"), &list, &error), "%s", error.text);
  for (size_t i = 0; i < list.count; i++) {
    ck_assert_msg(region_check(&list.region[i], PHOTO_WIDTH, PHOTO_HEIGHT, &error), "%s", error.text);
    ck_assert_str_eq(list.region[i].photo, "good.png");
  }
  ck_assert_int_eq(access(run_path(folder, "out.png"), F_OK), 0);
  region_list_clear(&list);
  json_decref(proposed);
  json_decref(read);
}
END_TEST

/* read without --regions reads the same, in its own shape, and says where the outlines come from. */
START_TEST(read_proposes_and_says_so)
{
  json_t *proposed = expect_json("propose good.png --json"), *read = expect_json("read good.png --json");
  const json_t *deposits = json_object_get(proposed, "deposits"),
               *readings = json_object_get(read, "readings");

  ck_assert_uint_eq(json_array_size(deposits), json_array_size(readings));
  for (size_t i = 0; i < json_array_size(readings); i++) {
    const json_t *reading = json_array_get(readings, i);
    expect_within(json_object_get(json_array_get(deposits, i), "reading"), reading);
    ck_assert(json_is_null(json_object_get(reading, "context")));
    ck_assert(json_is_null(json_object_get(reading, "moisture")));
  }
  json_decref(proposed);
  json_decref(read);
  struct run run = expect("read good.png", 0);
  ck_assert_ptr_nonnull(strstr(run.out, "no outlines were given"));
  run_clear(&run);
}
END_TEST

static const struct {
  const char *words, *says;
  int status;
} REFUSED[] = {
    {"propose", "no photo", 2},
    {"propose bare.png", "card", 1},
    {"propose missing.png", "missing.png", 3},
    {"propose good.png --outlines out.csv", "does not end in .json", 2},
    {"propose good.png --outlines good.png", "write over the photo", 2},
    {"propose good.png bare.png --outlines out.json", "one by one", 2},
    {"propose good.png --regions x.csv", "--regions", 2},
    {"propose good.png --outlines nowhere/out.json", "nowhere/out.json", 3},
};

START_TEST(what_is_wrong_is_said_once)
{
  struct run run = expect(REFUSED[_i].words, REFUSED[_i].status);

  ck_assert_msg(strstr(run.err, REFUSED[_i].says) != NULL, "%s: %s", REFUSED[_i].words, run.err);
  ck_assert_ptr_eq(strchr(run.err, '\n'), run.err + strlen(run.err) - 1);
  ck_assert_int_ne(access(run_path(folder, "out.json"), F_OK), 0);
  run_clear(&run);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("cli propose");
  TCase *tests = tcase_create("all");

  tcase_add_unchecked_fixture(tests, make_folder, remove_folder);
  tcase_add_loop_test(tests, what_is_wrong_is_said_once, 0, sizeof REFUSED / sizeof *REFUSED);
  tcase_add_test(tests, the_sample_section_is_four_deposits);
  tcase_add_test(tests, outlines_come_back_as_regions);
  tcase_add_test(tests, read_proposes_and_says_so);
  tcase_set_timeout(tests, 240);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
