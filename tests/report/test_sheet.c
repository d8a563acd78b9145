/* SPDX-License-Identifier: MIT */
/* What people read: the lines for the sheet come first and exactly so; everything that matters is said somewhere. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "random.h"
#include "report/edge.h"
#include "report/figures.h"
#include "report/sheet.h"
#include "sample.h"
#include "suite.h"

static char *sheet_of(const struct sample *sample, struct sheet_style style)
{
  struct text text = {0};

  report_sheet(&sample->measurement, sample->pair, sample->measurement.readings ? SAMPLE_PAIRS : 0,
               &sample->mottles, style, &text);
  ck_assert(!text.failed && text.data);
  return text.data;
}

static char *plain_sheet(const struct sample *sample)
{
  return sheet_of(sample, (struct sheet_style){false, false});
}

static void expect_start(const struct sample *sample, const char *start)
{
  char *sheet = plain_sheet(sample);

  ck_assert_msg(strncmp(sheet, start, strlen(start)) == 0, "expected\n%s\ngot\n%.*s", start,
                (int)strlen(start), sheet);
  free(sheet);
}

static void expect_inside(char *sheet, const char *words)
{
  ck_assert_msg(strstr(sheet, words) != NULL, "\"%s\" is not in\n%s", words, sheet);
}

START_TEST(lines_for_the_sheet_come_first)
{
  struct sample sample;

  sample_make(&sample);
  expect_start(&sample, "1042 moist: 10YR 3/3 dark brown; distinct from 1043, faint against 1044 (dry)\n"
                        "1043 moist: 10YR 5/4 yellowish brown; distinct from 1042\n"
                        "1044 dry: N 5/ gray; faint against 1042 (moist)\n"
                        "1045: not measured: the outline leaves the photo; draw it inside\n"
                        "\n");
}
END_TEST

START_TEST(neighbours_not_told_apart_are_called_so)
{
  struct sample sample;

  sample_make(&sample);
  sample.pair[0].apart = false;
  expect_start(
      &sample,
      "1042 moist: 10YR 3/3 dark brown; not told apart from 1043 by this photo, faint against 1044 (dry)\n");
}
END_TEST

START_TEST(an_unstated_state_is_said)
{
  struct sample sample;

  sample_make(&sample);
  sample.region[0].moisture = MOISTURE_UNSTATED;
  sample.pair[0].contrast = CONTRAST_PROMINENT;
  sample.pair[0].same_moisture = sample.pair[1].same_moisture = -1;
  expect_start(&sample,
               "1042, state not given: 10YR 3/3 dark brown; prominent against 1043, faint against 1044\n");
}
END_TEST

START_TEST(names_off_the_chart_are_marked)
{
  struct sample sample;

  sample_make(&sample);
  sample.reading[1].chip_de00 = 12;
  char *sheet = plain_sheet(&sample);
  expect_inside(sheet, "1043 moist: 10YR 5/4 yellowish brown (nearest chip; off the soil charts); distinct");
  free(sheet);
}
END_TEST

START_TEST(regions_of_one_context_are_told_apart_by_their_label)
{
  struct sample sample;

  sample_make(&sample);
  snprintf(sample.region[0].label, sizeof sample.region[0].label, "upper");
  snprintf(sample.region[1].context, sizeof sample.region[1].context, "1042");
  expect_start(&sample, "1042 (upper) moist: 10YR 3/3 dark brown; distinct from 1042 (1043),");
}
END_TEST

START_TEST(one_context_is_told_once_if_the_same_is_true_of_its_regions)
{
  struct sample sample;

  sample_make(&sample);
  snprintf(sample.region[2].context, sizeof sample.region[2].context, "1043");
  sample.region[2].moisture = MOISTURE_MOIST;
  sample.pair[1].contrast = CONTRAST_DISTINCT;
  sample.pair[1].same_moisture = 1;
  expect_start(&sample, "1042 moist: 10YR 3/3 dark brown; distinct from 1043\n"
                        "1043 (1043) moist: 10YR 5/4 yellowish brown; distinct from 1042\n"
                        "1043 (1044) moist: N 5/ gray; distinct from 1042\n");
}
END_TEST

START_TEST(a_fill_is_told_against_what_surrounds_it)
{
  struct sample sample;

  sample_make(&sample);
  sample.pair[0].touching = sample.pair[1].touching = false;
  expect_start(&sample, "1042 moist: 10YR 3/3 dark brown; distinct from 1043\n"
                        "1043 moist: 10YR 5/4 yellowish brown; distinct from 1042\n"
                        "1044 dry: N 5/ gray\n");
}
END_TEST

/* Colours half a step or less of hue, value and chroma from a chip of the brown charts, where steps are as on the charts: 2.5 of
 * hue, 1 of value (half of that below 3), 1 of chroma (2 from 4 on). */
START_TEST(colours_between_chips_are_on_the_chart)
{
  struct random random = random_start(19430601);

  for (size_t i = 0; i < munsell_soil_chip_count(); i++) {
    struct munsell chip = munsell_soil_chip(i)->colour;
    for (int k = 0; k < 20 && chip.chroma > 0 && chip.hue > 9 && chip.hue < 30.1; k++) {
      struct munsell m = {chip.hue + random_between(&random, -1.25, 1.25),
                          chip.value + random_between(&random, -0.5, 0.5) * (chip.value < 3 ? 0.5 : 1),
                          chip.chroma + random_between(&random, -0.5, 0.5) * (chip.chroma < 4 ? 1 : 2)};
      double de00;
      munsell_nearest_soil_chip(colour_lab_from_xyz(colour_xyz_from_xyY(munsell_to_xyY(m)), COLOUR_WHITE_C),
                                &de00);
      ck_assert_msg(de00 < SHEET_OFF_CHART, "%.2f %.2f/%.2f is %.2f off (seed 19430601)", m.hue, m.value,
                    m.chroma, de00);
    }
  }
}
END_TEST

START_TEST(chances_are_not_called_certain)
{
  static const struct {
    double share;
    const char *text;
  } row[] = {{0, "<1 %"},    {0.002, "<1 %"}, {3 / 600.0, "<1 %"}, {0.006, "1 %"},
             {0.71, "71 %"}, {0.994, "99 %"}, {0.998, ">99 %"},    {1, ">99 %"}};
  struct text text = {0};

  figures_percent(&text, row[_i].share);
  ck_assert_str_eq(text.data, row[_i].text);
  text_clear(&text);
}
END_TEST

START_TEST(sherds_are_named_by_find_and_zone)
{
  struct sample sample;

  sample_make(&sample);
  snprintf(sample.region[0].find, sizeof sample.region[0].find, "17");
  snprintf(sample.region[0].zone, sizeof sample.region[0].zone, "core");
  snprintf(sample.region[1].find, sizeof sample.region[1].find, "18");
  sample.region[1].context[0] = '\0';
  expect_start(&sample, "1042 find 17 core moist: 10YR 3/3 dark brown; distinct from find 18,");
}
END_TEST

START_TEST(regions_without_context_go_by_their_label)
{
  struct sample sample;

  sample_make(&sample);
  sample.region[0].context[0] = '\0';
  snprintf(sample.region[0].label, sizeof sample.region[0].label, "pit\x1b fill");
  expect_start(&sample, "pit? fill moist: 10YR 3/3 dark brown;");
}
END_TEST

/* Everything else that is promised. */
static const char *const SAID[] = {
    "9.1YR 3.2/2.8", /* measured, with decimals             */
    "\xC2\xB1"
    "0.6",                   /* its spread                          */
    "71 %",                  /* chance of the chip                  */
    "1.9",                   /* distance to the chip                */
    "10YR 5/4    18 %",      /* the runner-up                       */
    "50.0  0.0   0.1",       /* no minus before a zero */
    "31.6  6.1  14.9",       /* L*a*b*                              */
    "D50, 2 degree",         /* of which white and observer         */
    "+8 %",                  /* light                               */
    "glint 2 %, specks 3 %", /* left out, and why                   */
    "18.2  \xC2\xB1"
    "1.5  distinct, touching",             /* differences                       */
    "not told apart by this photo",        /* where zero is inside                */
    "faint, touching, moist against dry",  /* states named                        */
    "2 of 3 patches used; clipped: white", /* the card                            */
    "chart24-1976",
    "1 patch is clipped; expose less", /* warnings                            */
    "section.jpg: doubtful for 2 causes named above\n",
};

START_TEST(everything_is_said)
{
  struct sample sample;

  sample_make(&sample);
  char *sheet = plain_sheet(&sample);
  expect_inside(sheet, SAID[_i]);
  free(sheet);
}
END_TEST

START_TEST(lines_fit_a_terminal)
{
  struct sample sample;

  sample_make(&sample);
  char *sheet = sheet_of(&sample, (struct sheet_style){.explain = true});
  size_t width = 0;
  for (const char *c = sheet; *c; c++) {
    width = *c == '\n' ? 0 : width + ((*c & 0xC0) != 0x80);
    ck_assert_msg(width <= 100, "a line is wider than 100 columns:\n%s", sheet);
  }
  free(sheet);
}
END_TEST

START_TEST(swatches_only_in_colour)
{
  struct sample sample;

  sample_make(&sample);
  char *plain = plain_sheet(&sample), *colour = sheet_of(&sample, (struct sheet_style){.colour = true});
  ck_assert(strchr(plain, '\x1b') == NULL);
  expect_inside(colour, "\x1b[48;2;");
  expect_inside(colour,
                "1042 moist: 10YR 3/3 dark brown; distinct from 1043"); /* nothing to copy out of the line */
  ck_assert(strchr(colour, '\x1b') > strchr(colour, '\n'));
  free(plain);
  free(colour);
}
END_TEST

START_TEST(the_budget_is_explained)
{
  struct sample sample;

  sample_make(&sample);
  char *sheet = sheet_of(&sample, (struct sheet_style){.explain = true});
  expect_inside(sheet, "In general colour words: dark yellowish brown, by the ISCC-NBS system");
  expect_inside(sheet, "1042 is known to within 1.8 CIEDE2000 (95 %). Where that comes from:\n"
                       "  camera model from the card  80 %");
  expect_inside(sheet, "spread inside the region    20 %");
  expect_inside(sheet, "To do better: let the card fill more of the photo");
  free(sheet);
}
END_TEST

START_TEST(the_card_alone_is_said_to_be_read_alone)
{
  struct sample sample;

  sample_make(&sample);
  sample.measurement.readings = sample.measurement.caveats = 0;
  sample.measurement.verdict = VERDICT_SOUND;
  char *sheet = plain_sheet(&sample);
  expect_inside(sheet, "the card alone was read");
  expect_inside(sheet, "section.jpg: sound, no cause of doubt\n");
  free(sheet);
}
END_TEST

START_TEST(without_a_card_nothing_is_read)
{
  struct sample sample;

  sample_make(&sample);
  sample_without_card(&sample);
  char *sheet = plain_sheet(&sample);
  ck_assert_str_eq(sheet, "section.jpg: unfit, nothing is read\n");
  free(sheet);
}
END_TEST

START_TEST(no_region_measured_is_unfit)
{
  struct sample sample;

  sample_make(&sample);
  for (int i = 0; i < SAMPLE_REGIONS; i++) {
    sample.reading[i].measured = false;
  }
  sample.measurement.verdict = VERDICT_UNFIT;
  char *sheet = plain_sheet(&sample);
  expect_inside(sheet, "section.jpg: unfit, no region could be read\n");
  free(sheet);
}
END_TEST

START_TEST(mixed_colours_in_words_of_the_trade)
{
  struct sample sample;

  sample_make(&sample);
  char *sheet = plain_sheet(&sample);
  ck_assert_ptr_null(strstr(sheet, "Mixed colours"));
  free(sheet);
  sample_mottle(&sample);
  sheet = plain_sheet(&sample);
  expect_inside(
      sheet,
      "\nMixed colours: share of the area (95 %), median size, contrast of the chips; stones wide enough\n"
      "to be a colour of their own can't be told from mottles\n"
      "  1042: 10YR 3/3 dark brown (72 %), with\n"
      "    many (23 %, 18 to 29) medium (4.1 mm, 3.5 to 4.9) prominent mottles 10YR 5/4 ");
  expect_inside(sheet,
                "CIEDE2000 18.2 ±1.5; FAO 2006: many, fine; lumps below 1.2 mm are not seen\n"
                "    common (5 %, 2 to 9) faint mottles N 5/ gray; CIEDE2000 9.0 ±2.0; FAO 2006: few; ");
  expect_inside(sheet, "no scale so far");
  free(sheet);
  sample.mottled.part[1].share.value = 0.45;
  sheet = plain_sheet(&sample);
  expect_inside(sheet, "prominent lumps 10YR 5/4");
  expect_inside(sheet, "FAO 2006: abundant");
  free(sheet);
}
END_TEST

START_TEST(of_many_pairs_only_those_that_touch_are_listed)
{
  struct sample sample;
  struct comparison many[100] = {{0}};
  struct text text = {0};

  sample_make(&sample);
  for (int i = 0; i < 100; i++) {
    many[i] = sample.pair[i == 0 ? 0 : 2];
  }
  report_sheet(&sample.measurement, many, 100, &sample.mottles, (struct sheet_style){false, false}, &text);
  expect_inside(text.data, "99 pairs that do not touch are not listed here");
  ck_assert(strstr(text.data, "not told apart by this photo") == NULL);
  text_clear(&text);
}
END_TEST

static const struct {
  enum verdict verdict;
  const char *start;
} CHECKED[] = {
    {VERDICT_SOUND, "section.jpg: sound: fit for measuring\n"},
    {VERDICT_DOUBTFUL, "section.jpg: doubtful: it can be measured, but better so:\n"
                       "- Doubt: 1 patch is clipped; expose less\n"},
    {VERDICT_UNFIT, "section.jpg: unfit: take it again\n- no card is in the photo; lay one on the face\n"}};

/* No size of the card, and a line that its plane's horizon cuts off, are two things. */
START_TEST(an_edge_without_mm_says_why)
{
  static const char *const said[2][3] = {
      {"pixels thick, no class, the card's file gives no true size", "the card's file says CARD_SCALE none",
       "\"refused\": \"the card's file gives no true size\""},
      {"pixels thick, no class, it reaches the horizon of the card's plane",
       "the line reaches the horizon of the card's plane. Draw",
       "\"refused\": \"it reaches the horizon of the card's plane\""}};
  struct edge edge = {.told = true, .length = 100, .place = {50, 49, 51}, .thick = {9, 8, 10}};
  struct edge_report report = {.line = &edge};
  struct sample sample;
  struct text text = {0};
  struct error error;

  sample_make(&sample);
  sample.measurement.card.sized = _i == 1;
  report_edge(&sample.measurement, &report, &text);
  ck_assert_msg(report_edge_json(&sample.measurement, &report, &text, &error), "%s", error.text);
  for (int k = 0; k < 3; k++) {
    expect_inside(text.data, said[_i][k]);
  }
  ck_assert_ptr_null(strstr(text.data, said[1 - _i][0]));
  ck_assert_ptr_null(strstr(text.data, "nan"));
  text_clear(&text);
}
END_TEST

START_TEST(check_says_what_to_do)
{
  struct sample sample;
  struct text text = {0};

  sample_make(&sample);
  sample.measurement.caveats = CHECKED[_i].verdict == VERDICT_DOUBTFUL ? 1 : 0;
  if (CHECKED[_i].verdict == VERDICT_UNFIT) {
    sample_without_card(&sample);
  }
  sample.measurement.verdict = CHECKED[_i].verdict;
  report_check(&sample.measurement, &text);
  ck_assert_msg(strncmp(text.data, CHECKED[_i].start, strlen(CHECKED[_i].start)) == 0, "%s", text.data);
  text_clear(&text);
}
END_TEST

START_TEST(check_says_how_card_and_light_are_seen)
{
  struct sample sample;
  struct text text = {0};

  sample_make(&sample);
  report_check(&sample.measurement, &text);
  expect_inside(
      text.data,
      "View: the card's patches are 48 pixels wide and lean 3 degrees; their codes run from 4 to 93 % "
      "of\n  the scale.");
  expect_inside(text.data, "Light: taken as even; the frame shows too little to go by.\n");
  sample.measurement.light.estimated = true; /* with no terms: 1 everywhere */
  text_clear(&text);
  report_check(&sample.measurement, &text);
  expect_inside(text.data, "Light: 1.00 to 1.00 of the card's over the frame");
  text_clear(&text);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("sheet");
  TCase *tcase = tcase_create("sheet");

  tcase_add_test(tcase, lines_for_the_sheet_come_first);
  tcase_add_test(tcase, neighbours_not_told_apart_are_called_so);
  tcase_add_test(tcase, an_unstated_state_is_said);
  tcase_add_test(tcase, names_off_the_chart_are_marked);
  tcase_add_test(tcase, regions_of_one_context_are_told_apart_by_their_label);
  tcase_add_test(tcase, one_context_is_told_once_if_the_same_is_true_of_its_regions);
  tcase_add_test(tcase, a_fill_is_told_against_what_surrounds_it);
  tcase_add_test(tcase, colours_between_chips_are_on_the_chart);
  tcase_add_loop_test(tcase, chances_are_not_called_certain, 0, 8);
  tcase_add_test(tcase, sherds_are_named_by_find_and_zone);
  tcase_add_test(tcase, regions_without_context_go_by_their_label);
  tcase_add_loop_test(tcase, everything_is_said, 0, (int)(sizeof SAID / sizeof *SAID));
  tcase_add_test(tcase, lines_fit_a_terminal);
  tcase_add_test(tcase, swatches_only_in_colour);
  tcase_add_test(tcase, the_budget_is_explained);
  tcase_add_test(tcase, the_card_alone_is_said_to_be_read_alone);
  tcase_add_test(tcase, without_a_card_nothing_is_read);
  tcase_add_test(tcase, no_region_measured_is_unfit);
  tcase_add_test(tcase, mixed_colours_in_words_of_the_trade);
  tcase_add_test(tcase, of_many_pairs_only_those_that_touch_are_listed);
  tcase_add_test(tcase, check_says_how_card_and_light_are_seen);
  tcase_add_loop_test(tcase, an_edge_without_mm_says_why, 0, 2);
  tcase_add_loop_test(tcase, check_says_what_to_do, 0, 3);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
