/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/order.h"
#include "base/solve.h"
#include "light/field.h"
#include "light/fit.h"

enum { STEP = 4, ROUNDS = 8 };

/* Weighted normal equations: their condition is harmless for a first idea. */
struct sums {
  double a[LIGHT_COMMON][LIGHT_COMMON], b[LIGHT_COMMON];
};

struct pair {
  double basis[LIGHT_COMMON];
  struct vec3 difference;
};

struct pairs {
  struct pair *pair; /* owned */
  size_t count;
};

static void add_pair(const struct light *light, const struct cell *from, const struct cell *to,
                     struct pairs *pairs)
{
  struct pair *pair = &pairs->pair[pairs->count++];
  double a[LIGHT_COMMON], b[LIGHT_COMMON];

  field_basis(light, from->place, a);
  field_basis(light, to->place, b);
  for (int j = 0; j < LIGHT_COMMON; j++) {
    pair->basis[j] = b[j] - a[j];
  }
  pair->difference = vec3_subtract(to->even, from->even);
}

static void gather(const struct cells *cells, const struct light *light, struct pairs *pairs)
{
  for (size_t i = 0; i < cells->count; i++) {
    int column = (int)i % cells->columns, row = (int)i / cells->columns;
    const struct cell *from = cells_open_at(cells, column, row);
    const struct cell *right = cells_open_at(cells, column + STEP, row);
    const struct cell *below = cells_open_at(cells, column, row + STEP);
    if (from && right) {
      add_pair(light, from, right, pairs);
    }
    if (from && below) {
      add_pair(light, from, below, pairs);
    }
  }
}

static double rest_of(const struct pair *pair, int channel, int terms, const double *x)
{
  double rest = pair->difference.v[channel];

  for (int j = 0; j < terms; j++) {
    rest -= x[j] * pair->basis[j];
  }
  return rest;
}

static void add_weighted(const struct pair *pair, double value, double weight, int terms, struct sums *sums)
{
  for (int i = 0; i < terms; i++) {
    for (int j = 0; j < terms; j++) {
      sums->a[i][j] += weight * pair->basis[i] * pair->basis[j];
    }
    sums->b[i] += weight * value * pair->basis[i];
  }
}

/* Geman & McClure's weights, their scale a robust spread of the rests. */
static bool fit_one(const struct pairs *pairs, int channel, int terms, const double *prior, double *x,
                    double *room, struct error *error)
{
  for (int round = 0; round < ROUNDS; round++) {
    struct sums sums = {{{0}}, {0}};
    double a[LIGHT_COMMON * LIGHT_COMMON];
    for (size_t i = 0; i < pairs->count; i++) {
      room[i] = fabs(rest_of(&pairs->pair[i], channel, terms, x));
    }
    double spread = fmax(1.4826 * order_median(room, pairs->count), 0.003), spread2 = 2 * spread * spread;
    for (size_t i = 0; i < pairs->count; i++) {
      double rest = rest_of(&pairs->pair[i], channel, terms, x);
      double share = spread2 / (spread2 + rest * rest);
      add_weighted(&pairs->pair[i], pairs->pair[i].difference.v[channel], share * share, terms, &sums);
    }
    for (int i = 0; i < terms; i++) {
      sums.a[i][i] += 4 * spread2 / (prior[i] * prior[i]);
      memcpy(a + i * terms, sums.a[i], (size_t)terms * sizeof *a);
    }
    if (!solve_linear((size_t)terms, (size_t)terms, a, sums.b, x, NULL, error)) {
      return false;
    }
  }
  return true;
}

bool fit_differences(const struct cells *cells, struct light *light, struct error *error)
{
  struct pairs pairs = {malloc((2 * cells->count + 1) * sizeof(struct pair)), 0};
  double *room = malloc((2 * cells->count + 1) * sizeof *room);
  bool done = (pairs.pair && room) || error_no_memory(error, "the light's slopes");

  if (done) {
    gather(cells, light, &pairs);
  }
  for (int k = 0; done && k < 3; k++) {
    int first = k == 0 ? 0 : k == 1 ? LIGHT_RED_AT : LIGHT_BLUE_AT;
    done = fit_one(&pairs, k, k == 0 ? LIGHT_COMMON : LIGHT_TINT, FIELD_PRIOR + first, light->term + first,
                   room, error);
  }
  free(pairs.pair);
  free(room);
  return done;
}
