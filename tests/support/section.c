/* SPDX-License-Identifier: MIT */
#include "section.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "texture.h"

enum { BOUNDARY = 24, TRIES = 60 };

struct scene_texture section_texture(enum region_moisture state, struct random *random)
{
  struct scene_texture texture;
  bool stony = random_unit(random) < 0.4;

  texture.size = random_between(random, 0.05, 0.14);
  texture.grain = random_between(random, 1.2, 4);
  texture.coarse = random_between(random, 0.02, 0.12);
  texture.mottle = random_between(random, 0.005, 0.03);
  texture.stones = random_between(random, 0, stony ? 0.06 : 0.01);
  texture.stone_pixels = random_between(random, 2, stony ? 9 : 4);
  texture.glint = state == MOISTURE_WET     ? random_between(random, 0.002, 0.02)
                  : state == MOISTURE_MOIST ? random_between(random, 0, 0.003)
                                            : 0;
  return texture;
}

static struct scene_deposit *add_deposit(struct scene *scene, const struct spectra_source *source,
                                         const char *role, enum region_moisture state, struct random *random)
{
  struct scene_deposit *deposit = &scene->deposit[scene->deposits++];

  *deposit = (struct scene_deposit){.moisture = state};
  deposit->reflectance = source_soil(source, random, state);
  deposit->texture = section_texture(state, random);
  snprintf(deposit->context, sizeof deposit->context, "%d", 1000 + scene->deposits);
  snprintf(deposit->role, sizeof deposit->role, "%s", role);
  return deposit;
}

void section_outline_layer(const struct scene *scene, struct scene_deposit *deposit, double level,
                           uint64_t seed)
{
  double swing = level > 0 ? 0.02 * scene->height : 0;

  for (int i = 0; i < BOUNDARY; i++) {
    double x = scene->width * (double)i / (BOUNDARY - 1);
    double wave = texture_noise(x, 0.5, scene->width / 5.0, seed) +
                  0.3 * texture_noise(x, 0.5, scene->width / 17.0, seed);
    deposit->vertex[i] = (struct point){x, level * scene->height + swing * wave};
  }
  deposit->vertex[BOUNDARY] = (struct point){scene->width, scene->height};
  deposit->vertex[BOUNDARY + 1] = (struct point){0, scene->height};
  deposit->vertices = BOUNDARY + 2;
}

void section_outline_cut(const struct scene *scene, struct scene_deposit *deposit, double level,
                         double middle, double half, double depth, uint64_t seed)
{
  for (int i = 0; i < BOUNDARY; i++) {
    double t = 2.0 * i / (BOUNDARY - 1) - 1;
    double x = scene->width * (middle + half * t * (1 - 0.15 * (1 - t * t)));
    double y = scene->height * (level + depth * (1 - pow(fabs(t), 3)));
    deposit->vertex[i].x = x + 0.006 * scene->width * texture_noise(y, 0.5, 60, seed);
    deposit->vertex[i].y = y + 0.006 * scene->height * texture_noise(x, 7.5, 60, seed);
  }
  deposit->vertices = BOUNDARY;
}

void section_face(struct scene *scene, const struct spectra_source *source, int layers, int cuts,
                  enum region_moisture state, struct random *random)
{
  double level = 0;

  scene->deposits = 0;
  for (int i = 0; i < layers; i++) {
    struct scene_deposit *layer = add_deposit(scene, source, "surrounding deposit", state, random);
    section_outline_layer(scene, layer, level, random_bits(random));
    level += random_between(random, 0.75, 1.25) / layers;
  }
  for (int i = 0; i < cuts; i++) {
    struct scene_deposit *fill = add_deposit(scene, source, "fill", state, random);
    double middle = cuts == 1 ? random_between(random, 0.25, 0.75) : 0.25 + 0.5 * i;
    section_outline_cut(scene, fill, random_between(random, 0, 0.15), middle,
                        random_between(random, 0.1, 0.2), random_between(random, 0.35, 0.7),
                        random_bits(random));
  }
}

static struct scene_region some_region(const struct scene *scene, int deposit, enum region_shape shape,
                                       struct random *random)
{
  double size = scene->width * random_between(random, 0.02, 0.06), stretch = random_between(random, 0.7, 1.4);
  struct point at = {random_between(random, 0, scene->width), random_between(random, 0, scene->height)};
  struct scene_region region = {.deposit = deposit, .shape = shape};

  if (shape == REGION_CIRCLE) {
    region.vertices = 1;
    region.vertex[0] = at;
    region.radius = size;
  } else if (shape == REGION_RECTANGLE) {
    region.vertices = 2;
    region.vertex[0] = (struct point){at.x - size * stretch, at.y - size / stretch};
    region.vertex[1] = (struct point){at.x + size * stretch, at.y + size / stretch};
  } else {
    region.vertices = 6;
    for (int i = 0; i < 6; i++) {
      double reach = size * random_between(random, 0.8, 1.2), angle = 3.14159265 / 3 * i;
      region.vertex[i] =
          (struct point){at.x + stretch * reach * cos(angle), at.y + reach * sin(angle) / stretch};
    }
  }
  return region;
}

/* Half-way between a place and the card's nearest point is not needed: a circle round the card is kept clear. */
static bool clear_of_card(const struct scene *scene, struct point place)
{
  struct point size = scene_card_size_mm(&scene->card.geometry);
  double reach = 0.53 * hypot(size.x, size.y) / scene->card.mm_per_pixel;

  return !scene->card.present ||
         hypot(place.x - scene->card.centre.x, place.y - scene->card.centre.y) > reach;
}

/* All pixels of the region are of its deposit, and so are those `margin` pixels around. */
static bool fits(const struct scene *scene, const uint8_t *map, const struct scene_region *region, int margin)
{
  double reach = 0.12 * scene->width;
  struct point v = region->vertex[0];
  int left = (int)fmax(v.x - reach, 0), right = (int)fmin(v.x + 1.5 * reach, scene->width);
  int top = (int)fmax(v.y - reach, 0), bottom = (int)fmin(v.y + 1.5 * reach, scene->height);

  for (int y = top; y < bottom; y += 3) {
    for (int x = left; x < right; x += 3) {
      struct point place = {x + 0.5, y + 0.5};
      if (!scene_region_contains(region, place)) {
        continue;
      }
      bool inside = x >= margin && y >= margin && x < scene->width - margin && y < scene->height - margin;
      for (int k = 0; inside && k < 4; k++) {
        int at_x = x + (k < 2 ? margin : -margin), at_y = y + (k % 2 ? margin : -margin);
        inside = map[(size_t)at_y * (size_t)scene->width + (size_t)at_x] == region->deposit;
      }
      if (!inside || !clear_of_card(scene, place)) {
        return false;
      }
    }
  }
  return true;
}

static bool in_frame(const struct scene *scene, const struct scene_region *region)
{
  for (int i = 0; i < region->vertices; i++) {
    struct point v = region->vertex[i];
    if (v.x - region->radius < 0 || v.y - region->radius < 0 || v.x + region->radius > scene->width ||
        v.y + region->radius > scene->height) {
      return false;
    }
  }
  return true;
}

static void place_region(struct scene *scene, const uint8_t *map, int deposit, int turn,
                         struct random *random)
{
  static const enum region_shape shapes[3] = {REGION_RECTANGLE, REGION_POLYGON, REGION_CIRCLE};

  for (int i = 0; i < TRIES && scene->regions < SCENE_REGIONS_MAX; i++) {
    struct scene_region region = some_region(scene, deposit, shapes[(deposit + turn) % 3], random);
    if (in_frame(scene, &region) && fits(scene, map, &region, 8)) {
      snprintf(region.label, sizeof region.label, "%s-%d", scene->deposit[deposit].context, turn + 1);
      scene->region[scene->regions++] = region;
      return;
    }
  }
}

void section_regions(struct scene *scene, int each, struct random *random)
{
  uint8_t *map = malloc((size_t)scene->width * (size_t)scene->height);

  scene->regions = 0;
  if (!map) {
    return;
  }
  texture_paint_deposits(scene, map);
  for (int turn = 0; turn < each; turn++) {
    for (int deposit = 0; deposit < scene->deposits; deposit++) {
      place_region(scene, map, deposit, turn, random);
    }
  }
  free(map);
}
