/* SPDX-License-Identifier: MIT */
#include "compare/pairs.h"

#include <math.h>
#include <stdlib.h>

#include "base/quantile.h"
#include "colour/difference.h"

size_t pair_index(size_t count, size_t i, size_t j)
{
  return i * (2 * count - i - 1) / 2 + (j - i - 1);
}

/* Six numbers of a symmetric matrix: LL La Lb aa ab bb. */
struct symmetric {
  double ll, la, lb, aa, ab, bb;
};

static struct symmetric sum_of(const struct mat3 *a, const struct mat3 *b)
{
  return (struct symmetric){a->m[0][0] + b->m[0][0] + DIFFERENCE_VARIANCE_FLOOR,
                            a->m[0][1] + b->m[0][1],
                            a->m[0][2] + b->m[0][2],
                            a->m[1][1] + b->m[1][1] + DIFFERENCE_VARIANCE_FLOOR,
                            a->m[1][2] + b->m[1][2],
                            a->m[2][2] + b->m[2][2] + DIFFERENCE_VARIANCE_FLOOR};
}

/* All but the column `without`. */
static void add_shared(struct symmetric *c, const struct collected *a, const struct collected *b,
                       size_t without)
{
  for (size_t k = 0; k < a->columns; k++) {
    if (k == without) {
      continue;
    }
    double l = a->reading.shared[0][k] - b->reading.shared[0][k];
    double m = a->reading.shared[1][k] - b->reading.shared[1][k];
    double n = a->reading.shared[2][k] - b->reading.shared[2][k];
    c->ll += l * l;
    c->la += l * m;
    c->lb += l * n;
    c->aa += m * m;
    c->ab += m * n;
    c->bb += n * n;
  }
}

/* d' C^-1 d by the adjugate. */
static bool zero_is_outside(struct vec3 d, const struct symmetric *c)
{
  double p = c->aa * c->bb - c->ab * c->ab, q = c->lb * c->ab - c->la * c->bb,
         r = c->la * c->ab - c->lb * c->aa;
  double s = c->ll * c->bb - c->lb * c->lb, t = c->la * c->lb - c->ll * c->ab,
         u = c->ll * c->aa - c->la * c->la;
  double determinant = c->ll * p + c->la * q + c->lb * r, x = d.v[0], y = d.v[1], z = d.v[2];

  return x * x * p + y * y * s + z * z * u + 2 * (x * y * q + x * z * r + y * z * t) >
         QUANTILE_CHI_SQUARE_3_95 * determinant;
}

/* As collection_difference(); `touch` is NULL where the two don't touch. */
static bool told_apart(const struct collected *a, const struct collected *b,
                       const struct collected_touch *touch)
{
  bool together = a->photo == b->photo;
  struct symmetric c = together ? sum_of(&a->reading.own, &b->reading.own)
                                : sum_of(&a->reading.covariance, &b->reading.covariance);

  if (together) {
    add_shared(&c, a, b, touch && !touch->saved ? READING_UNSURE : READING_SHARED);
  }
  return zero_is_outside(
      (struct vec3){{b->reading.lab_d50.L - a->reading.lab_d50.L, b->reading.lab_d50.a - a->reading.lab_d50.a,
                     b->reading.lab_d50.b - a->reading.lab_d50.b}},
      &c);
}

bool pair_table_make(const struct collection *c, struct pair_table *table, struct error *error)
{
  size_t n = c->count, pairs = n * (n - 1) / 2, at = 0, next = 0;

  *table = (struct pair_table){n, malloc((pairs + 1) * sizeof *table->de00), malloc(pairs + 1)};
  if (!table->de00 || !table->apart) {
    pair_table_clear(table);
    return error_no_memory(error, "the pairs");
  }
  for (size_t i = 0; i < n; i++) {
    for (size_t j = i + 1; j < n; j++, at++) {
      table->de00[at] = (float)colour_de00(c->item[i].reading.lab_d50, c->item[j].reading.lab_d50);
      bool touching = next < c->touches && c->touch[next].a == i && c->touch[next].b == j;
      table->apart[at] = told_apart(&c->item[i], &c->item[j], touching ? &c->touch[next] : NULL);
      next += touching;
    }
  }
  return true;
}

void pair_table_clear(struct pair_table *table)
{
  free(table->de00);
  free(table->apart);
  *table = (struct pair_table){0};
}

struct steps pair_steps(struct munsell first, struct munsell second)
{
  struct steps steps = {.hue_known = !munsell_is_neutral(first) && !munsell_is_neutral(second),
                        .value = second.value - first.value,
                        .chroma = second.chroma - first.chroma};

  if (steps.hue_known) {
    steps.pages = remainder(second.hue - first.hue, 100) / 2.5;
  }
  return steps;
}

const char *pair_lightness_word(const struct pair *pair)
{
  return pair->parts.lightness > 0 ? "lighter" : "darker";
}

const char *pair_chroma_word(const struct pair *pair)
{
  return pair->parts.chroma > 0 ? "stronger" : "weaker";
}

/* Families stand at 5R 5, 5Y 25, 5G 45, 5B 65, 5P 85. Going up from a hue, the next of these named is what it turns to; going
 * down, the one before. */
const char *pair_hue_word(struct munsell first, struct munsell second)
{
  static const char *const word[5] = {"redder", "yellower", "greener", "bluer", "more purple"};
  struct steps steps = pair_steps(first, second);

  if (!steps.hue_known) {
    return NULL;
  }
  double middle = fmod(first.hue + 1.25 * steps.pages + 100 - 5, 100) / 20; /* 0 at 5R, 1 at 5Y ... */
  int below = (int)floor(middle) % 5;
  return word[steps.pages > 0 ? (below + 1) % 5 : below];
}

/* Directions of lightness, chroma and hue in Lab at the middle of both colours; whether each part alone is beyond what its
 * standard deviation explains. */
static void tell_parts(const struct collected *a, const struct collected *b, struct pair *pair)
{
  double ma = (a->reading.lab_d50.a + b->reading.lab_d50.a) / 2;
  double mb = (a->reading.lab_d50.b + b->reading.lab_d50.b) / 2, length = hypot(ma, mb);
  struct vec3 direction[3] = {{{1, 0, 0}}, {{0, 1, 0}}, {{0, 0, 1}}};
  bool *told[3] = {&pair->lightness, &pair->chroma, &pair->hue};

  if (length > 0) {
    direction[1] = (struct vec3){{0, ma / length, mb / length}};
    direction[2] = (struct vec3){{0, -mb / length, ma / length}};
  }
  for (int k = 0; k < 3; k++) {
    double sd = sqrt(vec3_dot(direction[k], mat3_apply(pair->difference.covariance, direction[k])));
    *told[k] = fabs(vec3_dot(direction[k], pair->difference.lab)) > QUANTILE_NORMAL_95 * sd;
  }
  pair->hue = pair->hue && pair->measured.hue_known;
}

static int same_moisture(const struct region *a, const struct region *b)
{
  if (a->moisture == MOISTURE_UNSTATED || b->moisture == MOISTURE_UNSTATED) {
    return -1;
  }
  return a->moisture == b->moisture;
}

struct pair pair_of(const struct collection *c, size_t a, size_t b)
{
  const struct collected *first = &c->item[a], *second = &c->item[b];
  struct munsell chip_a = first->reading.chip->colour, chip_b = second->reading.chip->colour;
  struct pair pair = {.a = a,
                      .b = b,
                      .difference = collection_difference(c, a, b),
                      .parts = colour_difference_2000(first->reading.lab_d50, second->reading.lab_d50),
                      .measured = pair_steps(first->reading.munsell, second->reading.munsell),
                      .chips = pair_steps(chip_a, chip_b),
                      .contrast = contrast_of(chip_a, chip_b),
                      .interpolated = contrast_of(first->reading.munsell, second->reading.munsell),
                      .same_moisture = same_moisture(&first->region, &second->region),
                      .touch = collection_touch(c, a, b)};

  tell_parts(first, second, &pair);
  return pair;
}

struct near_pair {
  float de00;
  uint32_t a, b;
};

static int by_nearness(const void *left, const void *right)
{
  const struct near_pair *x = left, *y = right;

  if (x->de00 != y->de00) {
    return x->de00 < y->de00 ? -1 : 1;
  }
  return x->a != y->a ? (x->a < y->a ? -1 : 1) : (x->b > y->b) - (x->b < y->b);
}

/* The least of STEPS distances at or below which more than `room` pairs lie, infinite where no more than that are there: sorting
 * half a million pairs for the sake of a few would take longer than all else. */
static float near_limit(const struct pair_table *table, size_t pairs, size_t room)
{
  enum { STEPS = 4096 };
  const float most = 130;
  size_t count[STEPS] = {0}, sum = 0;
  int step = 0;

  for (size_t i = 0; i < pairs; i++) {
    int at = (int)(table->de00[i] / most * (float)STEPS);
    count[at < STEPS - 1 ? at : STEPS - 1]++;
  }
  while (step < STEPS && sum + count[step] <= room) {
    sum += count[step++];
  }
  return step == STEPS ? INFINITY : most * (float)(step + 1) / (float)STEPS;
}

static size_t list_touching(const struct collection *c, size_t most, struct pair_choice *list)
{
  size_t count = 0;

  for (size_t i = 0; i < c->touches && count < most; i++) {
    list[count++] = (struct pair_choice){c->touch[i].a, c->touch[i].b};
  }
  return count;
}

/* Pairs that don't touch and are not beyond the limit, nearest first. */
static size_t list_near(const struct collection *c, const struct pair_table *table, float limit,
                        struct near_pair *near)
{
  size_t count = 0, at = 0;

  for (size_t i = 0; i < table->count; i++) {
    for (size_t j = i + 1; j < table->count; j++, at++) {
      if (table->de00[at] <= limit && !collection_touch(c, i, j)) {
        near[count++] = (struct near_pair){table->de00[at], (uint32_t)i, (uint32_t)j};
      }
    }
  }
  qsort(near, count, sizeof *near, by_nearness);
  return count;
}

bool pair_choose(const struct collection *c, const struct pair_table *table, size_t most,
                 struct pair_choice **list, size_t *count, struct error *error)
{
  size_t pairs = table->count * (table->count - 1) / 2;
  size_t room = pairs < most ? pairs : most;
  struct near_pair *near = malloc((pairs + 1) * sizeof *near);

  *list = malloc((room + 1) * sizeof **list);
  *count = 0;
  if (!*list || !near) {
    free(near);
    free(*list);
    *list = NULL;
    return error_no_memory(error, "the pairs");
  }
  *count = list_touching(c, room, *list);
  size_t found = list_near(c, table, near_limit(table, pairs, room), near);
  for (size_t i = 0; i < found && *count < room; i++) {
    (*list)[(*count)++] = (struct pair_choice){near[i].a, near[i].b};
  }
  free(near);
  return true;
}
