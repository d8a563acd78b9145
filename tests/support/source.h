/* SPDX-License-Identifier: MIT */
/* Where a scene's spectra come from: our formulas, or measured ones of ../shared where these are present. */
#ifndef TAWNY_SUPPORT_SOURCE_H
#define TAWNY_SUPPORT_SOURCE_H

#include <stdbool.h>

#include "base/error.h"
#include "chart24.h"
#include "random.h"
#include "region/region.h"
#include "shared.h"

enum { SOURCE_CHARTS_MAX = 2, SOURCE_SOIL_FILES = 5 };

struct spectra_source {
  bool measured;
  struct spectrum chart[SOURCE_CHARTS_MAX][CHART24_PATCHES];
  int charts; /* editions of the 24-patch chart                                                  */
  /* Measured only, owned: */
  struct spectra cameras;                 /* three rows a camera                                       */
  struct spectra lights;                  /* illuminants by name                                       */
  struct spectra soil[SOURCE_SOIL_FILES]; /* pairs dry, moist, wet (row i the same soil); Geeves; Australia */
};

/* Formulas only: soils, lights and cameras of made.h, the smoothest chart of each published edition. */
bool source_made(struct spectra_source *source, struct error *error);

/* Measured charts (mean of 30; Ohta), cameras, lights, soils. Fails where ../shared/spectra is absent. */
bool source_measured(struct spectra_source *source, struct error *error);

void source_clear(struct spectra_source *source);

/* Draws. A soil is drawn in the state asked for (dry, moist or wet). */
struct spectrum source_soil(const struct spectra_source *source, struct random *random,
                            enum region_moisture state);
void source_camera(const struct spectra_source *source, struct random *random,
                   struct spectrum sensitivity[3]);

/* Daylight 4600 to 7200 K, or, where `indoors`, a phosphor LED. */
struct spectrum source_light(const struct spectra_source *source, struct random *random, bool indoors);

/* Blue sky, 9000 to 20000 K. */
struct spectrum source_sky(struct random *random);

#endif
