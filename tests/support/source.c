/* SPDX-License-Identifier: MIT */
#include "source.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "made.h"

enum { SOIL_DRY, SOIL_MOIST, SOIL_WET, SOIL_GEEVES, SOIL_AUSTRALIA };

static const char *const SOIL_FILES[SOURCE_SOIL_FILES] = {
    "soil_pairs_dry", "soil_pairs_moist", "soil_pairs_wet", "soil_geeves_dry", "soil_australia"};
static const char *const CHART_FILES[SOURCE_CHARTS_MAX] = {"chart24_average30", "chart24_ohta1997"};
static const char *const LEDS[] = {"LED-B1", "LED-B3", "LED-B4", "LED-B5", "LED-V1", "NIST-Phosphor_LED_YAG"};

bool source_made(struct spectra_source *source, struct error *error)
{
  memset(source, 0, sizeof *source);
  source->charts = CHART24_EDITIONS;
  for (int edition = 0; edition < CHART24_EDITIONS; edition++) {
    for (int patch = 0; patch < CHART24_PATCHES; patch++) {
      if (!chart24_smoothest(chart24_lab_d50(edition, patch), &source->chart[edition][patch])) {
        return error_set(error, ERROR_INTERNAL, "no-spectrum", "no smooth reflectance for %s",
                         chart24_name(patch));
      }
    }
  }
  return true;
}

static bool read_shared(const char *name, double beyond, struct spectra *spectra, struct error *error)
{
  char path[512], file[96];

  snprintf(file, sizeof file, "spectra/%s.csv", name);
  if (!shared_path(file, path, sizeof path)) {
    return error_set(error, ERROR_FILE, "absent", "%s is not there", path);
  }
  return spectra_read(path, beyond, spectra, error);
}

static bool read_chart(const char *name, struct spectrum chart[CHART24_PATCHES], struct error *error)
{
  struct spectra rows;

  if (!read_shared(name, 1, &rows, error)) {
    return false;
  }
  bool whole = rows.count == CHART24_PATCHES;
  if (whole) {
    memcpy(chart, rows.spectrum, CHART24_PATCHES * sizeof *chart);
  }
  spectra_clear(&rows);
  return whole || error_set(error, ERROR_FILE, "bad-spectra", "%s: not 24 patches", name);
}

bool source_measured(struct spectra_source *source, struct error *error)
{
  bool done = true;

  memset(source, 0, sizeof *source);
  source->measured = true;
  source->charts = SOURCE_CHARTS_MAX;
  for (int i = 0; done && i < SOURCE_CHARTS_MAX; i++) {
    done = read_chart(CHART_FILES[i], source->chart[i], error);
  }
  for (int i = 0; done && i < SOURCE_SOIL_FILES; i++) {
    done = read_shared(SOIL_FILES[i], 1, &source->soil[i], error);
  }
  done = done && read_shared("cameras_jiang2013", 0, &source->cameras, error) &&
         read_shared("illuminants", 1, &source->lights, error);
  if (!done) {
    source_clear(source);
  }
  return done;
}

void source_clear(struct spectra_source *source)
{
  for (int i = 0; i < SOURCE_SOIL_FILES; i++) {
    spectra_clear(&source->soil[i]);
  }
  spectra_clear(&source->cameras);
  spectra_clear(&source->lights);
  memset(source, 0, sizeof *source);
}

static const struct spectrum *drawn(const struct spectra *spectra, struct random *random)
{
  return &spectra->spectrum[random_below(random, (int)spectra->count)];
}

static struct spectrum measured_soil(const struct spectra_source *source, struct random *random,
                                     enum region_moisture state)
{
  if (state == MOISTURE_MOIST || state == MOISTURE_WET) {
    return *drawn(&source->soil[state == MOISTURE_WET ? SOIL_WET : SOIL_MOIST], random);
  }
  const int dry[3] = {SOIL_DRY, SOIL_GEEVES, SOIL_AUSTRALIA};
  return *drawn(&source->soil[dry[random_below(random, 3)]], random);
}

struct spectrum source_soil(const struct spectra_source *source, struct random *random,
                            enum region_moisture state)
{
  if (source->measured) {
    return measured_soil(source, random, state);
  }
  struct spectrum dry = made_soil(random);
  double degree = state == MOISTURE_WET ? random_between(random, 1.2, 1.6) : random_between(random, 0.8, 1.2);
  return state == MOISTURE_MOIST || state == MOISTURE_WET ? made_wet(&dry, degree) : dry;
}

void source_camera(const struct spectra_source *source, struct random *random, struct spectrum sensitivity[3])
{
  if (!source->measured) {
    made_camera(random, sensitivity);
    return;
  }
  int camera = random_below(random, (int)(source->cameras.count / 3));
  memcpy(sensitivity, &source->cameras.spectrum[3 * camera], 3 * sizeof *sensitivity);
}

struct spectrum source_light(const struct spectra_source *source, struct random *random, bool indoors)
{
  if (!indoors) {
    return spectrum_of_daylight(random_between(random, 4600, 7200));
  }
  if (source->measured) {
    const char *name = LEDS[random_below(random, sizeof LEDS / sizeof *LEDS)];
    const struct spectrum *light = spectra_find(&source->lights, name);
    return light ? *light : spectrum_of_illuminant(ILLUMINANT_D65);
  }
  return made_led(random_between(random, 0.6, 1.4), random_between(random, 550, 575),
                  random_between(random, 50, 62));
}

struct spectrum source_sky(struct random *random)
{
  return spectrum_of_daylight(exp(random_between(random, log(9000), log(20000))));
}
