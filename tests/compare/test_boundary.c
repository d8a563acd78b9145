/* SPDX-License-Identifier: MIT */
/* Touching regions along their boundary: the short form of what tests/accuracy/boundary_table.c counts, and what is refused. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "boundary_score.h"
#include "card/reference.h"
#include "region/outline.h"
#include "render.h"
#include "suite.h"

/* Tuning seeds; the long form is docs/accuracy.md's. Of 100 field scenes 90 at least have to be told apart where the deposits are 2.0
 * apart, and 10 at most where they are one: of 6, chance leaves 3 or fewer told apart in 1 of 60 such runs, and 3 or more falsely in 1 of
 * 60. */
enum { FIRST = 1, SCENES = 6, TOLD_LEAST = 4, FALSE_MOST = 2 };

static char path[] = "/tmp/test-boundary-XXXXXX";

static size_t count_apart(double apart)
{
  static struct spectra_source source;
  struct error error;
  size_t told = 0;

  ck_assert_msg(source_made(&source, &error), "%s", error.text);
  for (uint64_t seed = FIRST; seed < FIRST + SCENES; seed++) {
    struct boundary_score score;
    ck_assert_msg(boundary_score_scene(seed, apart, &source, path, &score, &error), "seed %d: %s", (int)seed,
                  error.text);
    ck_assert_msg(score.compared, "seed %d: not compared", (int)seed);
    told += score.boundary.apart;
  }
  source_clear(&source);
  return told;
}

START_TEST(two_deposits_2_apart_are_told_apart)
{
  ck_assert_uint_ge(count_apart(2), TOLD_LEAST);
}
END_TEST

START_TEST(two_halves_of_one_deposit_are_not)
{
  ck_assert_uint_le(count_apart(0), FALSE_MOST);
}
END_TEST

/* The chart before a plain wall in even light, and regions of it. */
static void measure_wall(const double (*rectangle)[4], struct region region[2], struct card_list *cards,
                         struct measurement *m)
{
  static struct spectra_source source;
  static struct scene scene;
  struct file_bytes file;
  struct error error;
  struct region_list list = {region, 2};
  struct measure_options options = {.cards = cards, .regions = &list};

  ck_assert(source_made(&source, &error));
  scene_plain(&scene, 720, 540, 4);
  scene_card_chart24(&scene, source.chart[0], 0);
  scene.card.centre = (struct point){230, 150};
  scene.card.mm_per_pixel = 0.9;
  scene.deposit[0].texture.size = 0.1;
  source_clear(&source);
  ck_assert(render_file(&scene, &file, &error) && file_write(path, file.data, file.size, &error));
  file_bytes_clear(&file);
  for (int k = 0; k < 2; k++) {
    snprintf(region[k].label, sizeof region[k].label, "%d", k);
    ck_assert(outline_rectangle(&region[k], rectangle[k][0], rectangle[k][1], rectangle[k][2],
                                rectangle[k][3], &error));
  }
  ck_assert(card_list_open("chart24", cards, &error));
  ck_assert_msg(measure_photo(path, &options, m, &error), "%s", error.text);
  ck_assert(m->card_found && m->reading[0].measured && m->reading[1].measured);
}

static struct boundary compare_wall(const double (*rectangle)[4])
{
  struct region region[2] = {0};
  struct card_list cards = {0};
  struct measurement m;
  struct boundary boundary;
  struct error error;

  measure_wall(rectangle, region, &cards, &m);
  ck_assert(boundary_compare(&m, 0, 1, &boundary, &error));
  measurement_clear(&m);
  card_list_clear(&cards);
  region_clear(&region[0]);
  region_clear(&region[1]);
  return boundary;
}

START_TEST(bands_lie_where_they_should)
{
  static const double side[2][4] = {{100, 320, 120, 150}, {220, 320, 120, 150}};
  struct boundary boundary = compare_wall(side);

  ck_assert_msg(boundary.compared, "%s", boundary.error.text);
  ck_assert(boundary.overlap < 1e-9);
  ck_assert(boundary.gap >= 2 && boundary.width >= 8 && boundary.width < 60);
  for (int k = 0; k < 2; k++) { /* whole cells, 150 pixels high */
    double expected = boundary.width * 150;
    ck_assert_msg((double)boundary.pixels[k] > 0.8 * expected && (double)boundary.pixels[k] < 1.15 * expected,
                  "%zu pixels, not about %.0f", boundary.pixels[k], expected);
  }
  ck_assert(!boundary.difference.apart);
}
END_TEST

START_TEST(overlapping_outlines_are_no_neighbours)
{
  static const double over[2][4] = {{100, 320, 120, 150}, {160, 320, 120, 150}};
  struct boundary boundary = compare_wall(over);

  ck_assert(!boundary.compared);
  ck_assert_str_eq(boundary.error.code, "overlap");
  ck_assert_msg(strstr(boundary.error.text, "overlap by 50 % of the smaller one; correct them") != NULL, "%s",
                boundary.error.text);
  ck_assert(boundary.overlap > 0.49 && boundary.overlap < 0.51);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("boundary");
  TCase *tcase = tcase_create("boundary");
  int file = mkstemp(path);

  close(file);
  tcase_set_timeout(tcase, 600);
  tcase_add_test(tcase, bands_lie_where_they_should);
  tcase_add_test(tcase, overlapping_outlines_are_no_neighbours);
  tcase_add_test(tcase, two_deposits_2_apart_are_told_apart);
  tcase_add_test(tcase, two_halves_of_one_deposit_are_not);
  suite_add_tcase(suite, tcase);
  int status = run_suite(suite);
  unlink(path);
  return status;
}
