/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <string.h>

#include "munsell/notation.h"
#include "random.h"
#include "suite.h"

enum { RUNS = 5000, SEED = 1905 };

/* What people write, and what is meant. */
static const struct {
  const char *text;
  struct munsell meant;
} READ[] = {
    {"10YR 4/3", {20, 4, 3}},
    {"7.9YR 4.25/3.4", {17.9, 4.25, 3.4}},
    {"10yr4/3", {20, 4, 3}},
    {"10YR4/3", {20, 4, 3}},
    {" \t10 YR 4 / 3\t ", {20, 4, 3}},
    {"0YR 3/2", {10, 3, 2}},
    {"0R 3/2", {100, 3, 2}},
    {"10RP 3/2", {100, 3, 2}},
    {".5R 3/2", {0.5, 3, 2}},
    {"2.5Y 8.5/0.5", {22.5, 8.5, 0.5}},
    {"5GY 6/1", {35, 6, 1}},
    {"5G 6/1", {45, 6, 1}},
    {"5BG 6/1", {55, 6, 1}},
    {"5B 6/1", {65, 6, 1}},
    {"5PB 6/1", {75, 6, 1}},
    {"5P 6/1", {85, 6, 1}},
    {"5RP 6/1", {95, 6, 1}},
    {"10R 2.5/1.", {10, 2.5, 1}},
    {"N 5/", {0, 5, 0}},
    {"N5/", {0, 5, 0}},
    {"N5/0", {0, 5, 0}},
    {"n 2.5/0.0", {0, 2.5, 0}},
    {"N 10/", {0, 10, 0}},
    {"7.5YR 2/0", {0, 2, 0}},
    {"5R 0/50", {5, 0, 50}},
};

START_TEST(reads)
{
  struct munsell m = {-1, -1, -1};
  struct error error;

  ck_assert_msg(munsell_parse(READ[_i].text, &m, &error), "%s", error.text);
  ck_assert_msg(m.hue == READ[_i].meant.hue && m.value == READ[_i].meant.value &&
                    m.chroma == READ[_i].meant.chroma,
                "'%s' is read as %.17g %.17g %.17g", READ[_i].text, m.hue, m.value, m.chroma);
}
END_TEST

static const char *const HUE = "it must begin with a hue from 0 to 10 such as 7.5YR, or with N";
static const char *const FAMILY = "after the number must stand R, YR, Y, GY, G, BG, B, PB, P or RP";
static const char *const VALUE = "after the hue must stand a value from 0 to 10, as in 10YR 4/3";
static const char *const SLASH = "after the value must stand a slash, as in 10YR 4/3 or N 5/";
static const char *const CHROMA = "after the slash must stand a chroma from 0 to 50, as in 10YR 4/3";

/* What is no notation, and which part is wrong. */
static const struct {
  const char *text;
  const char *const *said;
} REFUSED[] = {
    {"YR 4/3", &HUE},       {"12YR 4/3", &HUE},     {"-1YR 4/3", &HUE},     {"brown", &HUE},
    {"10.1YR 4/3", &HUE},   {"1.2.3YR 4/3", &HUE},  {".YR 4/3", &HUE},      {"1e1YR 4/3", &FAMILY},
    {"10 4/3", &FAMILY},    {"10", &FAMILY},        {"10X 4/3", &FAMILY},   {"7,5YR 4/3", &FAMILY},
    {"10YR", &VALUE},       {"10YR /3", &VALUE},    {"10YR 11/3", &VALUE},  {"10YR -4/3", &VALUE},
    {"10YRR 4/3", &VALUE},  {"10GB 4/3", &VALUE},   {"N", &VALUE},          {"N /", &VALUE},
    {"N 11/", &VALUE},      {"10YR nan/3", &VALUE}, {"10YR 4", &SLASH},     {"10YR 4 3", &SLASH},
    {"10YR 4:3", &SLASH},   {"N 5", &SLASH},        {"10YR 4e0/3", &SLASH}, {"10YR 4/", &CHROMA},
    {"10YR 4/51", &CHROMA}, {"10YR 4/-3", &CHROMA}, {"10YR 4/x", &CHROMA},
};

START_TEST(refuses)
{
  struct munsell m = {-1, -1, -1};
  struct error error = {ERROR_NONE, "", ""};

  ck_assert_msg(!munsell_parse(REFUSED[_i].text, &m, &error), "'%s' is read", REFUSED[_i].text);
  ck_assert_int_eq(error.kind, ERROR_USAGE);
  ck_assert_str_eq(error.code, "notation");
  ck_assert_msg(strstr(error.text, *REFUSED[_i].said), "'%s': %s", REFUSED[_i].text, error.text);
  ck_assert_double_eq(m.hue, -1);
}
END_TEST

START_TEST(refuses_the_rest)
{
  struct munsell m;
  struct error error;

  ck_assert(!munsell_parse("  ", &m, &error));
  ck_assert_str_eq(error.text, "'  ' is no Munsell notation: nothing is there; write 10YR 4/3 or N 5/");
  ck_assert(!munsell_parse("10YR 4/3 moist", &m, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "nothing may follow the chroma"));
  ck_assert(!munsell_parse("N 5/ x", &m, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "nothing may follow the chroma"));
  ck_assert(!munsell_parse("N5/1", &m, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "a neutral has no chroma"));
  ck_assert(!munsell_parse("10YR\xc3\xa9\x01 4/3", &m, &error));
  ck_assert_ptr_nonnull(strstr(error.text, "'10YR??? 4/3'"));
}
END_TEST

static const struct {
  struct munsell colour;
  int decimals;
  const char *text;
} WRITTEN[] = {
    {{18.1, 4.2, 3.3}, 1, "8.1YR 4.2/3.3"},
    {{20, 4, 3}, 0, "10YR 4/3"},
    {{20, 4, 3}, 2, "10.00YR 4.00/3.00"},
    {{20.004, 4, 3}, 2, "10.00YR 4.00/3.00"},
    {{20.005, 4, 3}, 2, "0.01Y 4.00/3.00"},
    {{19.996, 4, 3}, 2, "10.00YR 4.00/3.00"},
    {{0.001, 4, 3}, 1, "10.0RP 4.0/3.0"},
    {{99.99, 4, 3}, 1, "10.0RP 4.0/3.0"},
    {{100, 4, 3}, 1, "10.0RP 4.0/3.0"},
    {{0.1, 4, 3}, 1, "0.1R 4.0/3.0"},
    {{55, 9.96, 12.34}, 1, "5.0BG 10.0/12.3"},
    {{0, 5.1, 0}, 1, "N 5.1/"},
    {{20, 5.1, 0.049}, 1, "N 5.1/"},
    {{20, 5.1, 0.05}, 1, "10.0YR 5.1/0.1"},
    {{73.21, 5.123456789, 1}, 8, "3.21000000PB 5.12345679/1.00000000"},
    {{99.99999999, 10, 1e300}, 8, "9.99999999RP 10.00000000/999.00000000"},
    {{-INFINITY, NAN, INFINITY}, 2, "10.00RP 0.00/0.00"},
};

START_TEST(writes)
{
  char text[MUNSELL_NOTATION_SIZE];

  munsell_format(WRITTEN[_i].colour, WRITTEN[_i].decimals, text);
  ck_assert_str_eq(text, WRITTEN[_i].text);
}
END_TEST

/* What is written is read back to within half a last place. */
START_TEST(writes_what_it_reads)
{
  struct random random = random_start(SEED + (uint64_t)_i);
  double half = 0.5 * pow(10, -_i) + 1e-12;

  for (int i = 0; i < RUNS; i++) {
    double hue = random_between(&random, 0, 100), value = random_between(&random, 0, 10);
    struct munsell m = {hue, value, random_between(&random, 0.5, 49)}, back;
    char text[MUNSELL_NOTATION_SIZE];
    struct error error;
    munsell_format(m, _i, text);
    ck_assert_msg(munsell_parse(text, &back, &error), "%s", error.text);
    ck_assert_msg(back.chroma == 0 ||
                      (fabs(remainder(back.hue - m.hue, 100)) <= half && fabs(back.value - m.value) <= half &&
                       fabs(back.chroma - m.chroma) <= half),
                  "%.9f %.9f %.9f is written %s", m.hue, m.value, m.chroma, text);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("munsell notation");
  TCase *tcase = tcase_create("notation");

  tcase_add_loop_test(tcase, reads, 0, sizeof READ / sizeof *READ);
  tcase_add_loop_test(tcase, refuses, 0, sizeof REFUSED / sizeof *REFUSED);
  tcase_add_test(tcase, refuses_the_rest);
  tcase_add_loop_test(tcase, writes, 0, sizeof WRITTEN / sizeof *WRITTEN);
  tcase_add_loop_test(tcase, writes_what_it_reads, 0, 9);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
