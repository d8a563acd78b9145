/* SPDX-License-Identifier: MIT */
/* The JSON of a photo, read back by Jansson: what scripts rely on is there, with its type. */
#include <check.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/json.h"
#include "report/json_write.h"
#include "sample.h"
#include "suite.h"

static json_t *parse(struct text *text)
{
  json_error_t fault;

  ck_assert(!text->failed);
  ck_assert_msg(text->length > 0 && strchr(text->data, '\n') == text->data + text->length - 1,
                "not one line");
  json_t *root = json_loads(text->data, JSON_REJECT_DUPLICATES, &fault);
  ck_assert_msg(root != NULL, "column %d: %s in %s", fault.column, fault.text, text->data);
  text_clear(text);
  return root;
}

static json_t *json_of(const struct sample *sample, size_t pairs)
{
  struct text text = {0};
  struct error error;

  ck_assert(report_json(&sample->measurement, sample->pair, pairs, &sample->mottles, &text, &error));
  return parse(&text);
}

/* The value at a path such as "readings.0.uncertainty.de00". */
static json_t *at(json_t *value, const char *path)
{
  char copy[128], *rest = copy, *key;

  snprintf(copy, sizeof copy, "%s", path);
  while (value && (key = strsep(&rest, "."))) {
    value =
        json_is_array(value) ? json_array_get(value, strtoul(key, NULL, 10)) : json_object_get(value, key);
  }
  return value;
}

static const struct {
  const char *path;
  json_type type;
} KEY[] = {
    {"program.version", JSON_STRING},
    {"program.method", JSON_STRING},
    {"photo.file", JSON_STRING},
    {"photo.sha256", JSON_STRING},
    {"photo.width", JSON_INTEGER},
    {"photo.height", JSON_INTEGER},
    {"photo.camera", JSON_NULL}, /* the sample's file does not say */
    {"photo.taken", JSON_STRING},
    {"card.found", JSON_TRUE},
    {"card.name", JSON_STRING},
    {"card.corners.3.1", JSON_REAL},
    {"card.patches_used", JSON_INTEGER},
    {"card.patches_left_out.0.patch", JSON_STRING},
    {"card.patches_left_out.0.why", JSON_STRING},
    {"card.residual.median", JSON_REAL},
    {"card.residual.p95", JSON_REAL},
    {"card.residual.max", JSON_REAL},
    {"card.left_one_out.median", JSON_REAL},
    {"card.left_one_out.p90", JSON_REAL},
    {"card.left_one_out.p95", JSON_REAL},
    {"card.left_one_out.max", JSON_REAL},
    {"card.patches.0.patch", JSON_STRING},
    {"card.patches.0.left_one_out", JSON_REAL},
    {"card.patches.0.expected95", JSON_REAL},
    {"card.patches.1.left_one_out", JSON_NULL}, /* clipped: no part of the fit */
    {"card.patches.1.expected95", JSON_NULL},
    {"card.mm_per_pixel", JSON_REAL},
    {"verdict", JSON_STRING},
    {"warnings.0.code", JSON_STRING},
    {"warnings.0.text", JSON_STRING},
    {"warnings.0.region", JSON_NULL},
    {"warnings.1.region", JSON_STRING},
    {"readings.0.region", JSON_STRING},
    {"readings.0.context", JSON_STRING},
    {"readings.0.find", JSON_NULL},
    {"readings.0.zone", JSON_NULL},
    {"readings.0.role", JSON_STRING},
    {"readings.2.role", JSON_NULL},
    {"readings.0.moisture", JSON_STRING},
    {"readings.3.moisture", JSON_NULL},
    {"readings.0.lab_d50.2", JSON_REAL},
    {"readings.0.xyY_c.2", JSON_REAL},
    {"readings.0.hvc.0", JSON_REAL},
    {"readings.2.hvc.0", JSON_NULL},
    {"readings.2.hvc.1", JSON_REAL},
    {"readings.2.hvc.2", JSON_REAL},
    {"readings.0.notation", JSON_STRING},
    {"readings.0.chip", JSON_STRING},
    {"readings.0.chip_chance", JSON_REAL},
    {"readings.0.runner_up", JSON_STRING},
    {"readings.2.runner_up", JSON_NULL},
    {"readings.0.name", JSON_STRING},
    {"readings.0.uncertainty.de00", JSON_REAL},
    {"readings.0.uncertainty.hue", JSON_REAL},
    {"readings.2.uncertainty.hue", JSON_NULL},
    {"readings.0.uncertainty.value", JSON_REAL},
    {"readings.0.uncertainty.chroma", JSON_REAL},
    {"readings.0.light_gain", JSON_REAL},
    {"readings.0.pixels", JSON_INTEGER},
    {"readings.0.left_out.share", JSON_REAL},
    {"readings.0.left_out.glint", JSON_REAL},
    {"readings.0.left_out.shadow", JSON_REAL},
    {"readings.0.left_out.specks", JSON_REAL},
    {"readings.0.left_out.clipped", JSON_REAL},
    {"readings.0.components", JSON_ARRAY},
    {"readings.3.components", JSON_NULL},
    {"readings.3.error.code", JSON_STRING},
    {"readings.3.error.text", JSON_STRING},
    {"readings.3.pixels", JSON_NULL},
    {"differences.0.a", JSON_STRING},
    {"differences.0.b", JSON_STRING},
    {"differences.0.touching", JSON_TRUE},
    {"differences.2.touching", JSON_FALSE},
    {"differences.0.de00", JSON_REAL},
    {"differences.0.uncertainty", JSON_REAL},
    {"differences.0.apart", JSON_TRUE},
    {"differences.2.apart", JSON_FALSE},
    {"differences.0.contrast", JSON_STRING},
    {"differences.0.same_moisture", JSON_TRUE},
    {"differences.1.same_moisture", JSON_FALSE},
    {"differences.2.same_moisture", JSON_NULL},
};

START_TEST(every_key_has_its_type)
{
  struct sample sample;

  sample_make(&sample);
  json_t *root = json_of(&sample, SAMPLE_PAIRS), *value = at(root, KEY[_i].path);
  ck_assert_msg(value != NULL, "%s is missing", KEY[_i].path);
  ck_assert_msg(json_typeof(value) == KEY[_i].type, "%s has type %d, not %d", KEY[_i].path,
                json_typeof(value), KEY[_i].type);
  json_decref(root);
}
END_TEST

/* Values as they were put in, within half of the last decimal printed. */
static const struct {
  const char *path;
  double value, half_digit;
} NUMBER[] = {
    {"photo.width", 4000, 0},
    {"card.corners.2.0", 102.5, 0.005},
    {"card.residual.p95", 1.25, 0.0005},
    {"card.left_one_out.p90", 1.5, 0.0005},
    {"card.left_one_out.max", 3.125, 0.0005},
    {"card.patches.2.left_one_out", 2.75, 0.0005},
    {"card.patches.2.expected95", 4.125, 0.0005},
    {"card.mm_per_pixel", 0.25, 0.00005},
    {"card.patches_used", 2, 0},
    {"readings.1.lab_d50.0", 51.25, 0.0005},
    {"readings.1.lab_d50.1", 5.5, 0.0005},
    {"readings.1.lab_d50.2", 24.125, 0.0005},
    {"readings.0.xyY_c.0", 0.386, 0.000005},
    {"readings.0.xyY_c.1", 0.372, 0.000005},
    {"readings.0.xyY_c.2", 6.5, 0.0005},
    {"readings.0.hvc.0", 19.1, 0.005},
    {"readings.0.hvc.1", 3.2, 0.005},
    {"readings.0.hvc.2", 2.8, 0.005},
    {"readings.0.chip_chance", 0.71, 0.0005},
    {"readings.0.uncertainty.de00", 1.8, 0.005},
    {"readings.0.uncertainty.hue", 0.6, 0.005},
    {"readings.0.uncertainty.value", 0.1, 0.005},
    {"readings.0.uncertainty.chroma", 0.2, 0.005},
    {"readings.0.light_gain", 1.08, 0.00005},
    {"readings.0.pixels", 4321, 0},
    {"readings.0.left_out.share", 0.05, 0.00005},
    {"readings.0.left_out.glint", 0.02, 0.00005},
    {"readings.0.left_out.shadow", 0, 0},
    {"readings.0.left_out.specks", 0.03, 0.00005},
    {"differences.0.de00", 18.25, 0.005},
    {"differences.0.uncertainty", 1.5, 0.005},
};

START_TEST(numbers_are_what_was_measured)
{
  struct sample sample;

  sample_make(&sample);
  json_t *root = json_of(&sample, SAMPLE_PAIRS);
  double value = json_number_value(at(root, NUMBER[_i].path));
  ck_assert_msg(fabs(value - NUMBER[_i].value) <= NUMBER[_i].half_digit, "%s is %.6f, not %.6f",
                NUMBER[_i].path, value, NUMBER[_i].value);
  json_decref(root);
}
END_TEST

static const struct {
  const char *path, *word;
} WORD[] = {
    {"photo.file", "section.jpg"},
    {"photo.taken", "2026-05-04T11:32:05"},
    {"card.name", "chart24-1976"},
    {"card.patches_left_out.0.patch", "white"},
    {"card.patches_left_out.0.why", "clipped"},
    {"verdict", "doubtful"},
    {"warnings.1.code", "two-colours"},
    {"warnings.1.region", "1043"},
    {"readings.0.moisture", "moist"},
    {"readings.0.role", "fill"},
    {"readings.0.notation", "9.1YR 3.2/2.8"},
    {"readings.0.chip", "10YR 3/3"},
    {"readings.0.runner_up", "10YR 5/4"},
    {"readings.0.name", "dark brown"},
    {"readings.2.notation", "N 5.1/"},
    {"readings.3.error.code", "outside"},
    {"differences.1.a", "1042"},
    {"differences.1.b", "1044"},
    {"differences.1.contrast", "faint"},
};

START_TEST(words_are_what_was_measured)
{
  struct sample sample;

  sample_make(&sample);
  json_t *root = json_of(&sample, SAMPLE_PAIRS);
  const char *word = json_string_value(at(root, WORD[_i].path));
  ck_assert_msg(word && strcmp(word, WORD[_i].word) == 0, "%s is %s, not %s", WORD[_i].path,
                word ? word : "no word", WORD[_i].word);
  json_decref(root);
}
END_TEST

/* Of a region with mottles: each key of a component, null where there is nothing to say. */
static const struct {
  const char *path;
  json_type type;
} COMPONENT[] = {
    {"0.lab_d50.2", JSON_REAL},
    {"0.notation", JSON_STRING},
    {"0.chip", JSON_STRING},
    {"0.name", JSON_STRING},
    {"0.uncertainty", JSON_REAL},
    {"0.share", JSON_REAL},
    {"0.share_95.1", JSON_REAL},
    {"0.abundance.usda", JSON_NULL},
    {"0.abundance.fao", JSON_NULL},
    {"0.lumps", JSON_NULL},
    {"0.size_mm", JSON_NULL},
    {"0.size.usda", JSON_NULL},
    {"0.no_size", JSON_STRING},
    {"0.contrast", JSON_NULL},
    {"0.de00", JSON_NULL},
    {"0.de00_uncertainty", JSON_NULL},
    {"1.abundance.usda", JSON_STRING},
    {"1.abundance.fao", JSON_STRING},
    {"1.lumps", JSON_INTEGER},
    {"1.size_mm", JSON_REAL},
    {"1.size_mm_95.1", JSON_REAL},
    {"1.size.usda", JSON_STRING},
    {"1.size.fao", JSON_STRING},
    {"1.smallest_seen_mm", JSON_REAL},
    {"1.no_size", JSON_NULL},
    {"1.contrast", JSON_STRING},
    {"1.de00", JSON_REAL},
    {"1.de00_uncertainty", JSON_REAL},
    {"2.size_mm", JSON_NULL},
    {"2.size_mm_95", JSON_NULL},
    {"2.smallest_seen_mm", JSON_NULL},
    {"2.no_size", JSON_STRING},
};

START_TEST(components_of_a_mottled_region)
{
  struct sample sample;
  char path[64];

  sample_make(&sample);
  sample_mottle(&sample);
  json_t *root = json_of(&sample, 0);
  snprintf(path, sizeof path, "readings.0.components.%s", COMPONENT[_i].path);
  json_t *value = at(root, path);
  ck_assert_msg(value != NULL, "%s is missing", path);
  ck_assert_msg(json_typeof(value) == COMPONENT[_i].type, "%s has type %d", path, json_typeof(value));
  ck_assert_uint_eq(json_array_size(at(root, "readings.0.components")), 3);
  ck_assert_uint_eq(json_array_size(at(root, "readings.1.components")), 0);
  ck_assert_str_eq(json_string_value(at(root, "readings.0.components.1.size.fao")), "fine");
  ck_assert(fabs(json_number_value(at(root, "readings.0.components.1.share_95.0")) - 0.18) < 0.00005);
  json_decref(root);
}
END_TEST

START_TEST(only_what_was_used_is_not_left_out)
{
  struct sample sample;

  sample_make(&sample);
  json_t *root = json_of(&sample, 0);
  ck_assert_uint_eq(json_array_size(at(root, "card.patches_left_out")), 1);
  ck_assert_uint_eq(json_array_size(at(root, "differences")), 0);
  ck_assert(at(root, "readings.3.lab_d50") == NULL);
  ck_assert(at(root, "readings.0.error") == NULL);
  ck_assert(at(root, "error") == NULL);
  json_decref(root);
}
END_TEST

START_TEST(without_a_card_the_reason_stands_in_its_place)
{
  struct sample sample;

  sample_make(&sample);
  sample_without_card(&sample);
  json_t *root = json_of(&sample, 0);
  ck_assert(json_is_false(at(root, "card.found")));
  ck_assert_str_eq(json_string_value(at(root, "card.reason")),
                   "no card is in the photo; lay one on the face");
  ck_assert_uint_eq(json_object_size(at(root, "card")), 2);
  ck_assert_str_eq(json_string_value(at(root, "verdict")), "unfit");
  ck_assert(json_is_array(at(root, "readings")) && json_array_size(at(root, "readings")) == 0);
  ck_assert(json_is_array(at(root, "differences")) && json_array_size(at(root, "differences")) == 0);
  ck_assert(json_is_array(at(root, "warnings")));
  ck_assert(at(root, "error") == NULL);
  json_decref(root);
}
END_TEST

START_TEST(a_photo_that_failed_says_why)
{
  struct error failure, error;
  struct text text = {0};

  error_set(&failure, ERROR_FILE, "unreadable", "finds/gone.jpg can't be read; check the name");
  ck_assert(report_json_failure("finds/gone.jpg", &failure, &text, &error));
  json_t *root = parse(&text);
  ck_assert_uint_eq(json_object_size(root), 2);
  ck_assert_str_eq(json_string_value(at(root, "photo.file")), "gone.jpg");
  ck_assert(json_is_null(at(root, "photo.sha256")));
  ck_assert(json_is_null(at(root, "photo.width")));
  ck_assert_str_eq(json_string_value(at(root, "error.code")), "unreadable");
  ck_assert_str_eq(json_string_value(at(root, "error.text")), failure.text);
  json_decref(root);
}
END_TEST

/* U+FFFD for each byte that belongs to no character; RFC 3629 rules. */
static const struct {
  const char *bytes, *read_back;
} NAME[] = {
    {"section.jpg", "section.jpg"},
    {"fosse \xC3\xA9t\xC3\xA9.jpg", "fosse \xC3\xA9t\xC3\xA9.jpg"},
    {"a\"b\\c\td\x01.jpg", "a\"b\\c\td\x01.jpg"},
    {"\xFF.jpg", "\xEF\xBF\xBD.jpg"},
    {"cut\xC3", "cut\xEF\xBF\xBD"},
    {"cut\xE2\x82", "cut\xEF\xBF\xBD\xEF\xBF\xBD"},
    {"overlong\xC0\xAF", "overlong\xEF\xBF\xBD\xEF\xBF\xBD"},
    {"surrogate\xED\xA0\x80", "surrogate\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"},
    {"beyond\xF4\x90\x80\x80", "beyond\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"},
    {"\xF0\x9F\x8F\xBA", "\xF0\x9F\x8F\xBA"},
};

START_TEST(any_file_name_gives_good_json)
{
  struct error failure, error;
  struct text text = {0};

  error_set(&failure, ERROR_FILE, "unreadable", "gone");
  ck_assert(report_json_failure(NAME[_i].bytes, &failure, &text, &error));
  json_t *root = parse(&text);
  ck_assert_str_eq(json_string_value(at(root, "photo.file")), NAME[_i].read_back);
  json_decref(root);
}
END_TEST

static const struct {
  double value;
  int decimals;
  const char *text;
} PRINTED[] = {
    {1.5, 2, "1.50"},      {-0.001, 2, "0.00"},   {-0.0, 3, "0.000"},     {-0.01, 2, "-0.01"},
    {1e300 * 10, 1, NULL}, {HUGE_VAL, 2, "null"}, {-12.3456, 1, "-12.3"},
};

/* Without memory, or with an error of its own, an object is not left half written behind what was there. */
START_TEST(half_an_object_is_taken_back)
{
  struct text text = {0};
  struct json_writer json = {.out = &text};
  struct error error = {.code = "own"};

  text_add(&text, "{}\n");
  json_write_open(&json, '{');
  text.failed = _i == 1;
  ck_assert(!json_write_end(&json, 3, _i == 1, "the JSON of a photo", &error));
  ck_assert_str_eq(text.data, "{}\n");
  ck_assert_int_eq(strcmp(error.code, "own") == 0, _i == 0);
  ck_assert_int_eq(error.kind == ERROR_INTERNAL, _i == 1);
  text_clear(&text);
}
END_TEST

START_TEST(numbers_print_alike_everywhere)
{
  struct text text = {0};
  struct json_writer json = {.out = &text};

  json_write_number(&json, PRINTED[_i].value, PRINTED[_i].decimals);
  ck_assert(!text.failed);
  if (PRINTED[_i].text) {
    ck_assert_str_eq(text.data, PRINTED[_i].text);
  } else { /* a very large number stays one */
    ck_assert_uint_eq(strspn(text.data, "0123456789."), text.length);
  }
  text_clear(&text);
}
END_TEST

static int count(size_t bytes, size_t row)
{
  return (int)(bytes / row);
}

int main(void)
{
  Suite *suite = suite_create("json");
  TCase *tcase = tcase_create("json");

  tcase_add_loop_test(tcase, every_key_has_its_type, 0, count(sizeof KEY, sizeof *KEY));
  tcase_add_loop_test(tcase, numbers_are_what_was_measured, 0, count(sizeof NUMBER, sizeof *NUMBER));
  tcase_add_loop_test(tcase, words_are_what_was_measured, 0, count(sizeof WORD, sizeof *WORD));
  tcase_add_loop_test(tcase, any_file_name_gives_good_json, 0, count(sizeof NAME, sizeof *NAME));
  tcase_add_loop_test(tcase, numbers_print_alike_everywhere, 0, count(sizeof PRINTED, sizeof *PRINTED));
  tcase_add_loop_test(tcase, components_of_a_mottled_region, 0, count(sizeof COMPONENT, sizeof *COMPONENT));
  tcase_add_loop_test(tcase, half_an_object_is_taken_back, 0, 2);
  tcase_add_test(tcase, only_what_was_used_is_not_left_out);
  tcase_add_test(tcase, without_a_card_the_reason_stands_in_its_place);
  tcase_add_test(tcase, a_photo_that_failed_says_why);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
