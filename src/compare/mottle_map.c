/* SPDX-License-Identifier: MIT */
/* A cell goes to the part that makes it likeliest given its colour and the parts of its neighbours: cost d^2 / 2 - log share
 * + NEIGHBOUR for each side towards another part, made small cell by cell (iterated conditional modes, Besag 1986, J. R. Stat.
 * Soc. B 48, 259). At the rim of a lump, where cells hold both colours, shares of the whole region say nothing: there the nearer
 * colour decides, so that lumps neither shrink nor grow. */
#include "compare/mottle_map.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SWEEPS = 2 };

static const double NEIGHBOUR = 1.2;

static const int ACROSS[4] = {1, -1, 0, 0}, DOWN[4] = {0, 0, 1, -1};

static bool on_grid(const struct mottle_cells *cells, int x, int y)
{
  return x >= 0 && y >= 0 && x < cells->columns && y < cells->rows;
}

/* Part of the neighbour in direction k; MOTTLE_NONE off the grid. */
static uint8_t beside(const struct mottle_map *map, const uint8_t *part, int x, int y, int k)
{
  int i = x + ACROSS[k], j = y + DOWN[k];

  return on_grid(map->cells, i, j) ? part[(size_t)j * (size_t)map->cells->columns + (size_t)i] : MOTTLE_NONE;
}

bool mottle_map_inner(const struct mottle_map *map, int x, int y)
{
  uint8_t own = map->part[(size_t)y * (size_t)map->cells->columns + (size_t)x];

  for (int k = 0; k < 4; k++) {
    if (beside(map, map->part, x, y, k) != own) {
      return false;
    }
  }
  return true;
}

struct labelling {
  struct mottle_map *map;
  const struct mixture *mixture;
  float *distance2; /* owned; parts a cell */
  uint8_t *before;  /* owned               */
};

static void measure_cells(struct labelling *l)
{
  const struct mottle_cells *cells = l->map->cells;
  struct mat3 whiten = mixture_whitening(l->mixture->covariance);

  for (size_t i = 0; i < (size_t)cells->columns * (size_t)cells->rows; i++) {
    const struct mottle_cell *cell = &cells->cell[i];
    struct vec3 colour = {{(double)cell->log[0], (double)cell->log[1], (double)cell->log[2]}};
    l->map->part[i] = MOTTLE_NONE;
    for (size_t k = 0; (double)cell->filled >= MOTTLE_FILLED && k < l->mixture->parts; k++) {
      l->distance2[i * MIXTURE_PARTS_MAX + k] = (float)mixture_distance2(whiten, l->mixture->mean[k], colour);
      l->map->part[i] = 0;
    }
  }
}

/* The cheapest part of a cell, with what its neighbours cost. */
static uint8_t cheapest(const struct labelling *l, int x, int y, double neighbour)
{
  size_t at = (size_t)y * (size_t)l->map->cells->columns + (size_t)x, best = 0;
  double least = INFINITY;

  for (size_t k = 0; k < l->mixture->parts; k++) {
    double cost = (double)l->distance2[at * MIXTURE_PARTS_MAX + k] / 2 - log(l->mixture->share[k] + 1e-12);
    for (int side = 0; neighbour > 0 && side < 4; side++) {
      uint8_t other = beside(l->map, l->map->part, x, y, side);
      cost += other != MOTTLE_NONE && other != k ? neighbour : 0;
    }
    if (cost < least) {
      least = cost;
      best = k;
    }
  }
  return (uint8_t)best;
}

static void sweep(struct labelling *l, double neighbour)
{
  const struct mottle_cells *cells = l->map->cells;

  for (int y = 0; y < cells->rows; y++) {
    for (int x = 0; x < cells->columns; x++) {
      uint8_t *part = &l->map->part[(size_t)y * (size_t)cells->columns + (size_t)x];
      *part = *part == MOTTLE_NONE ? MOTTLE_NONE : cheapest(l, x, y, neighbour);
    }
  }
}

/* Gives cells of lumps' rims to the nearer colour. */
static void settle_rims(struct labelling *l)
{
  const struct mottle_cells *cells = l->map->cells;
  size_t count = (size_t)cells->columns * (size_t)cells->rows;

  memcpy(l->before, l->map->part, count);
  for (size_t i = 0; i < count; i++) {
    int x = (int)(i % (size_t)cells->columns), y = (int)(i / (size_t)cells->columns);
    const float *distance2 = &l->distance2[i * MIXTURE_PARTS_MAX];
    for (int k = 0; k < 4 && l->before[i] != MOTTLE_NONE; k++) {
      uint8_t other = beside(l->map, l->before, x, y, k);
      if (other != MOTTLE_NONE && distance2[other] < distance2[l->map->part[i]]) {
        l->map->part[i] = other;
      }
    }
  }
}

/* Cells of a piece, from its first on, by filling: `stack` takes them in turn and holds them all in the end. */
static struct mottle_lump fill_piece(const struct mottle_map *map, uint8_t *seen, size_t first, size_t *stack)
{
  const struct mottle_cells *cells = map->cells;
  struct mottle_lump lump = {.part = map->part[first]};
  size_t end = 1;

  stack[0] = first;
  seen[first] = 1;
  for (size_t at = 0; at < end; at++) {
    int x = (int)(stack[at] % (size_t)cells->columns), y = (int)(stack[at] / (size_t)cells->columns);
    lump.middle.x += x + 0.5;
    lump.middle.y += y + 0.5;
    for (int k = 0; k < 4; k++) {
      uint8_t other = beside(map, map->part, x, y, k);
      size_t next = (size_t)(y + DOWN[k]) * (size_t)cells->columns + (size_t)(x + ACROSS[k]);
      lump.cut = lump.cut || other == MOTTLE_NONE;
      if (other == lump.part && !seen[next]) {
        seen[next] = 1;
        stack[end++] = next;
      }
    }
  }
  lump.cells = end;
  lump.middle.x = cells->left + cells->side * lump.middle.x / (double)end;
  lump.middle.y = cells->top + cells->side * lump.middle.y / (double)end;
  return lump;
}

static void count_parts(struct mottle_map *map, size_t count, size_t parts)
{
  for (size_t i = 0; i < count; i++) {
    if (map->part[i] != MOTTLE_NONE) {
      map->count[map->part[i]]++;
    }
  }
  for (size_t k = 1; k < parts; k++) {
    map->main = map->count[k] > map->count[map->main] ? k : map->main;
  }
}

/* Finds the pieces of all parts but the largest, keeps lumps and takes specks out of their part. A speck is taken out after all pieces
 * are found, so that it cuts no neighbour. */
static bool find_lumps(struct mottle_map *map, size_t count, struct error *error)
{
  uint8_t *seen = calloc(count, 1);
  size_t *stack = calloc(count, sizeof *stack);
  bool done = seen && stack;

  map->lump = calloc(count / MOTTLE_LUMP + 1, sizeof *map->lump);
  for (size_t i = 0; done && map->lump && i < count; i++) {
    if (seen[i] || map->part[i] == MOTTLE_NONE || map->part[i] == map->main) {
      continue;
    }
    struct mottle_lump lump = fill_piece(map, seen, i, stack);
    if (lump.cells >= MOTTLE_LUMP) {
      map->lump[map->lumps++] = lump;
      continue;
    }
    map->specks += lump.cells;
    map->count[lump.part] -= lump.cells;
    for (size_t k = 0; k < lump.cells; k++) {
      seen[stack[k]] = 2;
    }
  }
  for (size_t i = 0; done && i < count; i++) {
    map->part[i] = seen[i] == 2 ? MOTTLE_NONE : map->part[i];
  }
  free(seen);
  free(stack);
  return (done && map->lump) || error_no_memory(error, "the mottles of a region");
}

static bool label(struct labelling *l, size_t count, struct error *error)
{
  l->map->part = calloc(count, 1);
  if (!l->distance2 || !l->before || !l->map->part) {
    return error_no_memory(error, "the mottles of a region");
  }
  measure_cells(l);
  sweep(l, 0);
  for (int i = 0; i < SWEEPS; i++) {
    sweep(l, NEIGHBOUR);
  }
  settle_rims(l);
  count_parts(l->map, count, l->mixture->parts);
  return find_lumps(l->map, count, error);
}

bool mottle_map_make(const struct mottle_cells *cells, const struct mixture *mixture, struct mottle_map *map,
                     struct error *error)
{
  size_t count = (size_t)cells->columns * (size_t)cells->rows;
  struct labelling labelling = {.map = map,
                                .mixture = mixture,
                                .distance2 = calloc(count * MIXTURE_PARTS_MAX, sizeof(float)),
                                .before = calloc(count, 1)};

  *map = (struct mottle_map){.cells = cells};
  bool done = label(&labelling, count, error);
  free(labelling.distance2);
  free(labelling.before);
  if (!done) {
    mottle_map_clear(map);
  }
  return done;
}

void mottle_map_clear(struct mottle_map *map)
{
  free(map->part);
  free(map->lump);
  *map = (struct mottle_map){0};
}
