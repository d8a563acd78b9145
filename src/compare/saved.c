/* SPDX-License-Identifier: MIT */
#include "compare/saved.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "base/quantile.h"
#include "colour/adapt.h"
#include "colour/difference.h"
#include "munsell/notation.h"

/* Numbers in a colour or covariance beyond this are no colour. */
static const double NUMBER_MAX = 1e4;

static bool fault(struct error *error, const char *format, ...) __attribute__((format(printf, 2, 3)));

static bool fault(struct error *error, const char *format, ...)
{
  char text[300];
  va_list arguments;

  va_start(arguments, format);
  vsnprintf(text, sizeof text, format, arguments);
  va_end(arguments);
  return error_set(error, ERROR_FILE, "bad-readings", "%s", text);
}

/* Null stands for what is not there. */
static bool has_error(const json_t *object)
{
  const json_t *error = json_object_get(object, "error");

  return error && !json_is_null(error);
}

/* A string that may be null or absent: "". */
static bool take_fact(const json_t *object, const char *key, char *value, size_t size, struct error *error)
{
  const json_t *found = json_object_get(object, key);

  value[0] = '\0';
  if (!found || json_is_null(found)) {
    return true;
  }
  if (!json_is_string(found) || json_string_length(found) >= size ||
      strlen(json_string_value(found)) != json_string_length(found)) {
    return fault(error, "\"%s\" must be a text of under %zu bytes, or null", key, size);
  }
  snprintf(value, size, "%s", json_string_value(found));
  return true;
}

static bool take_text(const json_t *object, const char *key, char *value, size_t size, struct error *error)
{
  return take_fact(object, key, value, size, error) &&
         (value[0] || fault(error, "\"%s\" is missing; give the file as `tawny read --json` wrote it", key));
}

static bool take_number(const json_t *value, const char *key, double *number, struct error *error)
{
  *number = json_number_value(value);
  return (json_is_number(value) && fabs(*number) < NUMBER_MAX) ||
         fault(error, "\"%s\" holds what is no number of a colour; give the file as it was written", key);
}

static bool take_numbers(const json_t *array, const char *key, size_t count, double *number,
                         struct error *error)
{
  if (!json_is_array(array) || json_array_size(array) != count) {
    return fault(error, "\"%s\" must be a list of %zu numbers", key, count);
  }
  for (size_t i = 0; i < count; i++) {
    if (!take_number(json_array_get(array, i), key, &number[i], error)) {
      return false;
    }
  }
  return true;
}

static bool take_moisture(const json_t *object, struct region *region, struct error *error)
{
  const json_t *found = json_object_get(object, "moisture");

  region->moisture = MOISTURE_UNSTATED;
  return !found || json_is_null(found) ||
         (json_is_string(found) && region_moisture_parse(json_string_value(found), &region->moisture)) ||
         fault(error, "\"moisture\" must be \"dry\", \"moist\", \"wet\" or null");
}

static bool take_facts(const json_t *object, struct region *region, struct error *error)
{
  return take_text(object, "region", region->label, sizeof region->label, error) &&
         take_fact(object, "context", region->context, sizeof region->context, error) &&
         take_fact(object, "find", region->find, sizeof region->find, error) &&
         take_fact(object, "zone", region->zone, sizeof region->zone, error) &&
         take_fact(object, "role", region->role, sizeof region->role, error) &&
         take_moisture(object, region, error);
}

static bool take_chip(const json_t *object, struct reading *reading, struct error *error)
{
  char notation[MUNSELL_NOTATION_SIZE];

  if (!take_text(object, "chip", notation, sizeof notation, error)) {
    return false;
  }
  for (size_t i = 0; i < munsell_soil_chip_count(); i++) {
    if (strcmp(munsell_soil_chip(i)->notation, notation) == 0) {
      reading->chip = munsell_soil_chip(i);
      return true;
    }
  }
  return fault(error, "\"chip\": %s is no soil chip; give the file as it was written", notation);
}

/* Everything else about the colour follows from Lab. */
static bool take_colour(const json_t *object, struct reading *reading, struct error *error)
{
  double lab[3];

  if (!take_numbers(json_object_get(object, "lab_d50"), "lab_d50", 3, lab, error)) {
    return false;
  }
  reading->lab_d50 = (struct lab){lab[0], lab[1], lab[2]};
  struct xyz c = colour_object_c_from_d50(colour_xyz_from_lab(reading->lab_d50, COLOUR_WHITE_D50));
  reading->xyY_c = colour_xyY_from_xyz(c, COLOUR_WHITE_C);
  reading->lab_c = colour_lab_from_xyz(c, COLOUR_WHITE_C);
  if (!munsell_from_xyY(reading->xyY_c, &reading->munsell, &reading->place)) {
    return fault(error, "\"lab_d50\" is no colour that a surface can have; give the file as it was written");
  }
  reading->neutral = munsell_is_neutral(reading->munsell);
  return true;
}

/* Six numbers, row by row of the upper triangle. */
static bool take_covariance(const json_t *array, struct reading *reading, struct error *error)
{
  double n[6];

  if (!take_numbers(array, "lab_covariance", 6, n, error)) {
    return false;
  }
  reading->covariance = (struct mat3){{{n[0], n[1], n[2]}, {n[1], n[3], n[4]}, {n[2], n[4], n[5]}}};
  struct mat3 vectors;
  return mat3_eigen(reading->covariance, &vectors).v[2] > -1e-6 ||
         fault(error, "\"lab_covariance\" is no covariance (a variance is negative); give the file as it was "
                      "written");
}

static bool take_shared(const json_t *array, struct collected *item, struct error *error)
{
  struct reading *reading = &item->reading;

  if (!json_is_array(array) || json_array_size(array) > READING_SHARED) {
    return fault(error, "\"lab_shared\" must be a list of up to %d columns", READING_SHARED);
  }
  item->columns = json_array_size(array);
  reading->own = reading->covariance;
  for (size_t k = 0; k < item->columns; k++) {
    double n[3];
    if (!take_numbers(json_array_get(array, k), "lab_shared", 3, n, error)) {
      return false;
    }
    struct vec3 column = {{n[0], n[1], n[2]}};
    for (int row = 0; row < 3; row++) {
      reading->shared[row][k] = n[row];
    }
    reading->own = mat3_add(reading->own, mat3_scale(mat3_outer(column, column), -1));
  }
  struct mat3 root = mat3_cholesky(reading->own); /* rounding may leave a variance just below zero */
  reading->own = mat3_multiply(root, mat3_transpose(root));
  return true;
}

/* Radius r of 95 % alone: with covariance v G^-1, G the metric, dE^2 is v times chi-squared of 3 degrees of freedom. */
static bool spread_by_radius(struct reading *reading, struct error *error)
{
  struct mat3 inverse;

  if (!(reading->radius > 0) || !mat3_invert(colour_de00_metric(reading->lab_d50), &inverse)) {
    return fault(error, "\"uncertainty\" needs a \"de00\" above 0; give the file as it was written");
  }
  reading->covariance = mat3_scale(inverse, reading->radius * reading->radius / QUANTILE_CHI_SQUARE_3_95);
  reading->own = reading->covariance;
  return true;
}

static bool take_doubt(const json_t *object, struct collected *item, bool *shares, struct error *error)
{
  const json_t *radius = json_object_get(json_object_get(object, "uncertainty"), "de00");
  const json_t *covariance = json_object_get(object, "lab_covariance");
  const json_t *shared = json_object_get(object, "lab_shared");

  if (!take_number(radius, "uncertainty.de00", &item->reading.radius, error)) {
    return false;
  }
  if (!covariance && !shared) {
    *shares = false;
    return spread_by_radius(&item->reading, error);
  }
  return take_covariance(covariance, &item->reading, error) && take_shared(shared, item, error);
}

/* Spreads of value and chroma, as written. */
static bool take_spreads(const json_t *object, struct reading *reading, struct error *error)
{
  const json_t *spread = json_object_get(object, "uncertainty"), *hue = json_object_get(spread, "hue");

  return (json_is_null(hue) || take_number(hue, "uncertainty.hue", &reading->spread95.hue, error)) &&
         take_number(json_object_get(spread, "value"), "uncertainty.value", &reading->spread95.value,
                     error) &&
         take_number(json_object_get(spread, "chroma"), "uncertainty.chroma", &reading->spread95.chroma,
                     error);
}

static bool take_reading(const json_t *object, bool doubtful, struct collection *c, struct error *error)
{
  if (!json_is_object(object)) {
    return fault(error, "\"readings\" holds what is no object; give the file as it was written");
  }
  if (has_error(object)) {
    return true;
  }
  struct collected *item = collection_add(c, error);
  if (!item) {
    return false;
  }
  item->doubtful = doubtful;
  item->reading.measured = true;
  return (take_facts(object, &item->region, error) && take_colour(object, &item->reading, error) &&
          take_chip(object, &item->reading, error) && take_spreads(object, &item->reading, error) &&
          take_doubt(object, item, &c->photo[c->photos - 1].shares, error)) ||
         (item->region.label[0] && error->kind == ERROR_FILE && error_prefix(error, item->region.label));
}

/* The reading of this label in the last photo; false: it was passed over, or there is none. */
static bool find_label(const struct collection *c, const json_t *label, size_t *found)
{
  const struct collected_photo *photo = &c->photo[c->photos - 1];

  for (size_t i = photo->first; json_is_string(label) && i < photo->first + photo->count; i++) {
    if (strcmp(c->item[i].region.label, json_string_value(label)) == 0) {
      *found = i;
      return true;
    }
  }
  return false;
}

static bool take_touch(const json_t *pair, struct collection *c, struct error *error)
{
  struct collected_touch touch = {.saved = true};

  if (!json_is_true(json_object_get(pair, "touching"))) {
    return true;
  }
  if (!find_label(c, json_object_get(pair, "a"), &touch.a) ||
      !find_label(c, json_object_get(pair, "b"), &touch.b) || touch.a >= touch.b) {
    return fault(error, "\"differences\" names a pair that \"readings\" does not have in this order");
  }
  return collection_add_touch(c, touch, error);
}

static int by_readings(const void *left, const void *right)
{
  const struct collected_touch *x = left, *y = right;

  return x->a != y->a ? (x->a < y->a ? -1 : 1) : (x->b > y->b) - (x->b < y->b);
}

/* Whoever has ordered "differences" anew, say by distance, has changed nothing that matters. */
static bool take_touches(const json_t *photo, struct collection *c, struct error *error)
{
  const json_t *list = json_object_get(photo, "differences");
  size_t before = c->touches;

  for (size_t i = 0; i < json_array_size(list); i++) {
    if (!take_touch(json_array_get(list, i), c, error)) {
      return false;
    }
  }
  if (c->touches > before) {
    qsort(c->touch + before, c->touches - before, sizeof *c->touch, by_readings);
  }
  for (size_t i = before + 1; i < c->touches; i++) {
    if (by_readings(&c->touch[i - 1], &c->touch[i]) == 0) {
      return fault(error, "\"differences\" has the pair %s and %s twice; give the file as it was written",
                   c->item[c->touch[i].a].region.label, c->item[c->touch[i].b].region.label);
    }
  }
  return true;
}

/* Labels are what pairs are named by. */
static bool check_labels(const struct collection *c, struct error *error)
{
  const struct collected_photo *photo = &c->photo[c->photos - 1];

  for (size_t i = photo->first; i < photo->first + photo->count; i++) {
    for (size_t j = photo->first; j < i; j++) {
      if (strcmp(c->item[i].region.label, c->item[j].region.label) == 0) {
        return fault(error, "\"readings\" has region %s twice; give the file as it was written",
                     c->item[i].region.label);
      }
    }
  }
  for (size_t i = photo->first + 1; i < photo->first + photo->count; i++) {
    if (photo->shares && c->item[i].columns != c->item[i - 1].columns) {
      return fault(error, "\"lab_shared\" has more columns in some readings than in others");
    }
  }
  return true;
}

static bool take_photo(const json_t *root, struct collection *c, struct error *error)
{
  const json_t *photo = json_object_get(root, "photo"), *readings = json_object_get(root, "readings");
  const char *verdict = json_string_value(json_object_get(root, "verdict"));

  if (has_error(root)) {
    return true; /* a photo that failed */
  }
  if (!json_is_object(photo) || !json_is_array(readings)) {
    return fault(error, "there is no \"%s\"; give what `tawny read --json` wrote, one object a line",
                 json_is_object(photo) ? "readings" : "photo");
  }
  struct collected_photo *made = collection_begin_photo(c, error);
  if (!made || !take_text(photo, "file", made->file, sizeof made->file, error) ||
      !take_fact(photo, "sha256", made->sha256, sizeof made->sha256, error)) {
    return false;
  }
  for (size_t i = 0; i < json_array_size(readings); i++) {
    if (!take_reading(json_array_get(readings, i), verdict && strcmp(verdict, "sound") != 0, c, error)) {
      return false;
    }
  }
  return check_labels(c, error) && take_touches(root, c, error) && collection_check_new(c, error);
}

static bool take_line(const char *name, const char *line, size_t length, size_t number, struct collection *c,
                      struct error *error)
{
  json_error_t where;
  char place[300];
  json_t *root = json_loadb(line, length, JSON_REJECT_DUPLICATES, &where);
  bool done = root != NULL;

  if (root) {
    done = take_photo(root, c, error);
    json_decref(root);
  } else {
    fault(error, "column %d: %s; give what `tawny read --json` wrote, one object a line", where.column,
          where.text);
  }
  if (!done && error->kind == ERROR_FILE) {
    snprintf(place, sizeof place, "%.200s: line %zu", name, number);
    error_prefix(error, place);
  }
  return done;
}

bool saved_looks_so(const struct file_bytes *file)
{
  size_t at = 0;

  while (at < file->size && strchr(" \t\r\n", file->data[at]) && file->data[at]) {
    at++;
  }
  return at < file->size && file->data[at] == '{';
}

static bool is_blank_line(const char *line, size_t length)
{
  for (size_t i = 0; i < length; i++) {
    if (!strchr(" \t\r", line[i]) || !line[i]) {
      return false;
    }
  }
  return true;
}

bool saved_read(const char *name, const struct file_bytes *file, struct collection *collection,
                struct error *error)
{
  const char *at = (const char *)file->data, *end = at + file->size;
  size_t before = collection->photos;

  for (size_t number = 1; at < end; number++) {
    const char *newline = memchr(at, '\n', (size_t)(end - at));
    size_t length = (size_t)((newline ? newline : end) - at);
    if (!is_blank_line(at, length) && !take_line(name, at, length, number, collection, error)) {
      collection_shorten(collection, before);
      return false;
    }
    at += length + 1;
  }
  return true;
}
