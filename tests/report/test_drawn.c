/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "report/drawn.h"
#include "report/overlay.h"
#include "sample.h"
#include "suite.h"

enum { WIDTH = 800, HEIGHT = 600, GREY = 128 };

static struct point outline[4] = {{100.5, 100.5}, {200.5, 100.5}, {200.5, 180.5}, {100.5, 180.5}};

/* The sample on a grey photo, with one outline and no patches. */
static void make(struct sample *sample, uint8_t *codes)
{
  sample_make(sample);
  memset(codes, GREY, (size_t)WIDTH * HEIGHT * 3);
  sample->measurement.image = (struct image){.width = WIDTH, .height = HEIGHT, .bits = 8, .codes = codes};
  for (int i = 0; i < SAMPLE_REGIONS; i++) {
    sample->region[i].vertex = outline;
    sample->region[i].vertices = 4;
  }
  sample->measurement.patches.count = sample->measurement.card.count = 0;
}

static bool is(const struct image *image, int x, int y, struct overlay_colour colour)
{
  return image_code(image, x, y, 0) == colour.red && image_code(image, x, y, 1) == colour.green &&
         image_code(image, x, y, 2) == colour.blue;
}

START_TEST(regions_are_drawn_and_the_photo_is_left_alone)
{
  static uint8_t codes[WIDTH * HEIGHT * 3];
  struct sample sample;
  struct image drawn;
  struct error error;

  make(&sample, codes);
  sample.measurement.readings = 1;
  ck_assert(report_drawn(&sample.measurement, &drawn, &error));
  ck_assert(is(&drawn, 150, 180, overlay_cycle(0)));
  ck_assert(is(&drawn, 100, 140, overlay_cycle(0)));
  ck_assert(is(&drawn, 150, 140, (struct overlay_colour){GREY, GREY, GREY}));
  ck_assert(codes[0] == GREY && memcmp(codes, codes + 1, sizeof codes - 1) == 0);
  image_clear(&drawn);
}
END_TEST

START_TEST(regions_that_failed_are_drawn_too)
{
  static uint8_t codes[WIDTH * HEIGHT * 3];
  struct sample sample;
  struct image drawn;
  struct error error;

  make(&sample, codes);
  ck_assert(report_drawn(&sample.measurement, &drawn, &error));
  ck_assert(is(&drawn, 150, 180, overlay_cycle(SAMPLE_REGIONS - 1))); /* the last, drawn over the others */
  image_clear(&drawn);
}
END_TEST

/* Stretches of a column that are not the photo's grey. */
static int stretches_in_column(const struct image *image, int x)
{
  int count = 0;
  bool last = false;

  for (int y = 0; y < HEIGHT; y++) {
    bool drawn = !is(image, x, y, (struct overlay_colour){GREY, GREY, GREY});
    count += drawn && !last;
    last = drawn;
  }
  return count;
}

START_TEST(edges_of_shadows_are_dashed)
{
  static uint8_t codes[WIDTH * HEIGHT * 3];
  struct sample sample;
  struct image drawn;
  struct error error;
  struct light_edge edge = {.place = {500, 20}, .normal = {-1, 0}};

  make(&sample, codes);
  sample.measurement.readings = 0;
  for (int i = 0; i < 3; i++) { /* none, an edge, what may be one */
    sample.measurement.light.shadow_edge = i == 1;
    sample.measurement.light.shadow_unsure = i == 2;
    sample.measurement.light.edge = sample.measurement.light.unsure = edge;
    ck_assert(report_drawn(&sample.measurement, &drawn, &error));
    int dashes = stretches_in_column(&drawn, 500);
    ck_assert_msg(i ? dashes > 10 : dashes == 0, "case %d: %d", i, dashes);
    ck_assert_int_eq(stretches_in_column(&drawn, 300), 0);
    image_clear(&drawn);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("drawn");
  TCase *tcase = tcase_create("drawn");

  tcase_add_test(tcase, regions_are_drawn_and_the_photo_is_left_alone);
  tcase_add_test(tcase, regions_that_failed_are_drawn_too);
  tcase_add_test(tcase, edges_of_shadows_are_dashed);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
