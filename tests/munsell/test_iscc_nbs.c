/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <string.h>

#include "csv.h"
#include "munsell/notation.h"
#include "munsell/tables.h"
#include "random.h"
#include "suite.h"

enum { RUNS = 20000, SEED = 440, NAMES = 267 };

/* Each name's central notation (Kelly 1958) lies in a block of that name. */
START_TEST(centre_has_its_name)
{
  struct csv names;
  struct error error;
  struct munsell m;

  ck_assert_msg(csv_read(TAWNY_SOURCE_ROOT "/calibration/munsell/iscc_nbs_names.csv", &names, &error), "%s",
                error.text);
  ck_assert_uint_eq(names.rows, NAMES);
  ck_assert_msg(munsell_parse(names.cells[_i][2], &m, &error), "%s", error.text);
  ck_assert_msg(strcmp(munsell_iscc_nbs_name(m), names.cells[_i][1]) == 0, "%s is %s, not %s",
                names.cells[_i][2], munsell_iscc_nbs_name(m), names.cells[_i][1]);
  csv_clear(&names);
}
END_TEST

static bool holds(const struct iscc_nbs_block *block, double hue, double value, double chroma)
{
  bool turned = hue + 100 >= block->low[0] && hue + 100 < block->high[0];

  return (turned || (hue >= block->low[0] && hue < block->high[0])) && value >= block->low[1] &&
         value < block->high[1] && chroma >= block->low[2] && chroma < block->high[2];
}

/* Half of the colours on the corners of blocks, where two could claim them. */
START_TEST(blocks_fill_the_space_once)
{
  struct random random = random_start(SEED);

  for (int i = 0; i < RUNS; i++) {
    double hue = random_between(&random, 1, 101), value = random_between(&random, 0, 10);
    double chroma = random_between(&random, 0, 30);
    int owners = 0;
    if (i % 2) {
      hue = floor(hue), value = floor(2 * value) / 2, chroma = floor(2 * chroma) / 2;
    }
    for (size_t k = 0; k < ISCC_NBS_BLOCK_COUNT; k++) {
      owners += holds(&ISCC_NBS_BLOCKS[k], hue, value, chroma);
    }
    ck_assert_msg(owners == 1, "%.6f %.6f %.6f is in %d blocks", hue, value, chroma, owners);
  }
}
END_TEST

START_TEST(ends)
{
  ck_assert_str_eq(munsell_iscc_nbs_name((struct munsell){0, 10, 0}), "white");
  ck_assert_str_eq(munsell_iscc_nbs_name((struct munsell){0, 0, 0}), "black");
  ck_assert_str_eq(munsell_iscc_nbs_name((struct munsell){10, 3.5, 4}), "moderate reddish brown");
  ck_assert_str_eq(munsell_iscc_nbs_name((struct munsell){110, 3.5, 4}), "moderate reddish brown");
  ck_assert_str_eq(munsell_iscc_nbs_name((struct munsell){5, 4, INFINITY}), "vivid red");
  ck_assert_str_eq(munsell_iscc_nbs_name((struct munsell){NAN, 11, NAN}), "white");
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("munsell iscc nbs");
  TCase *tcase = tcase_create("names");

  tcase_add_loop_test(tcase, centre_has_its_name, 0, NAMES);
  tcase_add_test(tcase, blocks_fill_the_space_once);
  tcase_add_test(tcase, ends);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
