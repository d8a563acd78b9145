/* SPDX-License-Identifier: MIT */
#include "compare/collection.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "compare/compare.h"

/* Room for one more of `size` bytes each in a list that doubles. */
static bool make_room(void **list, size_t count, size_t *capacity, size_t size)
{
  if (count < *capacity) {
    return true;
  }
  size_t larger = *capacity ? 2 * *capacity : 64;
  void *moved = realloc(*list, larger * size);
  if (moved) {
    *list = moved;
    *capacity = larger;
  }
  return moved != NULL;
}

struct collected_photo *collection_begin_photo(struct collection *c, struct error *error)
{
  struct collected_photo *larger = realloc(c->photo, (c->photos + 1) * sizeof *larger);

  if (!larger) {
    error_no_memory(error, "the list of photos");
    return NULL;
  }
  c->photo = larger;
  c->photo[c->photos] = (struct collected_photo){.shares = true, .first = c->count};
  return &c->photo[c->photos++];
}

struct collected *collection_add(struct collection *c, struct error *error)
{
  void *list = c->item;

  if (c->count == COLLECTION_MAX) {
    error_set(error, ERROR_USAGE, "too-many",
              "more than %d readings are given; compare fewer photos at a time", COLLECTION_MAX);
    return NULL;
  }
  if (!make_room(&list, c->count, &c->capacity, sizeof *c->item)) {
    error_no_memory(error, "the readings");
    return NULL;
  }
  c->item = list;
  struct collected *item = &c->item[c->count++];
  memset(item, 0, sizeof *item);
  item->photo = c->photos - 1;
  c->photo[item->photo].count++;
  return item;
}

bool collection_add_touch(struct collection *c, struct collected_touch touch, struct error *error)
{
  struct collected_touch *larger = realloc(c->touch, (c->touches + 1) * sizeof *larger);

  if (!larger) {
    return error_no_memory(error, "the pairs that touch");
  }
  c->touch = larger;
  c->touch[c->touches++] = touch;
  return true;
}

void collection_clear(struct collection *c)
{
  free(c->item);
  free(c->photo);
  free(c->touch);
  *c = (struct collection){0};
}

void collection_shorten(struct collection *c, size_t photos)
{
  if (photos >= c->photos) {
    return;
  }
  c->count = c->photo[photos].first;
  c->photos = photos;
  while (c->touches > 0 && c->touch[c->touches - 1].b >= c->count) {
    c->touches--;
  }
}

static bool given_before(const struct collection *c, const struct collected_photo *photo,
                         const struct collected_photo *before)
{
  if (photo->sha256[0] == '\0' || strcmp(photo->sha256, before->sha256) != 0) {
    return false;
  }
  for (size_t i = photo->first; i < photo->first + photo->count; i++) {
    for (size_t j = before->first; j < before->first + before->count; j++) {
      if (strcmp(c->item[i].region.label, c->item[j].region.label) == 0) {
        return true;
      }
    }
  }
  return false;
}

bool collection_check_new(const struct collection *c, struct error *error)
{
  const struct collected_photo *photo = &c->photo[c->photos - 1];

  for (size_t k = 0; k + 1 < c->photos; k++) {
    if (given_before(c, photo, &c->photo[k])) {
      return error_set(error, ERROR_USAGE, "given-twice",
                       "the same regions of photo %s are given twice; name it, or its saved readings, once",
                       photo->file);
    }
  }
  return true;
}

/* Adds one reading; its place in the collection goes to *place. */
static bool add_reading(struct collection *c, const struct measurement *m, size_t index, size_t *place,
                        struct error *error)
{
  struct collected *item = collection_add(c, error);

  if (!item) {
    return false;
  }
  item->reading = m->reading[index];
  item->region = *m->reading[index].region;
  item->region.vertex = NULL;
  item->region.vertices = 0;
  item->reading.region = NULL;
  item->columns = READING_SHARED;
  item->doubtful = m->verdict != VERDICT_SOUND;
  *place = c->count - 1;
  return true;
}

static bool add_touches(struct collection *c, const struct measurement *m, const size_t *place,
                        struct error *error)
{
  struct comparison *list = NULL;
  size_t count = 0;
  bool done = compare_measurement(m, &list, &count, error);

  for (size_t i = 0; done && i < count; i++) {
    struct collected_touch touch = {.a = place[list[i].a], .b = place[list[i].b]};
    done = !list[i].touching || (boundary_compare(m, list[i].a, list[i].b, &touch.boundary, error) &&
                                 collection_add_touch(c, touch, error));
  }
  free(list);
  return done;
}

bool collection_add_photo(struct collection *c, const struct measurement *m, struct error *error)
{
  size_t before = c->photos;
  struct collected_photo *photo = collection_begin_photo(c, error);
  size_t *place = calloc(m->readings + 1, sizeof *place);
  bool done = photo && place;

  if (photo && !place) {
    error_no_memory(error, "the readings");
  }
  if (done) {
    snprintf(photo->file, sizeof photo->file, "%s", m->file);
    snprintf(photo->sha256, sizeof photo->sha256, "%s", m->sha256);
  }
  for (size_t i = 0; done && i < m->readings; i++) {
    done = !m->reading[i].measured || add_reading(c, m, i, &place[i], error);
  }
  done = done && collection_check_new(c, error) && add_touches(c, m, place, error);
  free(place);
  if (!done) {
    collection_shorten(c, before);
  }
  return done;
}

const struct collected_touch *collection_touch(const struct collection *c, size_t a, size_t b)
{
  size_t low = a < b ? a : b, high = a < b ? b : a, from = 0, to = c->touches;

  while (from < to) {
    size_t middle = from + (to - from) / 2;
    const struct collected_touch *touch = &c->touch[middle];
    if (touch->a == low && touch->b == high) {
      return touch;
    }
    if (touch->a < low || (touch->a == low && touch->b < high)) {
      from = middle + 1;
    } else {
      to = middle;
    }
  }
  return NULL;
}

/* With nothing shared, all that a reading does not know is its own. */
static struct reading alone(const struct reading *reading)
{
  struct reading copy = *reading;

  memset(copy.shared, 0, sizeof copy.shared);
  copy.own = copy.covariance;
  return copy;
}

struct difference collection_difference(const struct collection *c, size_t a, size_t b)
{
  const struct collected_touch *touch = collection_touch(c, a, b);

  if (touch && !touch->saved) {
    return difference_across(&c->item[a].reading, &c->item[b].reading);
  }
  if (c->item[a].photo == c->item[b].photo) {
    return difference_of(&c->item[a].reading, &c->item[b].reading);
  }
  struct reading first = alone(&c->item[a].reading), second = alone(&c->item[b].reading);
  return difference_of(&first, &second);
}

/* Columns of the sum of weight[i] times the readings of one photo; false where none counts. */
static bool sum_shared(const struct collection *c, const struct collected_photo *photo, const double *weight,
                       struct vec3 column[READING_SHARED])
{
  bool any = false;

  memset(column, 0, READING_SHARED * sizeof *column);
  for (size_t i = photo->first; i < photo->first + photo->count; i++) {
    for (size_t k = 0; weight[i] != 0 && k < c->item[i].columns; k++) {
      for (int row = 0; row < 3; row++) {
        column[k].v[row] += weight[i] * c->item[i].reading.shared[row][k];
      }
    }
    any = any || weight[i] != 0;
  }
  return any;
}

struct mat3 collection_covariance(const struct collection *c, const double *weight)
{
  struct vec3 column[READING_SHARED];
  struct mat3 sum = {{{0}}};

  for (size_t i = 0; i < c->count; i++) {
    if (weight[i] != 0) {
      sum = mat3_add(sum, mat3_scale(c->item[i].reading.own, weight[i] * weight[i]));
    }
  }
  for (size_t p = 0; p < c->photos; p++) {
    if (sum_shared(c, &c->photo[p], weight, column)) {
      for (int k = 0; k < READING_SHARED; k++) {
        sum = mat3_add(sum, mat3_outer(column[k], column[k]));
      }
    }
  }
  return sum;
}

double collection_variance(const struct collection *c, const struct vec3 *gradient)
{
  double sum = 0;

  for (size_t p = 0; p < c->photos; p++) {
    double effect[READING_SHARED] = {0};
    for (size_t i = c->photo[p].first; i < c->photo[p].first + c->photo[p].count; i++) {
      const struct reading *reading = &c->item[i].reading;
      if (vec3_dot(gradient[i], gradient[i]) == 0) {
        continue;
      }
      sum += vec3_dot(gradient[i], mat3_apply(reading->own, gradient[i]));
      for (size_t k = 0; k < c->item[i].columns; k++) {
        effect[k] += gradient[i].v[0] * reading->shared[0][k] + gradient[i].v[1] * reading->shared[1][k] +
                     gradient[i].v[2] * reading->shared[2][k];
      }
    }
    for (int k = 0; k < READING_SHARED; k++) {
      sum += effect[k] * effect[k];
    }
  }
  return sum;
}
