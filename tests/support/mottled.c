/* SPDX-License-Identifier: MIT */
#include "mottled.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/order.h"
#include "colour/difference.h"
#include "made.h"
#include "section.h"
#include "texture.h"

double mottled_contrast(const struct scene *scene)
{
  return colour_de00(made_lab(&scene->deposit[0].reflectance), made_lab(&scene->deposit[1].reflectance));
}

static void make_face(struct scene *scene, const struct spectra_source *source, double differs, bool stones,
                      struct random *random)
{
  enum region_moisture state = random_below(random, 2) ? MOISTURE_MOIST : MOISTURE_DRY;

  section_face(scene, source, 1, 0, state, random);
  scene->deposit[1] = scene->deposit[0];
  scene->deposit[1].vertices = 0;
  scene->deposits = 2;
  for (int tries = 0; tries < 200; tries++) {
    scene->deposit[1].reflectance = source_soil(source, random, state);
    if (mottled_contrast(scene) >= differs) {
      break;
    }
  }
  for (int k = 0; k < 2 && !stones; k++) {
    scene->deposit[k].texture.stones = 0;
  }
  scene->lumps = (struct scene_lumps){0, 1, exp(random_between(random, log(0.01), log(0.45))),
                                      exp(random_between(random, log(14), log(50)))};
}

static bool clear_of_card(const struct scene *scene, struct point a, struct point b)
{
  struct point size = scene_card_size_mm(&scene->card.geometry), card = scene->card.centre;
  double reach = 0.55 * hypot(size.x, size.y) / scene->card.mm_per_pixel;
  double x = fmax(fmax(a.x - card.x, card.x - b.x), 0), y = fmax(fmax(a.y - card.y, card.y - b.y), 0);

  return hypot(x, y) > reach;
}

static void place_regions(struct scene *scene, struct random *random)
{
  scene->regions = 0;
  for (int tries = 0; tries < 200 && scene->regions < 2; tries++) {
    struct scene_region region = {.deposit = 0, .shape = REGION_RECTANGLE, .vertices = 2};
    double width = random_between(random, 260, 420), height = random_between(random, 260, 420);
    struct point a = {random_between(random, 10, scene->width - width - 10),
                      random_between(random, 10, scene->height - height - 10)};
    region.vertex[0] = a;
    region.vertex[1] = (struct point){a.x + width, a.y + height};
    snprintf(region.label, sizeof region.label, "part-%d", scene->regions + 1);
    if (clear_of_card(scene, a, region.vertex[1])) {
      scene->region[scene->regions++] = region;
    }
  }
}

void mottled_scene(enum scene_tier tier, uint64_t seed, const struct spectra_source *source, double differs,
                   bool stones, struct scene *scene)
{
  struct random random = random_start(seed ^ 0x6d6f74746c65u);

  scene_random(tier, seed, source, scene);
  make_face(scene, source, differs, stones, &random);
  place_regions(scene, &random);
}

/* The region's part of the map, 1 for a lump's pixel. */
struct mask {
  int width, height;
  uint8_t *inside; /* owned: 0 outside, 1 the deposit, 2 a lump, 3 a lump that was counted */
};

static size_t fill_piece(struct mask *mask, size_t first, size_t *stack, bool *cut)
{
  static const int across[4] = {1, -1, 0, 0}, down[4] = {0, 0, 1, -1};
  size_t end = 1;

  *cut = false;
  stack[0] = first;
  mask->inside[first] = 3;
  for (size_t at = 0; at < end; at++) {
    int x = (int)(stack[at] % (size_t)mask->width), y = (int)(stack[at] / (size_t)mask->width);
    for (int k = 0; k < 4; k++) {
      int i = x + across[k], j = y + down[k];
      size_t next = (size_t)j * (size_t)mask->width + (size_t)i;
      bool off = i < 0 || j < 0 || i >= mask->width || j >= mask->height || mask->inside[next] == 0;
      *cut = *cut || off;
      if (!off && mask->inside[next] == 2) {
        mask->inside[next] = 3;
        stack[end++] = next;
      }
    }
  }
  return end;
}

static void measure_lumps(struct mask *mask, double least, size_t *stack, double *whole, double *any,
                          struct mottled_truth *truth)
{
  size_t wholes = 0, inside = 0, lumps = 0, all = (size_t)mask->width * (size_t)mask->height;
  bool cut;

  *truth = (struct mottled_truth){0};
  for (size_t i = 0; i < all; i++) {
    inside += mask->inside[i] != 0;
    size_t area = mask->inside[i] == 2 ? fill_piece(mask, i, stack, &cut) : 0;
    lumps += area;
    if (area > 0 && (double)area >= least) {
      any[truth->lumps++] = 2 * sqrt((double)area / 3.14159265);
      if (!cut) {
        whole[wholes++] = 2 * sqrt((double)area / 3.14159265);
      }
    }
  }
  truth->share = (double)lumps / (double)inside;
  truth->diameter = wholes >= 3 ? order_median(whole, wholes) : order_median(any, truth->lumps);
}

bool mottled_truth_of(const struct scene *scene, const struct scene_region *region, double least,
                      struct mottled_truth *truth)
{
  size_t all = (size_t)scene->width * (size_t)scene->height;
  uint8_t *map = malloc(all);
  struct mask mask = {scene->width, scene->height, calloc(all, 1)};
  size_t *stack = malloc(all * sizeof *stack);
  double *whole = malloc(all * sizeof *whole), *any = malloc(all * sizeof *any);
  bool done = map && mask.inside && stack && whole && any;

  if (done) {
    texture_paint_deposits(scene, map);
    texture_paint_lumps(scene, map);
    for (size_t i = 0; i < all; i++) {
      struct point place = {(double)(i % (size_t)scene->width) + 0.5,
                            (double)(i / (size_t)scene->width) + 0.5};
      mask.inside[i] =
          (uint8_t)(scene_region_contains(region, place) ? (map[i] == scene->lumps.of ? 2 : 1) : 0);
    }
    measure_lumps(&mask, least, stack, whole, any, truth);
  }
  free(map);
  free(mask.inside);
  free(stack);
  free(whole);
  free(any);
  return done;
}
