/* SPDX-License-Identifier: MIT */
/* CPU time of an edge on a photo of 24 million pixels, decoded and with its card read: a line over most of the frame, and a shorter one. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "edge_scene.h"
#include "suite.h"

enum { WIDTH = 6000, HEIGHT = 4000, TIMEOUT = 900 };

static void enlarge(struct scene *scene)
{
  struct scene_deposit *first = &scene->deposit[0], *second = &scene->deposit[1];

  scene->width = WIDTH;
  scene->height = HEIGHT;
  scene->focal_pixels = 1.2 * WIDTH;
  scene->card.centre = (struct point){1300, 1000};
  scene->card.mm_per_pixel = 0.2;
  scene->file.jpeg_quality = 92;
  first->vertex[1] = (struct point){WIDTH, 0};
  first->vertex[2] = (struct point){WIDTH, HEIGHT};
  first->vertex[3] = (struct point){0, HEIGHT};
  for (int i = 0; i < second->vertices; i++) {
    second->vertex[i].x += 3900 - scene->boundary.place.x;
    second->vertex[i].y += 2600 - scene->boundary.place.y;
  }
  scene->boundary.place = (struct point){3900, 2600};
}

START_TEST(an_edge_takes_a_fifth_of_a_second)
{
  static const struct edge_line line[] = {{{1000, 2600}, {5800, 2600}}, {{3000, 2600}, {4800, 2600}}};
  struct card_list cards;
  struct measurement m;
  struct scene scene;
  struct error error;

  ck_assert(card_list_open("chart24", &cards, &error));
  edge_scene(60, 20, 71, &scene);
  enlarge(&scene);
  edge_scene_measure(&scene, &cards, &m);
  for (int i = 0; i < 2; i++) {
    struct edge edge;
    clock_t start = clock();
    ck_assert_msg(edge_measure(&m, &line[i], &edge, &error), "%s", error.text);
    printf("line of %.0f pixels: %.3f s CPU, place %.1f\n", edge.length,
           (double)(clock() - start) / CLOCKS_PER_SEC, edge.place.value);
    ck_assert(edge.told);
    edge_clear(&edge);
  }
  measurement_clear(&m);
  card_list_clear(&cards);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("edge speed");
  TCase *tcase = tcase_create("edge speed");

  tcase_set_timeout(tcase, TIMEOUT);
  tcase_add_test(tcase, an_edge_takes_a_fifth_of_a_second);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
