/* SPDX-License-Identifier: MIT */
#include "report/json.h"

#include <math.h>

#include "base/file.h"
#include "measure/compact.h"
#include "munsell/notation.h"
#include "report/figures.h"
#include "report/json_write.h"
#include "report/mixed.h"

/* A fact that nobody stated is null. */
static void key_fact(struct json_writer *json, const char *key, const char *fact)
{
  json_write_key_string(json, key, fact[0] ? fact : NULL);
}

static void add_nulls(struct json_writer *json, const char *const *key, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    json_write_key(json, key[i]);
    json_write_null(json);
  }
}

static void key_three(struct json_writer *json, const char *key, const double value[3], const int decimals[3])
{
  json_write_key(json, key);
  json_write_open(json, '[');
  for (int k = 0; k < 3; k++) {
    json_write_number(json, value[k], decimals[k]);
  }
  json_write_close(json, ']');
}

static void add_program(struct json_writer *json)
{
  json_write_key_open(json, "program", '{');
  json_write_key_string(json, "version", TAWNY_VERSION);
  json_write_key_string(json, "method", FIGURES_METHOD);
  json_write_close(json, '}');
}

static void add_photo(struct json_writer *json, const struct measurement *m)
{
  json_write_key_open(json, "photo", '{');
  json_write_key_string(json, "file", m->file);
  json_write_key_string(json, "sha256", m->sha256);
  json_write_key_count(json, "width", (size_t)m->image.width);
  json_write_key_count(json, "height", (size_t)m->image.height);
  key_fact(json, "camera", m->image.exposure.camera);
  key_fact(json, "taken", m->image.exposure.taken);
  json_write_close(json, '}');
}

static void add_corners(struct json_writer *json, const struct card_pose *pose)
{
  json_write_key_open(json, "corners", '[');
  for (int k = 0; k < 4; k++) {
    json_write_open(json, '[');
    json_write_number(json, pose->corner[k].x, 2);
    json_write_number(json, pose->corner[k].y, 2);
    json_write_close(json, ']');
  }
  json_write_close(json, ']');
}

static void add_patches_left_out(struct json_writer *json, const struct measurement *m)
{
  json_write_key_open(json, "patches_left_out", '[');
  for (size_t i = 0; i < m->patches.count; i++) {
    if (m->sample[i].cause != CARD_USED) {
      json_write_open(json, '{');
      json_write_key_string(json, "patch", m->card.patch[i].name);
      json_write_key_string(json, "why", card_cause_word(m->sample[i].cause));
      json_write_close(json, '}');
    }
  }
  json_write_close(json, ']');
}

/* How far off each patch is read by a fit to the others, and within what that fit expects it in 95 % of cases; null for those
 * left out. */
static void add_patches(struct json_writer *json, const struct measurement *m)
{
  json_write_key_open(json, "patches", '[');
  for (size_t i = 0; i < m->patches.count; i++) {
    bool used = m->sample[i].cause == CARD_USED;
    json_write_open(json, '{');
    json_write_key_string(json, "patch", m->card.patch[i].name);
    json_write_key_number(json, "left_one_out", used ? m->sample[i].left_one_out : (double)NAN, 3);
    json_write_key_number(json, "expected95", used ? m->sample[i].radius : (double)NAN, 3);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

static void add_residuals(struct json_writer *json, const struct profile *profile)
{
  json_write_key_open(json, "residual", '{');
  json_write_key_number(json, "median", profile->residual.median, 3);
  json_write_key_number(json, "p95", profile->residual.p95, 3);
  json_write_key_number(json, "max", profile->residual.max, 3);
  json_write_close(json, '}');
  json_write_key_open(json, "left_one_out", '{');
  json_write_key_number(json, "median", profile->left_one_out.median, 3);
  json_write_key_number(json, "p90", profile->left_one_out.p90, 3);
  json_write_key_number(json, "p95", profile->left_one_out.p95, 3);
  json_write_key_number(json, "max", profile->left_one_out.max, 3);
  json_write_close(json, '}');
}

static void add_card(struct json_writer *json, const struct measurement *m)
{
  json_write_key_open(json, "card", '{');
  json_write_key_bool(json, "found", m->card_found);
  if (m->card_found) {
    json_write_key_string(json, "name", m->card.name);
    add_corners(json, &m->pose);
    json_write_key_count(json, "patches_used", m->profile.used);
    add_patches_left_out(json, m);
    add_residuals(json, &m->profile);
    add_patches(json, m);
    json_write_key_number(json, "mm_per_pixel", m->pose.mm_per_pixel, 4);
  } else {
    json_write_key_string(json, "reason", m->card_error.text);
  }
  json_write_close(json, '}');
}

static void add_warnings(struct json_writer *json, const struct measurement *m)
{
  json_write_key_open(json, "warnings", '[');
  for (size_t i = 0; i < m->caveats; i++) {
    const struct caveat *caveat = &m->caveat[i];
    json_write_open(json, '{');
    json_write_key_string(json, "code", caveat->code);
    json_write_key_string(json, "text", caveat->text);
    json_write_key_string(json, "region",
                          caveat->region < 0 ? NULL : m->reading[caveat->region].region->label);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

void report_json_error(struct json_writer *json, const struct error *error)
{
  json_write_key_open(json, "error", '{');
  json_write_key_string(json, "code", error->code);
  json_write_key_string(json, "text", error->text);
  json_write_close(json, '}');
}

/* What is not finite is written as null. */
static double known(bool is_known, double value)
{
  return is_known ? value : (double)NAN;
}

static void add_hvc(struct json_writer *json, const struct reading *reading)
{
  json_write_key_open(json, "hvc", '[');
  json_write_number(json, known(!reading->neutral, reading->munsell.hue), 2);
  json_write_number(json, reading->munsell.value, 2);
  json_write_number(json, reading->munsell.chroma, 2);
  json_write_close(json, ']');
}

static void add_uncertainty(struct json_writer *json, const struct reading *reading)
{
  json_write_key_open(json, "uncertainty", '{');
  json_write_key_number(json, "de00", reading->radius, 2);
  json_write_key_number(json, "hue", known(figures_hue_known(reading), reading->spread95.hue), 2);
  json_write_key_number(json, "value", reading->spread95.value, 2);
  json_write_key_number(json, "chroma", reading->spread95.chroma, 2);
  json_write_close(json, '}');
}

static void add_colour(struct json_writer *json, const struct reading *reading)
{
  static const int lab_decimals[3] = {3, 3, 3}, xyY_decimals[3] = {5, 5, 3};
  char notation[MUNSELL_NOTATION_SIZE];

  key_three(json, "lab_d50", (double[]){reading->lab_d50.L, reading->lab_d50.a, reading->lab_d50.b},
            lab_decimals);
  key_three(json, "xyY_c", (double[]){reading->xyY_c.x, reading->xyY_c.y, reading->xyY_c.Y}, xyY_decimals);
  add_hvc(json, reading);
  munsell_format(reading->munsell, 1, notation);
  json_write_key_string(json, "notation", notation);
  json_write_key_string(json, "chip", reading->chip->notation);
  json_write_key_number(json, "chip_chance", reading->chip_chance, 3);
  json_write_key_string(json, "runner_up", reading->runner_up ? reading->runner_up->notation : NULL);
  json_write_key_string(json, "name", reading->chip->name);
  add_uncertainty(json, reading);
}

/* Six numbers of the symmetric covariance, and what the readings of the photo share, column by column. */
static void add_covariance(struct json_writer *json, const struct compact_basis *basis,
                           const struct reading *reading)
{
  const struct mat3 *c = &reading->covariance;
  double columns[3][READING_SHARED];

  compact_columns(basis, reading, columns);
  json_write_key_open(json, "lab_covariance", '[');
  for (int i = 0; i < 3; i++) {
    for (int j = i; j < 3; j++) {
      json_write_number(json, c->m[i][j], 6);
    }
  }
  json_write_close(json, ']');
  json_write_key_open(json, "lab_shared", '[');
  for (size_t k = 0; k < basis->columns; k++) {
    json_write_open(json, '[');
    for (int i = 0; i < 3; i++) {
      json_write_number(json, columns[i][k], 5);
    }
    json_write_close(json, ']');
  }
  json_write_close(json, ']');
}

static void add_left_out(struct json_writer *json, const struct region_statistics *statistics)
{
  const struct region_left_out *left_out = &statistics->left_out;

  json_write_key_count(json, "pixels", statistics->pixels);
  json_write_key_open(json, "left_out", '{');
  json_write_key_number(json, "share", left_out->share, 4);
  json_write_key_number(json, "glint", left_out->glint, 4);
  json_write_key_number(json, "shadow", left_out->shadow, 4);
  json_write_key_number(json, "specks", left_out->specks, 4);
  json_write_key_number(json, "clipped", left_out->clipped, 4);
  json_write_close(json, '}');
}

static void add_reading(struct json_writer *json, const struct measurement *m,
                        const struct compact_basis *basis, const struct mottle_list *mottles,
                        const struct reading *reading)
{
  const struct region *region = reading->region;

  json_write_open(json, '{');
  json_write_key_string(json, "region", region->label);
  key_fact(json, "context", region->context);
  key_fact(json, "find", region->find);
  key_fact(json, "zone", region->zone);
  key_fact(json, "role", region->role);
  json_write_key_string(json, "moisture", region_moisture_word(region->moisture));
  if (reading->measured) {
    add_colour(json, reading);
    add_covariance(json, basis, reading);
    json_write_key_number(json, "light_gain", figures_light_gain(m, reading), 4);
    add_left_out(json, &reading->statistics);
  } else {
    report_json_error(json, &reading->error);
    add_nulls(json, (const char *const[]){"lab_covariance", "lab_shared", "light_gain", "pixels", "left_out"},
              5);
  }
  report_components(m, mottles, reading, json);
  json_write_close(json, '}');
}

void report_json_reading(struct json_writer *json, const struct measurement *m,
                         const struct compact_basis *basis, const struct reading *reading)
{
  add_reading(json, m, basis, NULL, reading);
}

static bool add_readings(struct json_writer *json, const struct measurement *m,
                         const struct mottle_list *mottles, struct error *error)
{
  struct compact_basis basis;

  if (!compact_find(m->reading, m->readings, &basis, error)) {
    return false;
  }
  json_write_key_open(json, "readings", '[');
  for (size_t i = 0; i < m->readings; i++) {
    add_reading(json, m, &basis, mottles, &m->reading[i]);
  }
  json_write_close(json, ']');
  return true;
}

static void add_comparison(struct json_writer *json, const struct measurement *m,
                           const struct comparison *comparison)
{
  json_write_open(json, '{');
  json_write_key_string(json, "a", m->reading[comparison->a].region->label);
  json_write_key_string(json, "b", m->reading[comparison->b].region->label);
  json_write_key_bool(json, "touching", comparison->touching);
  json_write_key_number(json, "de00", comparison->de00, 2);
  json_write_key_number(json, "uncertainty", comparison->uncertainty, 2);
  json_write_key_bool(json, "apart", comparison->apart);
  json_write_key_string(json, "contrast", contrast_word(comparison->contrast));
  json_write_key(json, "same_moisture");
  if (comparison->same_moisture < 0) {
    json_write_null(json);
  } else {
    json_write_bool(json, comparison->same_moisture > 0);
  }
  json_write_close(json, '}');
}

static void add_differences(struct json_writer *json, const struct measurement *m,
                            const struct comparison *comparison, size_t comparisons)
{
  json_write_key_open(json, "differences", '[');
  for (size_t i = 0; i < comparisons; i++) {
    add_comparison(json, m, &comparison[i]);
  }
  json_write_close(json, ']');
}

void report_json_head(struct json_writer *json, const struct measurement *measurement)
{
  add_program(json);
  add_photo(json, measurement);
  add_card(json, measurement);
  json_write_key_string(json, "verdict", verdict_word(measurement->verdict));
  add_warnings(json, measurement);
}

bool report_json(const struct measurement *measurement, const struct comparison *comparison,
                 size_t comparisons, const struct mottle_list *mottles, struct text *out, struct error *error)
{
  struct json_writer json = {.out = out};
  size_t start = out->length;

  json_write_open(&json, '{');
  report_json_head(&json, measurement);
  bool whole = add_readings(&json, measurement, mottles, error);
  add_differences(&json, measurement, comparison, comparisons);
  json_write_close(&json, '}');
  return json_write_end(&json, start, whole, "the JSON of a photo", error);
}

bool report_json_failure(const char *path, const struct error *failure, struct text *out, struct error *error)
{
  struct json_writer json = {.out = out};
  size_t start = out->length;

  json_write_open(&json, '{');
  json_write_key_open(&json, "photo", '{');
  json_write_key_string(&json, "file", file_name(path));
  add_nulls(&json, (const char *const[]){"sha256", "width", "height", "camera", "taken"}, 5);
  json_write_close(&json, '}');
  report_json_error(&json, failure);
  json_write_close(&json, '}');
  return json_write_end(&json, start, true, "the JSON of a photo", error);
}
