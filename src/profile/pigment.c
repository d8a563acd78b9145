/* SPDX-License-Identifier: MIT */
#include "profile/pigment.h"

#include <math.h>

#include "colour/difference.h"

/* Editions of the classic chart lie within 4 of each other, its unlike patches over 9 apart. */
static const double SAME = 5;

/* Other surfaces: like colours tell of each other over about this distance, CIEDE2000. */
static const double WIDTH = 10;

/* Share of the tabulated variance by which formula-made cameras and inexact reflectances miss it. */
static const double MISSED = 0.2;

static struct lab colour_of(int row)
{
  return (struct lab){PIGMENT_TABLE[row][0], PIGMENT_TABLE[row][1], PIGMENT_TABLE[row][2]};
}

static struct vec3 component_of(int row, int k)
{
  const double *at = &PIGMENT_TABLE[row][3 + 3 * k];

  return (struct vec3){{at[0], at[1], at[2]}};
}

static struct mat3 covariance_of(int row)
{
  struct mat3 sum = {{{0}}};

  for (int k = 0; k < PIGMENT_COMPONENTS; k++) {
    sum = mat3_add(sum, mat3_outer(component_of(row, k), component_of(row, k)));
  }
  return sum;
}

static struct pigment tabulated(int row)
{
  struct pigment pigment = {.rest = mat3_scale(covariance_of(row), MISSED)};

  for (int k = 0; k < PIGMENT_COMPONENTS; k++) {
    struct vec3 effect = component_of(row, k);
    for (int axis = 0; axis < 3; axis++) {
      pigment.component[axis][k] = effect.v[axis];
    }
  }
  return pigment;
}

struct mat3 pigment_size(struct lab c)
{
  struct mat3 size = {{{0}}};
  double total = 0;

  for (int row = 0; row < PIGMENT_ROWS; row++) {
    double far = colour_de00(colour_of(row), c) / WIDTH;
    double weight = exp(-far * far / 2) + 1e-9; /* far from all: the mean of all */
    size = mat3_add(size, mat3_scale(covariance_of(row), weight));
    total += weight;
  }
  return mat3_scale(size, 1 / total);
}

struct pigment pigment_of(struct lab reference)
{
  int best = 0;

  for (int row = 1; row < PIGMENT_ROWS; row++) {
    if (colour_de00(colour_of(row), reference) < colour_de00(colour_of(best), reference)) {
      best = row;
    }
  }
  if (colour_de00(colour_of(best), reference) < SAME) {
    return tabulated(best);
  }
  return (struct pigment){.rest = pigment_size(reference)};
}
