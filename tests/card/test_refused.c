/* SPDX-License-Identifier: MIT */
/* Every broken card file stays in tests/refused/cards, named by its fault, and must be refused with a line that names it. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "card/cgats.h"
#include "card/reference.h"
#include "random.h"
#include "suite.h"

static const struct {
  const char *file, *says;
} REFUSED[] = {
    {"no-signature", "starts with a line of one word"},
    {"outlines", "starts with a line of one word"},
    {"no-title", "DESCRIPTOR is missing"},
    {"no-source", "CARD_SOURCE is missing"},
    {"source-twice", "line 7: CARD_SOURCE is given twice"},
    {"source-empty", "line 3: CARD_SOURCE must be 1 to"},
    {"title-too-long", "line 2: DESCRIPTOR must be 1 to 95"},
    {"no-corners", "CARD_CORNERS is missing"},
    {"corner-unknown", "number 4 is none"},
    {"corners-mirrored", "four patches clockwise"},
    {"corners-five", "four patches clockwise"},
    {"corners-three", "number 4 is none"},
    {"surface-unknown", "CARD_SURFACE is \"shiny\""},
    {"scale-unknown", "CARD_SCALE is \"inches\""},
    {"include", "line 7: directives"},
    {"quote-open", "line 14: a quotation mark is not closed"},
    {"keyword-two-values", "line 7: a keyword takes one value"},
    {"white-d65", "\"ILLUMINANT, D65\" is not taken"},
    {"observer-10", "\"OBSERVER, 10 degree\" is not taken"},
    {"sets-too-many", "NUMBER_OF_SETS says 5 but the table has 4"},
    {"sets-too-few", "NUMBER_OF_SETS says 3 but the table has 4"},
    {"sets-missing", "NUMBER_OF_SETS is missing"},
    {"sets-twice", "a count is given twice"},
    {"sets-no-number", "line 11: a whole number"},
    {"sets-fraction", "line 11: a whole number"},
    {"fields-wrong", "NUMBER_OF_FIELDS says 8"},
    {"no-format", "BEGIN_DATA stands before a data format"},
    {"format-twice", "a second data format"},
    {"column-twice", "line 9: column X_MM is named twice"},
    {"column-unknown", "line 9: column LAB_BB is not known"},
    {"column-missing", "column Y_MM is missing"},
    {"id-missing", "column SAMPLE_ID is missing"},
    {"colour-missing", "no colour columns"},
    {"colour-part", "LAB_L LAB_A LAB_B belong together"},
    {"colour-twice", "both as LAB_L LAB_A LAB_B and as MUNSELL"},
    {"xyz-no-white", "the white of XYZ_X XYZ_Y XYZ_Z is not named"},
    {"xyz-not-percent", "Y in percent"},
    {"row-short", "line 15: 8 values where the data format names 9"},
    {"row-long", "line 15: 10 values where the data format names 9"},
    {"number-tail", "line 14, row 2, column LAB_B: \"4.2x\" is no number"},
    {"number-nan", "line 14, row 2, column LAB_L: \"nan\" is no number"},
    {"number-huge", "line 14, row 2: no surface has"},
    {"number-infinite", "line 14, row 2, column LAB_L: \"1e309\" is no number"},
    {"number-empty", "line 14, row 2, column LAB_L: \"\" is no number"},
    {"number-comma", "line 14, row 2, column X_MM: \"35,5\" is no number"},
    {"patch-twice", "line 15: patch 2 was already given in line 14"},
    {"patch-no-name", "line 15: a patch's name must be"},
    {"size-zero", "line 15, row 3, column HEIGHT_MM: 0 mm"},
    {"size-negative", "line 15, row 3, column WIDTH_MM: -20 mm"},
    {"place-far", "line 15, row 3, column Y_MM"},
    {"overlap", "lines 13 and 15: patches red and grey overlap"},
    {"tolerance-zero", "line 13, row 1, column TOLERANCE_DE00"},
    {"lightness-negative", "line 15, row 3: no surface has"},
    {"chroma-impossible", "line 15, row 3: no surface has"},
    {"notation-bad", "line 13, row 2, column MUNSELL"},
    {"spectrum-uneven", "even steps"},
    {"spectrum-short", "even steps"},
    {"spectrum-percent", "line 12, row 1: reflectance 20"},
    {"cut-off", "ends before END_DATA"},
    {"empty-table", "the table is empty"},
    {"second-table", "text behind END_DATA"},
};

START_TEST(broken_card_is_refused_with_its_fault_named)
{
  char path[512];
  struct card_list list;
  struct error error = {0};

  snprintf(path, sizeof path, "%s/tests/refused/cards/%s.txt", TAWNY_SOURCE_ROOT, REFUSED[_i].file);
  ck_assert_msg(!card_list_open(path, &list, &error), "%s was taken", REFUSED[_i].file);
  ck_assert_msg(error.kind == ERROR_FILE && !strcmp(error.code, "bad-card"), "%s: %s %s", REFUSED[_i].file,
                error.code, error.text);
  ck_assert_msg(strstr(error.text, REFUSED[_i].says), "%s: \"%s\" lacks \"%s\"", REFUSED[_i].file, error.text,
                REFUSED[_i].says);
  ck_assert_msg(!strncmp(error.text, REFUSED[_i].file, strlen(REFUSED[_i].file)), "no file name: %s",
                error.text);
  ck_assert(list.count == 0 && !list.card);
}
END_TEST

START_TEST(what_is_no_text_is_refused)
{
  static char large[CGATS_LENGTH_MAX + 2];
  struct card_reference card;
  struct error error = {0};

  memset(large, 'x', sizeof large - 1);
  ck_assert(!card_reference_parse(large, sizeof large - 1, "large", &card, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "too long"));
  ck_assert(!card_reference_parse("CGATS.17\n\0\n", 11, "binary", &card, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "not text"));
}
END_TEST

/* Lines of the table beyond what is taken. */
START_TEST(too_many_of_anything_is_refused)
{
  static char text[CGATS_LENGTH_MAX];
  struct cgats cgats;
  struct error error = {0};
  size_t at = (size_t)sprintf(text, "CGATS.17\nBEGIN_DATA_FORMAT\nA\nEND_DATA_FORMAT\nBEGIN_DATA\n");

  for (int i = 0; i <= CGATS_ROWS_MAX; i++) {
    at += (size_t)sprintf(text + at, "%d\n", i);
  }
  ck_assert(!cgats_read(text, at, &cgats, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "more than 400 patches"));
  at = (size_t)sprintf(text, "CGATS.17\nBEGIN_DATA_FORMAT\n");
  for (int i = 0; i <= CGATS_COLUMNS_MAX; i++) {
    at += (size_t)sprintf(text + at, "C%d\n", i);
  }
  ck_assert(!cgats_read(text, at, &cgats, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "too many columns"));
  at = (size_t)sprintf(text, "CGATS.17\n");
  for (int i = 0; i <= CGATS_COLUMNS_MAX; i++) {
    at += (size_t)sprintf(text + at, "C%d ", i);
  }
  ck_assert(!cgats_read(text, at, &cgats, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "too many words"));
}
END_TEST

/* Cut and altered at random places, a card file is read or refused and never worse; the sanitizers watch. */
START_TEST(damaged_text_never_breaks_the_reader)
{
  static const uint64_t SEED = 17;
  struct random random = random_start(SEED);
  struct file_bytes bytes;
  struct error error = {0};

  ck_assert_msg(
      file_read(TAWNY_SOURCE_ROOT "/calibration/cards/chart24-1976.txt", CGATS_LENGTH_MAX, &bytes, &error),
      "%s", error.text);
  for (int round = 0; round < 3000; round++) {
    struct card_reference card;
    char *copy = malloc(bytes.size);
    ck_assert_ptr_nonnull(copy);
    memcpy(copy, bytes.data, bytes.size);
    for (int k = random_below(&random, 4); k >= 0; k--) {
      copy[random_below(&random, (int)bytes.size)] = "\" \n#0e-.x'"[random_below(&random, 10)];
    }
    size_t length = random_below(&random, 4) ? bytes.size : (size_t)random_below(&random, (int)bytes.size);
    bool read = card_reference_parse(copy, length, "damaged", &card, &error);
    ck_assert_msg(read || (error.kind == ERROR_FILE && error.text[0]), "round %d of seed %d", round,
                  (int)SEED);
    card_reference_clear(&card);
    free(copy);
  }
  file_bytes_clear(&bytes);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("card/refused");
  TCase *cases = tcase_create("refused");

  tcase_add_loop_test(cases, broken_card_is_refused_with_its_fault_named, 0,
                      sizeof REFUSED / sizeof *REFUSED);
  tcase_add_test(cases, what_is_no_text_is_refused);
  tcase_add_test(cases, too_many_of_anything_is_refused);
  tcase_add_test(cases, damaged_text_never_breaks_the_reader);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
