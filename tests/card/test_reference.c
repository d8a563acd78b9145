/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <lcms2.h>

#include "base/file.h"
#include "base/text.h"
#include "card/reference.h"
#include "colour/difference.h"
#include "shared.h"
#include "suite.h"

/* Two routes to one colour: the published aims are rounded to 4 decimals in x, y, which is up to 0.1. */
static const double SAME_GREY = 0.12;
static const char *const EDITION[] = {"chart24-before-2014", "chart24-after-2014", "chart24-mean30",
                                      "chart24-ohta", "chart24-1976"};
enum { EDITIONS = sizeof EDITION / sizeof *EDITION };

static struct card_list list;
static struct error error;

static void open_list(const char *name)
{
  ck_assert_msg(card_list_open(name, &list, &error), "%s: %s", name, error.text);
}

static void close_list(void)
{
  card_list_clear(&list);
}

START_TEST(layout_opens_every_edition_in_order)
{
  open_list("chart24");
  ck_assert_uint_eq(list.count, EDITIONS);
  for (size_t i = 0; i < list.count; i++) {
    const struct card_reference *card = &list.card[i];
    ck_assert_str_eq(card->name, EDITION[i]);
    ck_assert_str_eq(card->layout, "chart24");
    ck_assert_uint_eq(card->count, 24);
    ck_assert(card->matt && card->title[0] && card->source[0]);
  }
  close_list();
}
END_TEST

START_TEST(editions_share_names_and_geometry)
{
  open_list("chart24");
  for (size_t i = 1; i < list.count; i++) {
    for (size_t p = 0; p < 24; p++) {
      const struct card_patch *a = &list.card[0].patch[p], *b = &list.card[i].patch[p];
      ck_assert_str_eq(a->name, b->name);
      ck_assert_msg(a->x_mm == b->x_mm && a->y_mm == b->y_mm && a->width_mm == b->width_mm &&
                        a->height_mm == b->height_mm,
                    "%s of %s", b->name, EDITION[i]);
    }
    ck_assert_mem_eq(list.card[0].corner, list.card[i].corner, sizeof list.card[0].corner);
  }
  close_list();
}
END_TEST

START_TEST(corners_are_dark_skin_bluish_green_black_white)
{
  static const char *const name[] = {"dark skin", "bluish green", "black", "white"};

  open_list("chart24-ohta");
  ck_assert_uint_eq(list.count, 1);
  for (int k = 0; k < 4; k++) {
    const struct card_patch *patch = &list.card[0].patch[list.card[0].corner[k]];
    ck_assert_str_eq(patch->name, name[k]);
    ck_assert_double_eq(list.card[0].corner_place[k].x_mm, patch->x_mm);
    ck_assert_double_eq(list.card[0].corner_place[k].y_mm, patch->y_mm);
  }
  close_list();
}
END_TEST

START_TEST(the_last_row_is_grey_and_no_other_patch)
{
  open_list("chart24");
  for (size_t i = 0; i < list.count; i++) {
    for (size_t p = 0; p < 24; p++) {
      const struct card_patch *patch = &list.card[i].patch[p];
      ck_assert_msg(patch->grey == (p >= 18), "%s of %s", patch->name, list.card[i].name);
      ck_assert(patch->tolerance == 0.8 || patch->tolerance == 1.0);
    }
  }
  close_list();
}
END_TEST

/* Different publications of one chart lie near each other; a slip in retyping a row would not. */
START_TEST(published_sets_agree_within_what_is_known)
{
  open_list("chart24");
  for (size_t i = 1; i < list.count; i++) {
    double sum = 0, largest = 0;
    for (size_t p = 0; p < 24; p++) {
      double de = colour_difference_1976(list.card[0].patch[p].lab_d50, list.card[i].patch[p].lab_d50).total;
      sum += de / 24;
      largest = fmax(largest, de);
      ck_assert_msg(de < 7, "%s of %s is %.2f off", list.card[i].patch[p].name, EDITION[i], de);
    }
    ck_assert_msg(sum < 2.2, "%s: mean %.2f, largest %.2f", EDITION[i], sum, largest);
  }
  close_list();
}
END_TEST

START_TEST(names_in_any_case)
{
  open_list("Chart24");
  ck_assert_uint_eq(list.count, EDITIONS);
  close_list();
  open_list("CHART24-Ohta");
  ck_assert_uint_eq(list.count, 1);
  ck_assert_str_eq(list.card[0].name, "chart24-ohta");
  close_list();
}
END_TEST

/* Second way to the greys: their notations and ASTM D1535, against the published x, y, Y. */
START_TEST(grey_scale_agrees_with_the_chart_of_1976)
{
  struct card_list chart;

  open_list("grey6");
  ck_assert_msg(card_list_open("chart24-1976", &chart, &error), "%s", error.text);
  for (size_t p = 0; p < 6; p++) {
    struct lab grey = list.card[0].patch[p].lab_d50, row = chart.card[0].patch[18 + p].lab_d50;
    ck_assert_msg(colour_de00(grey, row) < SAME_GREY, "%s: %.3f", list.card[0].patch[p].name,
                  colour_de00(grey, row));
    ck_assert(list.card[0].patch[p].grey);
  }
  card_list_clear(&chart);
  close_list();
}
END_TEST

START_TEST(corners_of_a_single_row_are_its_outer_corners)
{
  static const struct card_place place[4] = {{0, 0}, {120, 0}, {120, 20}, {0, 20}};

  open_list("grey6");
  for (int k = 0; k < 4; k++) {
    ck_assert_double_eq(list.card[0].corner_place[k].x_mm, place[k].x_mm);
    ck_assert_double_eq(list.card[0].corner_place[k].y_mm, place[k].y_mm);
  }
  close_list();
}
END_TEST

START_TEST(builtin_list_holds_all)
{
  ck_assert_msg(card_list_builtin(&list, &error), "%s", error.text);
  ck_assert_uint_eq(list.count, EDITIONS + 1);
  ck_assert_str_eq(list.card[EDITIONS].name, "grey6");
  close_list();
}
END_TEST

/* Little-CMS as a second reader of the same text. */
START_TEST(little_cms_reads_the_same_cells)
{
  char path[512];
  struct file_bytes bytes;

  snprintf(path, sizeof path, "%s/calibration/cards/%s.txt", TAWNY_SOURCE_ROOT, EDITION[_i]);
  ck_assert_msg(file_read(path, 1 << 20, &bytes, &error), "%s", error.text);
  cmsHANDLE it8 = cmsIT8LoadFromMem(NULL, bytes.data, (cmsUInt32Number)bytes.size);
  ck_assert_ptr_nonnull(it8);
  open_list(EDITION[_i]);
  for (int p = 0; p < 24; p++) {
    const struct card_patch *patch = &list.card[0].patch[p];
    ck_assert_str_eq(cmsIT8GetDataRowCol(it8, p, 1), patch->name);
    ck_assert_double_eq(cmsIT8GetDataRowColDbl(it8, p, 2), patch->x_mm);
    ck_assert_double_eq(cmsIT8GetDataRowColDbl(it8, p, 3), patch->y_mm);
    ck_assert_double_eq(cmsIT8GetDataRowColDbl(it8, p, 9), patch->tolerance);
    if (strcmp(EDITION[_i], "chart24-1976") != 0) {
      ck_assert_double_eq(cmsIT8GetDataRowColDbl(it8, p, 6), patch->lab_d50.L);
      ck_assert_double_eq(cmsIT8GetDataRowColDbl(it8, p, 7), patch->lab_d50.a);
      ck_assert_double_eq(cmsIT8GetDataRowColDbl(it8, p, 8), patch->lab_d50.b);
    }
  }
  ck_assert_str_eq(cmsIT8GetProperty(it8, "CARD_CORNERS"), "1 6 24 19");
  ck_assert_str_eq(cmsIT8GetProperty(it8, "DESCRIPTOR"), list.card[0].title);
  cmsIT8Free(it8);
  close_list();
  file_bytes_clear(&bytes);
}
END_TEST

static void parse(const char *text, struct card_reference *card)
{
  ck_assert_msg(card_reference_parse(text, strlen(text), "inline", card, &error), "%s", error.text);
}

#define HEAD "CGATS.17\nDESCRIPTOR 'Two'\nCARD_SOURCE none\nCARD_SURFACE glossy\nCARD_CORNERS \"1 2 2 1\"\n"
#define PLACES "SAMPLE_ID X_MM Y_MM WIDTH_MM HEIGHT_MM "

/* One colour in every kind of column. 5YR 6/6 under C by the renotation; the others from our own formulas. */
START_TEST(kinds_of_colour_agree)
{
  struct card_reference lab, xyz, xyy;

  parse(HEAD "WEIGHTING_FUNCTION \"ILLUMINANT, C\"\nBEGIN_DATA_FORMAT\n" PLACES
             "XYY_X XYY_Y XYY_CAPY\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n"
             "1 0 0 2 2 0.31006 0.31616 90\n2 3 0 2 2 0.4 0.36 30\nEND_DATA\n",
        &xyy);
  parse(HEAD "WEIGHTING_FUNCTION \"ILLUMINANT, C\"\nBEGIN_DATA_FORMAT\n" PLACES
             "XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n"
             "1 0 0 2 2 88.2635374494 90 106.4024544534\n2 3 0 2 2 33.3333333333 30 20\nEND_DATA\n",
        &xyz);
  parse(HEAD "BEGIN_DATA_FORMAT\n" PLACES "LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n"
             "1 0 0 2 2 95.99676861 0 0\n2 3 0 2 2 61.654222 0 0\nEND_DATA\n",
        &lab);
  for (int p = 0; p < 2; p++) {
    ck_assert_double_lt(colour_de00(xyz.patch[p].lab_d50, xyy.patch[p].lab_d50), 1e-6);
  }
  ck_assert_double_lt(colour_de00(xyz.patch[0].lab_d50, lab.patch[0].lab_d50), 1e-6);
  ck_assert_double_eq(lab.patch[0].tolerance, CARD_TOLERANCE_DEFAULT);
  ck_assert(!lab.matt);
  ck_assert_str_eq(lab.layout, "inline");
  ck_assert_str_eq(lab.patch[0].name, "1");
  card_reference_clear(&lab);
  card_reference_clear(&xyz);
  card_reference_clear(&xyy);
}
END_TEST

START_TEST(a_card_may_say_that_its_sizes_are_proportions)
{
  static const char table[] =
      "BEGIN_DATA_FORMAT\n" PLACES "LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n"
      "1 0 0 2 2 90 0 0\n2 3 0 2 2 60 0 0\nEND_DATA\n";
  static const char *const keyword[3] = {"", "CARD_SCALE \"true\"\n", "CARD_SCALE \"none\"\n"};
  struct card_reference card;
  char text[1000];

  snprintf(text, sizeof text, HEAD "%s%s", keyword[_i], table);
  parse(text, &card);
  ck_assert_int_eq(card.sized, _i < 2);
  card_reference_clear(&card);
}
END_TEST

static void add_flat_spectra(struct text *text, int first, int last, int step)
{
  text_add(text, HEAD "BEGIN_DATA_FORMAT\n" PLACES);
  for (int nm = first; nm <= last; nm += step) {
    text_format(text, "SPECTRAL_NM%d ", nm);
  }
  text_add(text, "\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n");
  for (int p = 0; p < 2; p++) {
    text_format(text, "%d %d 0 2 2 ", p + 1, 3 * p);
    for (int nm = first; nm <= last; nm += step) {
      text_format(text, "%.6f ", p ? 0.2 : 1.0);
    }
    text_add(text, "\n");
  }
  text_add(text, "END_DATA\n");
}

/* A flat reflectance has the lightness of its factor and no chroma, whatever the steps. */
START_TEST(flat_spectra_are_grey)
{
  static const int range[][3] = {{380, 780, 5}, {400, 700, 20}, {390, 730, 10}, {350, 800, 1}};
  struct text text = {0};
  struct card_reference card;

  add_flat_spectra(&text, range[_i][0], range[_i][1], range[_i][2]);
  parse(text.data, &card);
  ck_assert_double_lt(colour_de00(card.patch[0].lab_d50, (struct lab){100, 0, 0}), 0.02);
  ck_assert_double_lt(colour_de00(card.patch[1].lab_d50, (struct lab){51.8372, 0, 0}), 0.02);
  card_reference_clear(&card);
  text_clear(&text);
}
END_TEST

/* The chart of Ohta 1997 from its reflectances, by every second and every fourth band too. */
START_TEST(spectra_of_ohta_give_the_published_lab)
{
  static const struct {
    int step;
    double within;
  } spacing[] = {{1, 0.06}, {2, 0.08}, {4, 0.35}}; /* 5 nm (sums by other code), 10 and 20 nm */
  int step = spacing[_i].step;
  char path[512];
  struct spectra spectra;
  struct text text = {0};
  struct card_reference card;

  if (!shared_path("spectra/chart24_ohta1997.csv", path, sizeof path)) {
    puts("skipped: no shared spectra");
    return;
  }
  ck_assert_msg(spectra_read(path, 1, &spectra, &error), "%s", error.text);
  ck_assert_uint_eq(spectra.count, 24);
  open_list("chart24-ohta");
  text_add(&text, "CGATS.17\nDESCRIPTOR x\nCARD_SOURCE x\nCARD_SURFACE matt\nCARD_CORNERS \"0 23 23 "
                  "0\"\nBEGIN_DATA_FORMAT\n" PLACES);
  for (int i = 0; i < SPECTRUM_BANDS; i += step) {
    text_format(&text, "SPECTRAL_NM%d ", 380 + 5 * i);
  }
  text_add(&text, "\nEND_DATA_FORMAT\nNUMBER_OF_SETS 24\nBEGIN_DATA\n");
  for (int p = 0; p < 24; p++) {
    text_format(&text, "%d %d 0 2 2 ", p, 3 * p);
    for (int i = 0; i < SPECTRUM_BANDS; i += step) {
      text_format(&text, "%.6f ", spectra.spectrum[p].band[i]);
    }
    text_add(&text, "\n");
  }
  text_add(&text, "END_DATA\n");
  parse(text.data, &card);
  for (int p = 0; p < 24; p++) {
    double de = colour_de00(card.patch[p].lab_d50, list.card[0].patch[p].lab_d50);
    ck_assert_msg(de < spacing[_i].within, "%s: %.3f at %d nm", list.card[0].patch[p].name, de, 5 * step);
  }
  card_reference_clear(&card);
  text_clear(&text);
  spectra_clear(&spectra);
  close_list();
}
END_TEST

START_TEST(a_file_of_chips_opens_by_its_path)
{
  open_list(TAWNY_SOURCE_ROOT "/samples/cards/chips-example.txt");
  ck_assert_uint_eq(list.count, 1);
  ck_assert_uint_eq(list.card[0].count, 8);
  ck_assert_str_eq(list.card[0].name, "chips-example.txt");
  ck_assert_str_eq(list.card[0].patch[2].name, "10YR 4/3");
  ck_assert(!list.card[0].patch[2].grey);
  close_list();
}
END_TEST

START_TEST(unknown_card_lists_the_known_ones)
{
  ck_assert(!card_list_open("chart42", &list, &error));
  ck_assert(error.kind == ERROR_USAGE);
  ck_assert_str_eq(error.code, "unknown-card");
  ck_assert_ptr_nonnull(strstr(error.text, "chart24"));
  ck_assert_ptr_nonnull(strstr(error.text, "grey6"));
  ck_assert(!card_list_open("missing/card.txt", &list, &error));
  ck_assert(error.kind == ERROR_FILE);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("card/reference");
  TCase *cases = tcase_create("reference");

  tcase_add_test(cases, layout_opens_every_edition_in_order);
  tcase_add_test(cases, editions_share_names_and_geometry);
  tcase_add_test(cases, corners_are_dark_skin_bluish_green_black_white);
  tcase_add_test(cases, the_last_row_is_grey_and_no_other_patch);
  tcase_add_test(cases, published_sets_agree_within_what_is_known);
  tcase_add_test(cases, names_in_any_case);
  tcase_add_test(cases, grey_scale_agrees_with_the_chart_of_1976);
  tcase_add_test(cases, corners_of_a_single_row_are_its_outer_corners);
  tcase_add_test(cases, builtin_list_holds_all);
  tcase_add_loop_test(cases, little_cms_reads_the_same_cells, 0, EDITIONS);
  tcase_add_test(cases, kinds_of_colour_agree);
  tcase_add_loop_test(cases, a_card_may_say_that_its_sizes_are_proportions, 0, 3);
  tcase_add_loop_test(cases, flat_spectra_are_grey, 0, 4);
  tcase_add_loop_test(cases, spectra_of_ohta_give_the_published_lab, 0, 3);
  tcase_add_test(cases, a_file_of_chips_opens_by_its_path);
  tcase_add_test(cases, unknown_card_lists_the_known_ones);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
