/* SPDX-License-Identifier: MIT */
/* Scenes for the division of a face: two deposits that differ by a known little, and a face with things on it that are no deposit.
 * Card, light and camera are those of the field scene of the same seed. */
#include <math.h>
#include <stdio.h>

#include "colour/difference.h"
#include "made.h"
#include "section.h"

enum { NEAR_STREAM = 0x6e656172, THINGS_STREAM = 0x7468696e, TRIES = 400 };

static struct spectrum mix(const struct spectrum *a, const struct spectrum *b, double share)
{
  struct spectrum mixed = *a;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    mixed.band[i] = (1 - share) * a->band[i] + share * b->band[i];
  }
  return mixed;
}

/* As much of another soil as makes the difference. */
static struct spectrum soil_apart(const struct spectra_source *source, const struct spectrum *from,
                                  double apart, enum region_moisture state, struct random *random)
{
  struct lab start = made_lab(from);
  struct spectrum other, mixed = *from;
  double low = 0, high = 1;

  for (int i = 0; i < TRIES; i++) {
    other = source_soil(source, random, state);
    if (colour_de00(start, made_lab(&other)) >= 1.5 * apart) {
      break;
    }
  }
  for (int i = 0; i < 40; i++) {
    double share = (low + high) / 2;
    mixed = mix(from, &other, share);
    *(colour_de00(start, made_lab(&mixed)) < apart ? &low : &high) = share;
  }
  return mixed;
}

void scene_random_near(double apart, uint64_t seed, const struct spectra_source *source, struct scene *scene)
{
  const enum region_moisture states[3] = {MOISTURE_DRY, MOISTURE_MOIST, MOISTURE_WET};
  struct random random = random_start(seed ^ NEAR_STREAM);
  enum region_moisture state = states[random_below(&random, 3)];

  scene_random(SCENE_FIELD, seed, source, scene);
  scene->deposits = 2;
  scene->regions = 0;
  for (int i = 0; i < 2; i++) {
    struct scene_deposit *deposit = &scene->deposit[i];
    *deposit = (struct scene_deposit){.moisture = state, .texture = section_texture(state, &random)};
    deposit->reflectance = i == 0 ? source_soil(source, &random, state)
                                  : soil_apart(source, &scene->deposit[0].reflectance, apart, state, &random);
    snprintf(deposit->context, sizeof deposit->context, "%d", 1001 + i);
    section_outline_layer(scene, deposit, i == 0 ? 0 : random_between(&random, 0.35, 0.65),
                          random_bits(&random));
  }
}

/* A rectangle about a place, `along` by `across` pixels, turned. */
static void add_thing(struct scene *scene, struct point at, double along, double across, double degrees,
                      double white)
{
  struct scene_deposit *thing = &scene->deposit[scene->deposits++];
  double c = cos(degrees * 3.14159265358979 / 180), s = sin(degrees * 3.14159265358979 / 180);

  *thing = (struct scene_deposit){.texture = {0.01, 1.5, 0, 0, 0, 1, 0}, .vertices = 4};
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    thing->reflectance.band[i] = white;
  }
  snprintf(thing->role, sizeof thing->role, "thing");
  for (int k = 0; k < 4; k++) {
    double u = (k == 0 || k == 3 ? -0.5 : 0.5) * along, v = (k < 2 ? -0.5 : 0.5) * across;
    thing->vertex[k] = (struct point){at.x + c * u - s * v, at.y + s * u + c * v};
  }
}

/* A place whose surroundings are clear of the card and of the frame. */
static struct point free_place(const struct scene *scene, double reach, struct random *random)
{
  struct point size = scene_card_size_mm(&scene->card.geometry), at = {0, 0};
  double card = 0.55 * hypot(size.x, size.y) / scene->card.mm_per_pixel;

  for (int i = 0; i < TRIES; i++) {
    at = (struct point){random_between(random, reach, scene->width - reach),
                        random_between(random, reach, scene->height - reach)};
    if (hypot(at.x - scene->card.centre.x, at.y - scene->card.centre.y) > card + reach) {
      break;
    }
  }
  return at;
}

void scene_random_things(uint64_t seed, const struct spectra_source *source, struct scene *scene)
{
  struct random random = random_start(seed ^ THINGS_STREAM);

  scene_random(SCENE_FIELD, seed, source, scene);
  scene->regions = 0;
  scene->deposits = scene->deposits < 6 ? scene->deposits : 6;
  add_thing(scene, free_place(scene, 100, &random), random_between(&random, 110, 190),
            random_between(&random, 80, 130), random_between(&random, -10, 10),
            random_unit(&random) < 0.5 ? 0.75 : 0.04);
  add_thing(scene, (struct point){scene->width / 2.0, scene->height * random_between(&random, 0.1, 0.9)},
            1.2 * scene->width, 4, random_between(&random, -3, 3), 0.8);
  double turn = 90 * random_below(&random, 2) + random_between(&random, -8, 8), length = 360, wide = 26;
  struct point bar = free_place(scene, 190, &random);
  double c = cos(turn * 3.14159265358979 / 180), s = sin(turn * 3.14159265358979 / 180);
  add_thing(scene, bar, length, wide, turn, 0.8);
  for (int k = -1; k <= 1; k += 2) {
    struct point at = {bar.x + k * c * length / 4, bar.y + k * s * length / 4};
    add_thing(scene, at, length / 4, wide, turn, 0.03);
  }
}
