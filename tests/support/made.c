/* SPDX-License-Identifier: MIT */
#include "made.h"

#include <math.h>

#include "object_matrix.h"

static double wavelength(int band)
{
  return 380 + 5 * band;
}

static double gauss(double distance)
{
  return exp(-0.5 * distance * distance);
}

/* 1 below the edge, 0 above. */
static double edge(double nm, double at, double width)
{
  return 1 / (1 + exp((nm - at) / width));
}

static double log_between(struct random *random, double low, double high)
{
  return exp(random_between(random, log(low), log(high)));
}

struct spectrum made_soil_of(const struct soil_recipe *recipe)
{
  struct spectrum soil;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    double nm = wavelength(i), red = recipe->redness;
    double oxide = edge(nm, 520 + 55 * red, recipe->width) +
                   recipe->shoulder * gauss((nm - 650 - 30 * red) / 45) +
                   recipe->notch * gauss((nm - 485 - 45 * red) / 25);
    double q = recipe->flat + recipe->humus * exp((500 - nm) / recipe->fall) + recipe->iron * oxide;
    soil.band[i] = 1 + q - sqrt(q * q + 2 * q);
  }
  return soil;
}

struct spectrum made_soil(struct random *random)
{
  struct soil_recipe recipe;

  recipe.flat = log_between(random, 0.07, 1.6);
  recipe.humus = log_between(random, 0.1, 5);
  recipe.fall = random_between(random, 110, 220);
  recipe.iron = log_between(random, 0.25, 7);
  recipe.redness = random_unit(random) * random_unit(random);
  recipe.width = random_between(random, 18, 32);
  recipe.shoulder = random_between(random, 0.03, 0.12);
  recipe.notch = random_between(random, 0.0, 0.25);
  return made_soil_of(&recipe);
}

struct spectrum made_wet(const struct spectrum *dry, double degree)
{
  const double mirrored = 0.02, returned = 0.47;
  struct spectrum wet;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    double a = 1 - dry->band[i];
    double soaked = (1 - mirrored) * (1 - a / (1 - returned * (1 - a)));
    wet.band[i] = dry->band[i] * pow(soaked / dry->band[i], degree);
  }
  return wet;
}

struct spectrum made_flat(double reflectance)
{
  struct spectrum flat;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    flat.band[i] = reflectance;
  }
  return flat;
}

struct lab made_lab(const struct spectrum *reflectance)
{
  struct spectrum d50 = spectrum_of_illuminant(ILLUMINANT_D50);

  return colour_lab_from_xyz(spectrum_xyz(reflectance, &d50), COLOUR_WHITE_D50);
}

struct spectrum made_inclusion(struct random *random)
{
  double kind = random_unit(random);
  double level = kind < 0.15  ? random_between(random, 0.025, 0.06)
                 : kind < 0.3 ? random_between(random, 0.5, 0.8)
                              : random_between(random, 0.12, 0.45);
  double warmth = random_between(random, 0, 0.5);
  struct spectrum stone;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    stone.band[i] = level * (1 - warmth * edge(wavelength(i), 520, 60));
  }
  return stone;
}

struct spectrum made_reflectance(struct random *random)
{
  int kind = random_below(random, 4);
  double low = random_between(random, 0.03, 0.15), high = random_between(random, 0.3, 0.9);
  double at = random_between(random, 420, 680), width = random_between(random, 12, 60);
  struct spectrum r;

  if (kind == 0) {
    return object_reflectance(random);
  }
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    double shape =
        kind == 1 ? gauss((wavelength(i) - at) / (1.5 * width)) : edge(wavelength(i), at, width / 2);
    r.band[i] = low + (high - low) * (kind == 3 ? 1 - shape : shape);
  }
  return r;
}

struct spectrum made_led(double blue, double phosphor_nm, double phosphor_width)
{
  struct spectrum light;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    double nm = wavelength(i);
    light.band[i] = 100 * (blue * gauss((nm - 452) / 10) + gauss((nm - phosphor_nm) / phosphor_width));
  }
  return light;
}

void made_camera(struct random *random, struct spectrum sensitivity[3])
{
  const double centre[3] = {602, 533, 460}, left[3] = {24, 38, 24}, right[3] = {36, 38, 28};

  for (int k = 0; k < 3; k++) {
    double peak = centre[k] + random_between(random, -8, 8), scale = random_between(random, 0.88, 1.15);
    double talk = random_between(random, 0.02, 0.08), talk_at = k == 1 ? 610 : k == 0 ? 530 : 540;
    double cut = random_between(random, 655, 690); /* infrared filter */
    for (int i = 0; i < SPECTRUM_BANDS; i++) {
      double nm = wavelength(i), width = scale * (nm < peak ? left[k] : right[k]);
      double own = gauss((nm - peak) / width), foreign = talk * gauss((nm - talk_at) / 50);
      sensitivity[k].band[i] = (own + foreign) * edge(nm, cut, 12) * (1 - edge(nm, 405, 6));
    }
  }
}

struct spectrum made_deviation(const struct spectrum *reflectance, double size, struct random *random)
{
  enum { TERMS = 11 };
  double term[TERMS];
  struct spectrum changed = *reflectance;

  for (int k = 0; k < TERMS; k++) {
    term[k] = random_normal(random);
  }
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    double sum = 0, square = 0;
    for (int k = 0; k < TERMS; k++) {
      double weight = gauss((wavelength(i) - 380 - 40 * k) / 57); /* 57 = 80 / sqrt 2 */
      sum += weight * term[k];
      square += weight * weight;
    }
    changed.band[i] = fmin(reflectance->band[i] * exp(size * sum / sqrt(square)), 1);
  }
  return changed;
}
