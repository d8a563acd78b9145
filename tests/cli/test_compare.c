/* SPDX-License-Identifier: MIT */
/* tawny compare at work: photos and saved readings, text, JSON and picture, and every refusal in one line. */
#include <check.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "photo.h"
#include "run.h"
#include "suite.h"

/* Saved numbers are rounded, and columns dropped that hold 1 % of a covariance: half of that in a half-width, and a last digit. */
static const double SAVED = 0.02, HALF_WIDTH = 0.01;

/* Hue pages by which two soils of one page may come out apart: what the photo states of their hues is about a page. */
static const double PAGES = 0.5;

static char folder[64];

static void write_text(const char *name, const char *text)
{
  struct error error;

  ck_assert(file_write(run_path(folder, name), text, strlen(text), &error));
}

static void save_readings(void)
{
  struct run run = run_tawny(folder, "read good.png --regions regions.csv --json", "");

  ck_assert_int_eq(run.status, 0);
  write_text("saved.jsonl", run.out);
  run_clear(&run);
}

static void make_folder(void)
{
  snprintf(folder, sizeof folder, "%s", run_folder());
  photo_write(run_path(folder, "good.png"), true);
  photo_write(run_path(folder, "bare.png"), false);
  write_text("regions.csv", PHOTO_REGIONS);
  write_text("one.csv", "region,shape,points\na,circle,400 550 40\n");
  write_text("over.csv", "region,context,moisture,shape,points\na,1042,moist,rectangle,300 500 150 100\n"
                         "b,1043,moist,rectangle,370 500 150 100\n");
  write_text("states.csv", "region,context,moisture,shape,points\na,1042,moist,rectangle,460 500 60 100\n"
                           "b,1042,dry,rectangle,300 500 60 100\nc,1043,moist,rectangle,530 500 60 100\n"
                           "d,1044,,rectangle,600 500 60 100\n");
  write_text("empty.jsonl", "");
  write_text("outlines.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"/>\n");
  write_text("text.txt", "10YR 4/3\n");
  write_text("other.jsonl", "{\"colour\": 1}\n");
  write_text("none.jsonl", "{\"photo\": {\"file\": \"a.jpg\"}, \"readings\": []}\n");
  save_readings();
}

static void remove_folder(void)
{
  run_folder_remove(folder);
}

static size_t lines(const char *text)
{
  size_t count = 0;

  for (; (text = strchr(text, '\n')); text++) {
    count++;
  }
  return count;
}

static struct run expect(const char *words, int status, size_t failures)
{
  struct run run = run_tawny(folder, words, "");

  ck_assert_msg(run.status == status, "%s: status %d, not %d; %s", words, run.status, status, run.err);
  ck_assert_msg(lines(run.err) == failures, "%s: not %zu lines on standard error:\n%s", words, failures,
                run.err);
  return run;
}

static void expect_words(const char *text, const char *words)
{
  ck_assert_msg(strstr(text, words) != NULL, "\"%s\" is not in\n%s", words, text);
}

START_TEST(touching_regions_of_a_photo)
{
  struct run run = expect("compare good.png --regions regions.csv", 0, 0);

  /* 10YR 3/3 and 10YR 6/6: lighter and stronger, of one hue page */
  ck_assert_msg(
      strncmp(run.out,
              "1042 moist (left) and 1043 moist (right): told apart, distinct; 1043 is lighter and stronger",
              60) == 0,
      "%s", run.out);
  expect_words(run.out, "; along the boundary ");
  expect_words(run.out, "  distinct  distinct      touching\n");
  expect_words(run.out, "\nDerived from the means of deposits");
  expect_words(run.out, "redness rating: RR = (10 - H) C / V");
  expect_words(run.out, "likeness does not make one");
  ck_assert_ptr_null(strstr(run.out, "stimate"));
  run_clear(&run);
}
END_TEST

static json_t *json_of(const char *words)
{
  struct run run = expect(words, 0, 0);
  json_error_t fault;
  json_t *root = json_loads(run.out, JSON_REJECT_DUPLICATES, &fault);

  ck_assert_msg(root != NULL && lines(run.out) == 1, "%s: %s", words, fault.text);
  run_clear(&run);
  return root;
}

static double number(const json_t *object, const char *key)
{
  const json_t *value = json_object_get(object, key);

  ck_assert_msg(json_is_number(value), "%s is no number", key);
  return json_number_value(value);
}

/* Characters: bytes that begin one in UTF-8. */
static size_t widest_line(const char *from, const char *to)
{
  size_t widest = 0, width = 0;

  for (; from < to; from++) {
    width = *from == '\n' ? 0 : width + ((*from & 0xc0) != 0x80);
    widest = width > widest ? width : widest;
  }
  return widest;
}

/* Labels of 17 letters and two photos: the tables of pairs keep to the width of paragraphs. */
START_TEST(tables_of_pairs_fit_the_page)
{
  enum { PAGE = 100 };
  struct run run = expect("compare " TAWNY_SOURCE_ROOT "/samples/section-dry.jpg " TAWNY_SOURCE_ROOT
                          "/samples/section-moist.jpg --regions " TAWNY_SOURCE_ROOT "/samples/regions.csv",
                          0, 0);
  const char *from = strstr(run.out, "\nDifferences"), *to = strstr(run.out, "\nWithin deposits");

  ck_assert(from && to && from < to);
  ck_assert_uint_gt(lines(from), 60);
  ck_assert_uint_le(widest_line(from, to), PAGE);
  expect_words(from, "surrounding-left [1]   lower [1]");
  run_clear(&run);
}
END_TEST

START_TEST(saved_readings_say_the_same_as_the_photo)
{
  json_t *photo = json_of("compare good.png --regions regions.csv --json"),
         *saved = json_of("compare saved.jsonl --json");
  const json_t *a = json_array_get(json_object_get(photo, "pairs"), 0);
  const json_t *b = json_array_get(json_object_get(saved, "pairs"), 0);

  ck_assert(fabs(number(a, "de00") - number(b, "de00")) < SAVED);
  ck_assert(fabs(number(a, "uncertainty") - number(b, "uncertainty")) <
            HALF_WIDTH * number(a, "uncertainty") + SAVED);
  ck_assert(json_is_true(json_object_get(a, "touching")) && json_is_true(json_object_get(b, "touching")));
  ck_assert(json_is_true(json_object_get(a, "apart")) && json_is_true(json_object_get(a, "same_moisture")));
  const json_t *boundary = json_object_get(a, "boundary");
  ck_assert(fabs(number(boundary, "de00") - number(a, "de00")) < 0.2);
  ck_assert(json_is_true(json_object_get(boundary, "apart")));
  ck_assert(json_is_null(json_object_get(b, "boundary")));
  const json_t *steps = json_object_get(a, "munsell");
  ck_assert(fabs(number(steps, "value") - 3) < 0.1 && fabs(number(steps, "chroma") - 3) < 0.3 &&
            fabs(number(steps, "pages")) < PAGES);
  const json_t *row = json_array_get(json_object_get(photo, "all_de00"), 0);
  ck_assert(fabs(json_number_value(json_array_get(row, 0)) - number(a, "de00")) < SAVED);
  json_decref(photo);
  json_decref(saved);
}
END_TEST

static double place(const json_t *object, const char *key, size_t index)
{
  return json_number_value(json_array_get(json_object_get(object, key), index));
}

/* Asked for the other way round, a pair says the same of either reading, and of b minus a the opposite. */
START_TEST(a_pair_asked_for_backwards)
{
  json_t *forth = json_of("compare good.png --regions regions.csv --json --pairs 1042:1043");
  json_t *back = json_of("compare good.png --regions regions.csv --json --pairs 1043:1042");
  const json_t *a = json_array_get(json_object_get(forth, "sheet_pairs"), 0);
  const json_t *b = json_array_get(json_object_get(back, "sheet_pairs"), 0);
  const json_t *along_a = json_object_get(a, "boundary"), *along_b = json_object_get(b, "boundary");

  ck_assert_str_eq(json_string_value(json_object_get(b, "region_a")), "right");
  ck_assert(number(b, "a") == 1 && number(b, "b") == 0);
  for (size_t k = 0; k < 3; k++) {
    ck_assert(place(along_a, "lab_d50_a", k) == place(along_b, "lab_d50_b", k));
    ck_assert(place(along_a, "lab_d50_b", k) == place(along_b, "lab_d50_a", k));
  }
  ck_assert(place(along_b, "lab_d50_a", 0) > place(along_b, "lab_d50_b", 0) + 20); /* 1043 is V 6, 1042 V 3 */
  ck_assert(number(json_object_get(a, "munsell"), "value") ==
            -number(json_object_get(b, "munsell"), "value"));
  ck_assert(number(json_object_get(a, "parts"), "lightness") ==
            -number(json_object_get(b, "parts"), "lightness"));
  ck_assert(number(a, "de00") == number(b, "de00") && number(a, "uncertainty") == number(b, "uncertainty"));
  json_decref(forth);
  json_decref(back);
}
END_TEST

/* a and b lie in two deposits of the picture, 10YR 6/6 and 3/3: 1042 is recorded dry where it is darker. */
START_TEST(states_are_told)
{
  struct run run =
      expect("compare good.png --regions states.csv --estimate-dry --pairs '1042:1043 a:d'", 0, 0);

  expect_words(run.out, "DARKER WHEN DRIER: are the states swapped?");
  expect_words(run.out, "UNLIKE STATES, so not a difference between deposits alone");
  expect_words(run.out, "; state not given for both");
  expect_words(run.out, "1042 moist (a) and 1043 moist (c): not told apart by this photo");
  expect_words(run.out, "Estimate, not a measurement: the dry value");
  run_clear(&run);
}
END_TEST

START_TEST(overlapping_regions_are_told_of)
{
  struct run run = expect("compare good.png --regions over.csv", 0, 0);

  expect_words(run.out, "; boundary not compared: the outlines overlap by 53 % of the smaller one");
  run_clear(&run);
}
END_TEST

START_TEST(pictures_are_written)
{
  static const char *const name[3] = {"map.svg", "map.png", "MAP.PNG"};
  static const char *const magic[3] = {"<svg", "\x89PNG", "\x89PNG"};

  for (int i = 0; i < 3; i++) {
    struct file_bytes bytes;
    struct error error;
    char words[80];
    snprintf(words, sizeof words, "compare saved.jsonl --picture %s", name[i]);
    struct run run = expect(words, 0, 0);
    ck_assert(file_read(run_path(folder, name[i]), 1 << 24, &bytes, &error));
    ck_assert(memmem(bytes.data, 200, magic[i], strlen(magic[i])) != NULL);
    if (i == 0) {
      expect_words((const char *)bytes.data, "1042 moist  left  1");
      expect_words((const char *)bytes.data, "CIEDE2000");
    }
    file_bytes_clear(&bytes);
    run_clear(&run);
  }
}
END_TEST

static const struct {
  const char *words, *said;
  int status;
} WRONG[] = {
    {"compare empty.jsonl", "empty.jsonl is empty", 3},
    {"compare text.txt", "text.txt is neither a photo nor readings that `tawny read --json` saved; give one",
     3},
    {"compare other.jsonl", "other.jsonl: line 1: there is no \"photo\"", 3},
    {"compare missing.jsonl", "missing.jsonl can't be read", 3},
    {"compare none.jsonl", "nothing was read, so there is nothing to compare; give", 1},
    {"compare good.png", "good.png: no region of this photo is given; outline", 1},
    {"compare good.png --regions one.csv", "only one region was read (a); give a second", 1},
    {"compare bare.png --regions regions.csv", "bare.png: ", 1},
    {"compare saved.jsonl --pairs 1042:9", "no context and no region that was read is called 9; correct", 2},
    {"compare saved.jsonl --pairs 1042", "\"1042\" is no list of pairs; write it as in", 2},
    {"compare saved.jsonl --pairs 1042:", "\"1042:\" is no list of pairs; write it as in", 2},
    {"compare saved.jsonl --pairs ' '", "names no two readings; write it as in", 2},
    {"compare saved.jsonl --picture a.gif", "a.gif does not say which picture format is wanted; end", 2},
    {"compare good.png bare.png --picture good.png", "--picture would write over the photo good.png", 2},
    {"compare good.png bare.png --picture ./bare.png", "--picture would write over the photo ./bare.png", 2},
    {"compare good.png --regions outlines.svg --picture ./outlines.svg",
     "--picture would write over the outlines ./outlines.svg", 2},
    {"compare saved.jsonl --regions missing.csv", "missing.csv can't be read", 3},
};

START_TEST(what_is_wrong_is_one_line)
{
  struct run run = expect(WRONG[_i].words, WRONG[_i].status, 1);

  ck_assert_msg(strncmp(run.err, "tawny: ", 7) == 0 && strstr(run.err, WRONG[_i].said),
                "%s: \"%s\" is not in %s", WRONG[_i].words, WRONG[_i].said, run.err);
  ck_assert_msg(run.out_size == 0, "%s: %s", WRONG[_i].words, run.out);
  run_clear(&run);
}
END_TEST

/* The rest is compared where one of several files fails. */
START_TEST(given_twice_counts_once)
{
  struct run run = expect("compare saved.jsonl saved.jsonl", 2, 1);

  expect_words(run.err, "the same regions of photo good.png are given twice; name it");
  expect_words(run.out, "1042 moist (left) and 1043 moist (right): told apart");
  run_clear(&run);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compare");
  TCase *tcase = tcase_create("compare");

  tcase_add_unchecked_fixture(tcase, make_folder, remove_folder);
  tcase_set_timeout(tcase, 120);
  tcase_add_test(tcase, touching_regions_of_a_photo);
  tcase_add_test(tcase, tables_of_pairs_fit_the_page);
  tcase_add_test(tcase, saved_readings_say_the_same_as_the_photo);
  tcase_add_test(tcase, a_pair_asked_for_backwards);
  tcase_add_test(tcase, states_are_told);
  tcase_add_test(tcase, overlapping_regions_are_told_of);
  tcase_add_test(tcase, pictures_are_written);
  tcase_add_loop_test(tcase, what_is_wrong_is_one_line, 0, sizeof WRONG / sizeof *WRONG);
  tcase_add_test(tcase, given_twice_counts_once);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
