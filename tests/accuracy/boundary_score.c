/* SPDX-License-Identifier: MIT */
#include "boundary_score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "card/reference.h"
#include "colour/difference.h"
#include "made.h"
#include "measure/measure.h"
#include "region/outline.h"
#include "render.h"
#include "section.h"

enum { TRIES = 400, VERTICES = 24, STREAM = 7919 };

static struct spectrum mix(const struct spectrum *a, const struct spectrum *b, double share)
{
  struct spectrum mixed;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    mixed.band[i] = (1 - share) * a->band[i] + share * b->band[i];
  }
  return mixed;
}

/* On the way from one soil to another, the one that is `apart` away from the first. */
static struct spectrum neighbour(const struct spectra_source *source, const struct spectrum *first,
                                 double apart, enum region_moisture state, struct random *random)
{
  struct spectrum other = source_soil(source, random, state);
  double low = 0, high = 1;

  for (int i = 0; i < TRIES && colour_de00(made_lab(first), made_lab(&other)) < apart; i++) {
    other = source_soil(source, random, state);
  }
  for (int i = 0; i < 50; i++) {
    double middle = (low + high) / 2;
    struct spectrum mixed = mix(first, &other, middle);
    *(colour_de00(made_lab(first), made_lab(&mixed)) < apart ? &low : &high) = middle;
  }
  return mix(first, &other, high);
}

static void make_scene(uint64_t seed, double apart, const struct spectra_source *source, struct scene *scene)
{
  struct random random = random_start(seed * STREAM + 1);
  struct scene_deposit *second = &scene->deposit[1];

  scene_random(SCENE_FIELD, seed, source, scene);
  scene->regions = 0;
  enum region_moisture state = scene->deposit[0].moisture;
  section_outline_layer(scene, &scene->deposit[0], 0, random_bits(&random));
  *second = scene->deposit[0];
  section_outline_layer(scene, second, random_between(&random, 0.3, 0.7), random_bits(&random));
  if (apart > 0) {
    second->reflectance = neighbour(source, &scene->deposit[0].reflectance, apart, state, &random);
    second->texture = section_texture(state, &random);
  }
  scene->deposits = apart > 0 ? 2 : 1;
}

/* Every place of the region keeps clear of the card by its circle. */
static bool is_clear(const struct scene *scene, const double *number, size_t count)
{
  struct point size = scene_card_size_mm(&scene->card.geometry);
  double reach = 0.55 * hypot(size.x, size.y) / scene->card.mm_per_pixel;

  for (size_t i = 0; i < count; i += 2) {
    bool inside = number[i] > 8 && number[i] < scene->width - 8 && number[i + 1] > 8 &&
                  number[i + 1] < scene->height - 8;
    if (!inside || hypot(number[i] - scene->card.centre.x, number[i + 1] - scene->card.centre.y) < reach) {
      return false;
    }
  }
  return true;
}

/* One side of the boundary, from its vertex `first` on, drawn by a hand that is 1.5 pixels unsure. */
static size_t draw_side(const struct scene_deposit *layer, int first, int count, double depth,
                        struct random *random, double *number)
{
  size_t n = 0;

  for (int i = first; i < first + count; i++) {
    number[n++] = layer->vertex[i].x + 1.5 * random_normal(random);
    number[n++] = layer->vertex[i].y + 1.5 * random_normal(random);
  }
  for (int i = first + count - 1; i >= first; i -= count - 1) {
    number[n++] = layer->vertex[i].x;
    number[n++] = layer->vertex[i].y + depth;
  }
  return n;
}

static bool draw_regions(const struct scene *scene, uint64_t seed, struct region region[2],
                         struct error *error)
{
  struct random random = random_start(seed * STREAM + 2);
  double number[2][2 * VERTICES + 8];

  for (int i = 0; i < TRIES; i++) {
    int count = 4 + random_below(&random, 4), first = 1 + random_below(&random, VERTICES - 2 - count);
    double depth = random_between(&random, 90, 220);
    size_t n = draw_side(&scene->deposit[1], first, count, -depth, &random, number[0]);
    draw_side(&scene->deposit[1], first, count, depth, &random, number[1]);
    if (is_clear(scene, number[0], n) && is_clear(scene, number[1], n)) {
      strcpy(region[0].label, "above");
      strcpy(region[1].label, "below");
      region[0].moisture = region[1].moisture = scene->deposit[0].moisture;
      return outline_polygon(&region[0], number[0], n, error) &&
             outline_polygon(&region[1], number[1], n, error);
    }
  }
  return error_set(error, ERROR_INTERNAL, "no-room", "the card leaves no room for the regions");
}

static bool score_photo(const char *path, struct region_list *list, struct boundary_score *score,
                        struct error *error)
{
  struct card_list cards = {0};
  struct measurement m;
  struct boundary boundary;
  struct measure_options options = {.cards = &cards, .regions = list};
  bool done = card_list_open("chart24", &cards, error);

  if (done && (done = measure_photo(path, &options, &m, error))) {
    score->measured = m.card_found && m.reading[0].measured && m.reading[1].measured;
    if (score->measured) {
      score->whole = difference_of(&m.reading[0], &m.reading[1]);
      done = boundary_compare(&m, 0, 1, &boundary, error);
      score->compared = done && boundary.compared;
      score->boundary = boundary.difference;
    }
    measurement_clear(&m);
  }
  card_list_clear(&cards);
  return done;
}

bool boundary_score_scene(uint64_t seed, double apart, const struct spectra_source *source, const char *path,
                          struct boundary_score *score, struct error *error)
{
  static struct scene scene;
  struct region region[2] = {0};
  struct region_list list = {region, 2};
  struct file_bytes file = {0};

  *score = (struct boundary_score){0};
  make_scene(seed, apart, source, &scene);
  score->truth = apart > 0 ? colour_de00(made_lab(&scene.deposit[0].reflectance),
                                         made_lab(&scene.deposit[1].reflectance))
                           : 0;
  bool done = draw_regions(&scene, seed, region, error) && render_file(&scene, &file, error) &&
              file_write(path, file.data, file.size, error) && score_photo(path, &list, score, error);
  unlink(path);
  file_bytes_clear(&file);
  region_clear(&region[0]);
  region_clear(&region[1]);
  return done;
}
