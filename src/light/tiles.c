/* SPDX-License-Identifier: MIT */
#include <limits.h>
#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "light/field.h"
#include "light/fit.h"

enum { SIDE = 6, FEWEST = 5 }; /* cells of a square's side, cells of a tile */

static const double STRAY =
    3.5; /* robust standard deviations from its deposit beyond which a cell does not count */

struct like {
  struct vec3 middle, spread;
};

/* Median and spread of the evened signal of each deposit. */
static bool describe(const struct cells *cells, int segments, struct like *like)
{
  double *value = malloc((cells->count + 1) * sizeof *value);

  for (int s = 1; value && s <= segments; s++) {
    for (int k = 0; k < 3; k++) {
      size_t count = 0;
      for (size_t i = 0; i < cells->count; i++) {
        if (cells->cell[i].inner && cells->cell[i].segment == s) {
          value[count++] = cells->cell[i].even.v[k];
        }
      }
      like[s].middle.v[k] = order_median(value, count);
      for (size_t i = 0; i < count; i++) {
        value[i] = fabs(value[i] - like[s].middle.v[k]);
      }
      like[s].spread.v[k] = fmax(1.4826 * order_median(value, count), 0.003);
    }
  }
  free(value);
  return value != NULL;
}

static bool is_like(const struct cell *cell, const struct like *like)
{
  for (int k = 0; k < 3; k++) {
    if (fabs(cell->even.v[k] - like->middle.v[k]) > STRAY * like->spread.v[k]) {
      return false;
    }
  }
  return true;
}

static struct tile *tile_of(struct tiles *tiles, size_t first, int segment, int column, int row)
{
  for (size_t i = first; i < tiles->count; i++) {
    if (tiles->tile[i].segment == segment) {
      return &tiles->tile[i];
    }
  }
  tiles->tile[tiles->count] = (struct tile){.segment = segment, .column = column, .row = row};
  return &tiles->tile[tiles->count++];
}

static void add_cell(const struct cell *cell, const struct light *light, struct tile *tile)
{
  double jacobian[3][LIGHT_TERMS];

  light_jacobian(light, cell->place, jacobian);
  for (int j = 0; j < LIGHT_COMMON; j++) {
    tile->basis[j] += jacobian[1][j];
  }
  tile->step += jacobian[1][LIGHT_STEP_AT + 1];
  tile->log = vec3_add(tile->log, cell->log);
  tile->count++;
}

static void finish(struct tile *tile)
{
  double share = 1 / tile->count;

  for (int j = 0; j < LIGHT_COMMON; j++) {
    tile->basis[j] *= share;
  }
  tile->step *= share;
  tile->log = vec3_scale(tile->log, share);
}

static void gather_square(const struct cells *cells, const struct light *light, const struct like *like,
                          int column, int row, struct tiles *tiles)
{
  size_t first = tiles->count, kept = first;

  for (int d = 0; d < SIDE * SIDE; d++) {
    const struct cell *cell = cells_open_at(cells, column * SIDE + d % SIDE, row * SIDE + d / SIDE);
    if (cell && cell->inner && light_side_at(light, cell->place) != LIGHT_ON_EDGE &&
        is_like(cell, &like[cell->segment])) {
      /* Both sides of a shadow edge keep to tiles of their own. */
      int beyond = light_side_at(light, cell->place) == LIGHT_BEYOND;
      add_cell(cell, light, tile_of(tiles, first, 2 * cell->segment + beyond, column, row));
    }
  }
  for (size_t i = first; i < tiles->count; i++) {
    if (tiles->tile[i].count >= FEWEST) {
      tiles->tile[kept] = tiles->tile[i];
      tiles->tile[kept].segment /= 2;
      finish(&tiles->tile[kept++]);
    }
  }
  tiles->count = kept;
}

bool tiles_make(const struct cells *cells, const struct light *light, int segments, struct tiles *tiles,
                struct error *error)
{
  struct like *like = calloc((size_t)segments + 1, sizeof *like);

  *tiles = (struct tiles){0};
  tiles->tile = calloc(cells->count / FEWEST + SIDE * SIDE + CARD_PATCHES_MAX + 1, sizeof *tiles->tile);
  bool done = like && tiles->tile && describe(cells, segments, like);
  for (int row = 0; done && row * SIDE < cells->rows; row++) {
    for (int column = 0; column * SIDE < cells->columns; column++) {
      gather_square(cells, light, like, column, row, tiles);
    }
  }
  free(like);
  return done || error_no_memory(error, "the light's tiles");
}

/* A patch is known as well as a deposit's tile of many cells, but in a half shadow, whose profile is not known well, as little as a
 * cell. */
static const double PATCH_COUNTS = 1000, PATCH_ON_EDGE_COUNTS = 1;

void tiles_add_card(const struct card_light *samples, const struct light *light, int segment,
                    struct tiles *tiles)
{
  for (size_t i = 0; i < samples->count; i++) {
    const struct card_sample *sample = &samples->sample[i];
    struct tile *tile = &tiles->tile[tiles->count++];
    const struct cell cell = {.place = sample->place, .log = sample->log};
    /* Rows beyond all others, two apart: no tile is its neighbour. */
    *tile = (struct tile){.segment = segment, .row = INT_MAX / 2 + 2 * (int)i};
    add_cell(&cell, light, tile);
    finish(tile);
    tile->count = light_side_at(light, sample->place) == LIGHT_ON_EDGE ? PATCH_ON_EDGE_COUNTS : PATCH_COUNTS;
  }
}

void tiles_clear(struct tiles *tiles)
{
  free(tiles->tile);
  *tiles = (struct tiles){0};
}
