/* SPDX-License-Identifier: MIT */
#include "compare/compare.h"

#include <stdlib.h>

#include "compare/touching.h"
#include "measure/difference.h"

static int same_moisture(const struct region *a, const struct region *b)
{
  if (a->moisture == MOISTURE_UNSTATED || b->moisture == MOISTURE_UNSTATED) {
    return -1;
  }
  return a->moisture == b->moisture;
}

static struct comparison compare_pair(const struct measurement *m, size_t i, size_t j, bool touching)
{
  const struct reading *a = &m->reading[i], *b = &m->reading[j];
  struct difference difference = touching ? difference_across(a, b) : difference_of(a, b);

  return (struct comparison){.a = i,
                             .b = j,
                             .touching = touching,
                             .de00 = difference.de00,
                             .uncertainty = difference.uncertainty,
                             .apart = difference.apart,
                             .contrast = contrast_of(a->chip->colour, b->chip->colour),
                             .same_moisture = same_moisture(a->region, b->region)};
}

struct pairs {
  struct comparison *list;
  size_t count, capacity;
};

static bool add_pair(struct pairs *pairs, struct comparison comparison)
{
  if (pairs->count == pairs->capacity) {
    size_t capacity = pairs->capacity ? 2 * pairs->capacity : 64;
    struct comparison *larger = realloc(pairs->list, capacity * sizeof *larger);
    if (!larger) {
      return false;
    }
    pairs->list = larger;
    pairs->capacity = capacity;
  }
  pairs->list[pairs->count++] = comparison;
  return true;
}

static bool list_pairs(const struct measurement *m, const struct outline_extent *extent, bool all,
                       struct pairs *pairs)
{
  for (size_t i = 0; i < m->readings; i++) {
    for (size_t j = i + 1; m->reading[i].measured && j < m->readings; j++) {
      if (!m->reading[j].measured) {
        continue;
      }
      bool touching = outline_touching(&extent[i], &extent[j]);
      if ((all || touching) && !add_pair(pairs, compare_pair(m, i, j, touching))) {
        return false;
      }
    }
  }
  return true;
}

bool compare_measurement(const struct measurement *measurement, struct comparison **list, size_t *count,
                         struct error *error)
{
  size_t n = measurement->readings, measured = 0;
  struct outline_extent *extent = calloc(n ? n : 1, sizeof *extent);
  struct pairs pairs = {0};

  *list = NULL;
  *count = 0;
  for (size_t i = 0; extent && i < n; i++) {
    if (measurement->reading[i].measured) {
      extent[i] = outline_extent_of(measurement->reading[i].region);
      measured++;
    }
  }
  bool done = extent && list_pairs(measurement, extent, measured <= COMPARE_ALL_PAIRS_MAX, &pairs);
  free(extent);
  if (!done) {
    free(pairs.list);
    return error_no_memory(error, "the comparisons");
  }
  *list = pairs.list;
  *count = pairs.count;
  return true;
}
