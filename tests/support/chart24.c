/* SPDX-License-Identifier: MIT */
#include "chart24.h"

#include <math.h>
#include <string.h>

#include "base/solve.h"

static const char *const NAMES[CHART24_PATCHES] = {
    "dark skin", "light skin",    "blue sky",     "foliage",   "blue flower",  "bluish green",
    "orange",    "purplish blue", "moderate red", "purple",    "yellow green", "orange yellow",
    "blue",      "green",         "red",          "yellow",    "magenta",      "cyan",
    "white",     "neutral 8",     "neutral 6.5",  "neutral 5", "neutral 3.5",  "black"};

static const struct lab LAB_D50[CHART24_EDITIONS][CHART24_PATCHES] = {
    {
        {37.986, 13.555, 14.059},  {65.711, 18.13, 17.81},    {49.927, -4.88, -21.905},
        {43.139, -13.095, 21.905}, {55.112, 8.844, -25.399},  {70.719, -33.397, -0.199},
        {62.661, 36.067, 57.096},  {40.02, 10.41, -45.964},   {51.124, 48.239, 16.248},
        {30.325, 22.976, -21.587}, {72.532, -23.709, 57.255}, {71.941, 19.363, 67.857},
        {28.778, 14.179, -50.297}, {55.261, -38.342, 31.37},  {42.101, 53.378, 28.19},
        {81.733, 4.039, 79.819},   {51.935, 49.986, -14.574}, {51.038, -28.631, -28.638},
        {96.539, -0.425, 1.186},   {81.257, -0.638, -0.335},  {66.766, -0.734, -0.504},
        {50.867, -0.153, -0.27},   {35.656, -0.421, -1.231},  {20.461, -0.079, -0.973},
    },
    {
        {37.54, 14.37, 14.92},  {64.66, 19.27, 17.5},    {49.32, -3.82, -22.54}, {43.46, -12.74, 22.72},
        {54.94, 9.61, -24.79},  {70.48, -32.26, -0.37},  {62.73, 35.83, 56.5},   {39.43, 10.75, -45.17},
        {50.57, 48.64, 16.67},  {30.1, 22.54, -20.87},   {71.77, -24.13, 58.19}, {71.51, 18.24, 67.37},
        {28.37, 15.42, -49.8},  {54.38, -39.72, 32.27},  {42.43, 51.05, 28.62},  {81.8, 2.67, 80.41},
        {50.63, 51.28, -14.12}, {49.57, -29.71, -28.32}, {95.19, -1.03, 2.93},   {81.29, -0.57, 0.44},
        {66.89, -0.75, -0.06},  {50.76, -0.13, 0.14},    {35.63, -0.46, -0.48},  {20.64, 0.07, -0.46},
    }};

const char *chart24_name(int patch)
{
  return NAMES[patch];
}

struct lab chart24_lab_d50(enum chart24_edition edition, int patch)
{
  return LAB_D50[edition][patch];
}

enum { ROWS = SPECTRUM_BANDS - 2 + SPECTRUM_BANDS - 1 + 3, COLUMNS = SPECTRUM_BANDS };

/* A first difference of 1 counts as this much of a second difference: keeps the ends, which no colour fixes, from running off. */
static const double SLOPE_WEIGHT = 0.3;
/* Weight of a unit of XYZ against smoothness: the colour is met, smoothness only chooses. */
static const double COLOUR_WEIGHT = 1e4;

static double logistic(double z)
{
  return 1 / (1 + exp(-z));
}

/* d XYZ / d r of each band, from the summation itself. */
static void band_effects(double effect[3][SPECTRUM_BANDS])
{
  struct spectrum light = spectrum_of_illuminant(ILLUMINANT_D50), one = {{0}};

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    one.band[i] = 1;
    struct vec3 xyz = colour_vec_from_xyz(spectrum_xyz(&one, &light));
    one.band[i] = 0;
    for (int k = 0; k < 3; k++) {
      effect[k][i] = xyz.v[k];
    }
  }
}

static void fill_smoothness(double a[ROWS][COLUMNS])
{
  for (int i = 0; i < SPECTRUM_BANDS - 2; i++) {
    a[i][i] = 1;
    a[i][i + 1] = -2;
    a[i][i + 2] = 1;
  }
  for (int i = 0; i < SPECTRUM_BANDS - 1; i++) {
    a[SPECTRUM_BANDS - 2 + i][i] = -SLOPE_WEIGHT;
    a[SPECTRUM_BANDS - 2 + i][i + 1] = SLOPE_WEIGHT;
  }
}

/* One Newton step: the smoothest z whose colour, linear about the present z, is the target. */
static bool step(double effect[3][SPECTRUM_BANDS], struct vec3 target, double *z)
{

  double a[ROWS][COLUMNS], b[ROWS] = {0};
  struct vec3 reached = {{0, 0, 0}};
  struct error error;

  memset(a, 0, sizeof a);
  fill_smoothness(a);
  for (int k = 0; k < 3; k++) {
    double *row = a[ROWS - 3 + k], rest = target.v[k];
    for (int i = 0; i < SPECTRUM_BANDS; i++) {
      double r = logistic(z[i]), slope = effect[k][i] * r * (1 - r);
      reached.v[k] += effect[k][i] * r;
      rest += slope * z[i];
      row[i] = COLOUR_WEIGHT * slope;
    }
    b[ROWS - 3 + k] = COLOUR_WEIGHT * (rest - reached.v[k]);
  }
  return solve_linear(ROWS, COLUMNS, &a[0][0], b, z, NULL, &error);
}

bool chart24_smoothest(struct lab lab_d50, struct spectrum *reflectance)
{
  struct spectrum light = spectrum_of_illuminant(ILLUMINANT_D50);
  struct vec3 target = colour_vec_from_xyz(colour_xyz_from_lab(lab_d50, COLOUR_WHITE_D50));
  double effect[3][SPECTRUM_BANDS], z[SPECTRUM_BANDS], off = 1;

  band_effects(effect);
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    z[i] = log(target.v[1] / (100 - target.v[1]));
  }
  for (int round = 0; round < 30 && off > 1e-6; round++) {
    if (!step(effect, target, z)) {
      return false;
    }
    for (int i = 0; i < SPECTRUM_BANDS; i++) {
      reflectance->band[i] = logistic(z[i]);
    }
    struct vec3 miss = vec3_subtract(colour_vec_from_xyz(spectrum_xyz(reflectance, &light)), target);
    off = sqrt(vec3_dot(miss, miss));
  }
  return off <= 1e-6;
}
