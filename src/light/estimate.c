/* SPDX-License-Identifier: MIT */
/* The order of work: cells, a first idea of the field from differences, then deposits and field in turn. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "light/field.h"
#include "light/fit.h"
#include "light/segment.h"
#include "light/shadow.h"

enum { TURNS = 4 };

static const double LOOSENESS[TURNS] = {3, 2, 1.3, 1};

static const double BENT = 0.5; /* cells by which an edge may wander */

static void begin(const struct image_blocks *blocks, const struct card_reference *card,
                  const struct card_pose *pose, struct light *light)
{
  double left = INFINITY, right = -INFINITY, top = INFINITY, bottom = -INFINITY;
  double width = (double)blocks->columns * blocks->size, height = (double)blocks->rows * blocks->size;

  for (size_t i = 0; i < card->count; i++) {
    left = fmin(left, card->patch[i].x_mm);
    right = fmax(right, card->patch[i].x_mm);
    top = fmin(top, card->patch[i].y_mm);
    bottom = fmax(bottom, card->patch[i].y_mm);
  }
  *light = (struct light){.block = blocks->size,
                          .columns = blocks->columns,
                          .rows = blocks->rows,
                          .middle = {width / 2, height / 2},
                          .scale = hypot(width, height) / 2,
                          .disagreement = 1};
  light->centre = card_pose_project(pose, card, (left + right) / 2, (top + bottom) / 2);
}

/* Nothing to go by: gain 1, and the priors say how wrong that may be. */
static void stand_still(struct light *light)
{
  memset(light->term, 0, sizeof light->term);
  memset(light->covariance, 0, sizeof light->covariance);
  for (int j = 0; j < LIGHT_STEP_AT; j++) {
    light->covariance[j][j] = FIELD_PRIOR[j] * FIELD_PRIOR[j];
  }
}

/* Deposits and field in turn, from the terms there are. `*support`: by how much a shadow edge, if there is
 * one, is borne out. */
static bool settle(struct cells *cells, struct light *light, int turns, int *segments, double *support,
                   struct error *error)
{
  bool done = true;

  for (int turn = 0; done && turn < turns; turn++) {
    struct tiles tiles = {0};
    struct levels levels;
    cells_even(cells, light);
    done = segment_cells(cells, light, LOOSENESS[turn], segments, error) &&
           tiles_make(cells, light, *segments, &tiles, error) &&
           fit_field(&tiles, *segments, light, &levels, error);
    if (done && light->estimated) {
      merge_alike(&levels, &tiles);
      done = fit_field(&tiles, *segments, light, NULL, error);
    }
    *support = done && light->estimated && light->shadow_edge
                   ? shadow_support(&tiles, *segments, (double)cells->merge * light->block, light)
                   : 0;
    tiles_clear(&tiles);
  }
  return done;
}

/* The edge that the fit bears out best, if any. Rims of deposits are seldom straight. */
static bool choose_edge(struct cells *cells, const struct card_reference *card, const struct card_pose *pose,
                        struct shadow_list *list, struct light *light, struct error *error)
{
  const struct light even = *light;
  struct light best = even;
  double most = 0;

  for (int i = 0; i < list->count; i++) {
    int segments;
    double support;
    struct light tried = even;
    cells_even(cells, &even);
    shadow_take(cells, &list->found[i], card, pose, &tried);
    if (!settle(cells, &tried, 2, &segments, &support, error)) {
      return false;
    }
    double bent = list->found[i].bent / BENT;
    support /= 1 + bent * bent;
    if (support > most) {
      most = support;
      best = tried;
    }
  }
  *light = best;
  return true;
}

static bool estimate(struct cells *cells, const struct card_reference *card, const struct card_pose *pose,
                     struct light *light, int *segments, struct error *error)
{
  struct shadow_list list;
  double ignored;

  cells_even(cells, light);
  if (!fit_differences(cells, light, error)) {
    return false;
  }
  cells_even(cells, light);
  shadow_search(cells, &list);
  if (!choose_edge(cells, card, pose, &list, light, error) ||
      !settle(cells, light, TURNS, segments, &ignored, error)) {
    return false;
  }
  if (!light->estimated) {
    stand_still(light);
  }
  return true;
}

static bool hand_out(const struct cells *cells, int segments, struct light *light, struct error *error)
{
  size_t count = (size_t)light->columns * (size_t)light->rows;

  light->deposit = calloc(count + 1, sizeof *light->deposit);
  light->side = calloc(count + 1, sizeof *light->side);
  if (!light->deposit || !light->side) {
    return error_no_memory(error, "the light");
  }
  light->deposits = (size_t)segments;
  for (size_t i = 0; i < count; i++) {
    int column = (int)i % light->columns, row = (int)i / light->columns;
    const struct cell *cell = cells_open_at(cells, column / cells->merge, row / cells->merge);
    light->deposit[i] = (uint16_t)(cell ? cell->segment : 0);
    light->side[i] = (uint8_t)light_side_at(
        light, (struct point){(column + 0.5) * light->block, (row + 0.5) * light->block});
  }
  return true;
}

bool light_estimate(const struct image_blocks *blocks, const struct profile *profile,
                    const struct card_reference *card, const struct card_pose *pose,
                    const struct card_patches *patches, struct light *light, struct error *error)
{
  struct cells cells = {0};
  int segments = 0;

  (void)patches;
  begin(blocks, card, pose, light);
  bool done = cells_make(blocks, profile, card, pose, &cells, error);
  done = done && estimate(&cells, card, pose, light, &segments, error);
  done = done && hand_out(&cells, segments, light, error);
  cells_clear(&cells);
  if (!done) {
    light_clear(light);
  }
  return done;
}
