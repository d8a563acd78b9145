/* SPDX-License-Identifier: MIT */
#include "compare/mottle.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "colour/difference.h"
#include "compare/mottle_cells.h"
#include "compare/mottle_map.h"
#include "compare/mottle_size.h"
#include "measure/shared.h"
#include "measure/values.h"
#include "region/core.h"
#include "region/walk.h"

enum {
  SAMPLE = 1024,    /* cells that decide on the mixture                          */
  CELLS_LEAST = 80, /* fewer tell no parts                                       */
  LUMPS_LEAST = 3,  /* of LUMP_WIDE cells or more, that make a part of small share */
  LUMP_WIDE = 8,
  INNER_LEAST = 4 /* cells clear of other parts that give a part its colour    */
};

static const double CELL_MM = 0.5;      /* cells are at least so wide, where there is a scale: grains    */
static const double CLEAR = 3;          /* standard deviations between the means of two parts            */
static const double CONTRAST_LEAST = 3; /* CIEDE2000 with kL = 2: relief and light make lightness alone  */
static const double SHARE_FEW_LUMPS = 0.15;
static const double SHARE_LEAST = 0.004;
static const double BETWEEN = 2.5;    /* standard deviations                                        */
static const double RIM_INNER = 0.15; /* of a rim's cells that lie inside it                        */
static const double PATCH = 9;        /* cells that texture makes alike: 3 x 3 */

/* What a region is searched with. */
struct search {
  const struct measurement *measurement;
  const struct shared_unknowns *shared;
  size_t index; /* of the reading */
  struct mottle_cells cells;
  struct vec3 *colour; /* owned: up to SAMPLE cells, evenly picked */
  size_t count;
  struct mixture mixture;
  struct mottle_map map;
};

static bool draw_cells(struct search *s, struct error *error)
{
  size_t all = (size_t)s->cells.columns * (size_t)s->cells.rows, step = all / SAMPLE + 1, filled = 0;

  s->colour = calloc(all / step + 1, sizeof *s->colour);
  if (!s->colour) {
    return error_no_memory(error, "the mottles of a region");
  }
  for (size_t i = 0; i < all; i++) {
    const struct mottle_cell *cell = &s->cells.cell[i];
    if ((double)cell->filled >= MOTTLE_FILLED && filled++ % step == 0) {
      s->colour[s->count++] =
          (struct vec3){{(double)cell->log[0], (double)cell->log[1], (double)cell->log[2]}};
    }
  }
  return true;
}

/* What rounding and compression leave in a cell's mean. */
static struct mat3 least_covariance(void)
{
  const double size = 0.006;

  return mat3_diagonal((struct vec3){{size * size, size * size, size * size}});
}

/* One part: the core of the cells. */
static bool begin_mixture(struct search *s, struct error *error)
{
  struct core core;

  if (!core_find(s->colour, s->count, least_covariance(), &core)) {
    return error_no_memory(error, "the mottles of a region");
  }
  s->mixture =
      (struct mixture){.parts = 1, .share = {1}, .mean = {core.centre}, .covariance = core.covariance};
  return true;
}

static struct lab lab_of(const struct search *s, struct vec3 log_linear)
{
  for (int k = 0; k < 3; k++) {
    log_linear.v[k] = fmax(exp(log_linear.v[k]) - WALK_FLOOR, 0);
  }
  return profile_lab(&s->measurement->profile, log_linear);
}

/* CIEDE2000 with lightness counted half. */
static double contrast_beyond_relief(struct lab a, struct lab b)
{
  struct colour_difference d = colour_difference_2000(a, b);

  return sqrt(fmax(d.total * d.total - 0.75 * d.lightness * d.lightness, 0));
}

static bool stands_clear(const struct search *s, const struct mixture *m)
{
  struct mat3 whiten = mixture_whitening(m->covariance);

  for (size_t a = 0; a < m->parts; a++) {
    for (size_t b = a + 1; b < m->parts; b++) {
      if (mixture_distance2(whiten, m->mean[a], m->mean[b]) < CLEAR * CLEAR ||
          contrast_beyond_relief(lab_of(s, m->mean[a]), lab_of(s, m->mean[b])) < CONTRAST_LEAST) {
        return false;
      }
    }
  }
  return true;
}

static void grow_mixture(struct search *s)
{
  struct mixture grown = s->mixture;

  while (mixture_grow(s->colour, s->count, least_covariance(), &grown) && stands_clear(s, &grown)) {
    s->mixture = grown;
  }
}

/* Whether the mean of a part lies between those of two others: within 2.5 standard deviations of the line from one to the other. */
static bool lies_between(const struct mixture *m, size_t part)
{
  struct mat3 whiten = mixture_whitening(m->covariance);

  for (size_t a = 0; a < m->parts; a++) {
    for (size_t b = a + 1; b < m->parts; b++) {
      struct vec3 along = mat3_apply(whiten, vec3_subtract(m->mean[b], m->mean[a]));
      struct vec3 here = mat3_apply(whiten, vec3_subtract(m->mean[part], m->mean[a]));
      double t = vec3_dot(along, here) / vec3_dot(along, along);
      struct vec3 off = vec3_subtract(here, vec3_scale(along, t));
      if (a != part && b != part && t > 0 && t < 1 && vec3_dot(off, off) < BETWEEN * BETWEEN) {
        return true;
      }
    }
  }
  return false;
}

static size_t count_inner(const struct search *s, size_t part)
{
  size_t inner = 0;

  for (int y = 0; y < s->cells.rows; y++) {
    for (int x = 0; x < s->cells.columns; x++) {
      inner += s->map.part[(size_t)y * (size_t)s->cells.columns + (size_t)x] == part &&
               mottle_map_inner(&s->map, x, y);
    }
  }
  return inner;
}

/* A part that is nothing but the rims of others, whose cells hold both colours; the mixture's parts if there is none. */
static size_t find_rim(const struct search *s)
{
  for (size_t k = 0; k < s->mixture.parts; k++) {
    if (k != s->map.main && lies_between(&s->mixture, k) &&
        (double)count_inner(s, k) <= RIM_INNER * (double)s->map.count[k]) {
      return k;
    }
  }
  return s->mixture.parts;
}

static void drop_part(struct mixture *m, size_t part)
{
  m->parts--;
  for (size_t k = part; k < m->parts; k++) {
    m->mean[k] = m->mean[k + 1];
    m->share[k] = m->share[k + 1];
  }
}

/* Labels the cells; rims that were taken for a part go to the parts they lie between. */
static bool make_map(struct search *s, struct error *error)
{
  bool done = mottle_map_make(&s->cells, &s->mixture, &s->map, error);

  for (size_t rim; done && (rim = find_rim(s)) < s->mixture.parts;) {
    drop_part(&s->mixture, rim);
    mottle_map_clear(&s->map);
    done = mottle_map_make(&s->cells, &s->mixture, &s->map, error);
  }
  return done;
}

/* Whether a part besides the largest is more than inclusions. */
static bool is_part(const struct search *s, size_t part)
{
  size_t lumps = 0, all = 0;

  for (size_t i = 0; i < s->map.lumps; i++) {
    lumps += s->map.lump[i].part == part && s->map.lump[i].cells >= LUMP_WIDE;
  }
  for (size_t k = 0; k < MIXTURE_PARTS_MAX; k++) {
    all += s->map.count[k];
  }
  double share = (double)s->map.count[part] / (double)all;
  return share >= SHARE_FEW_LUMPS || (lumps >= LUMPS_LEAST && share >= SHARE_LEAST);
}

/* Turns the cells of a part into inclusions. */
static void leave_out(struct search *s, size_t part)
{
  size_t count = (size_t)s->cells.columns * (size_t)s->cells.rows, kept = 0;

  for (size_t i = 0; i < count; i++) {
    s->map.part[i] = s->map.part[i] == part ? MOTTLE_NONE : s->map.part[i];
  }
  for (size_t i = 0; i < s->map.lumps; i++) {
    if (s->map.lump[i].part != part) {
      s->map.lump[kept++] = s->map.lump[i];
    }
  }
  s->map.lumps = kept;
  s->map.specks += s->map.count[part];
  s->map.count[part] = 0;
}

static int compare_floats(const void *a, const void *b)
{
  float x = *(const float *)a, y = *(const float *)b;

  return (x > y) - (x < y);
}

/* Cells that give a part its colour: those inside it, or all where there are few. */
struct members {
  size_t count;
  struct vec3 log;  /* mean                                                                  */
  struct vec3 rise; /* median of log(mean of linear light) - mean of log: what texture inside a cell adds */
  struct point place;
};

static void list_members(const struct search *s, size_t part, bool inner, float *rise,
                         struct members *members)
{
  const struct mottle_cells *cells = &s->cells;

  *members = (struct members){0};
  for (int y = 0; y < cells->rows; y++) {
    for (int x = 0; x < cells->columns; x++) {
      size_t at = (size_t)y * (size_t)cells->columns + (size_t)x;
      if (s->map.part[at] != part || (inner && !mottle_map_inner(&s->map, x, y))) {
        continue;
      }
      for (int k = 0; k < 3; k++) {
        double log_mean = log(fmax((double)cells->cell[at].linear[k], 0) + WALK_FLOOR);
        members->log.v[k] += (double)cells->cell[at].log[k];
        rise[3 * members->count + (size_t)k] = (float)(log_mean - (double)cells->cell[at].log[k]);
      }
      members->place.x += cells->left + (x + 0.5) * cells->side;
      members->place.y += cells->top + (y + 0.5) * cells->side;
      members->count++;
    }
  }
}

/* Medians of the three channels, which lie by turns in `rise`; `sorted` is room for one channel. */
static struct vec3 median_rise(const float *rise, float *sorted, size_t count)
{
  struct vec3 median;

  for (size_t k = 0; k < 3; k++) {
    for (size_t i = 0; i < count; i++) {
      sorted[i] = rise[3 * i + k];
    }
    qsort(sorted, count, sizeof *sorted, compare_floats);
    median.v[k] = fmax((double)sorted[count / 2], 0);
  }
  return median;
}

static bool find_members(const struct search *s, size_t part, struct members *members, struct error *error)
{
  size_t count = s->map.count[part];
  float *rise = calloc(4 * count, sizeof *rise);

  if (!rise) {
    return error_no_memory(error, "the mottles of a region");
  }
  list_members(s, part, true, rise, members);
  if (members->count < INNER_LEAST) {
    list_members(s, part, false, rise, members);
  }
  double n = (double)members->count;
  members->log = vec3_scale(members->log, 1 / n);
  members->rise = median_rise(rise, rise + 3 * count, members->count);
  members->place = (struct point){members->place.x / n, members->place.y / n};
  free(rise);
  return true;
}

/* The colour of a part as a reading: mean of linear light, from the mean of logarithms and what texture adds inside cells and
 * between them, so that a glint in a cell does not count. */
static bool read_part(const struct search *s, size_t part, struct reading *reading, struct error *error)
{
  const struct measurement *m = s->measurement;
  struct members members = {0};

  if (!find_members(s, part, &members, error)) {
    return false;
  }
  struct mat3 spread = s->mixture.covariance;
  struct region_statistics *statistics = &reading->statistics;
  *reading = (struct reading){.region = m->reading[s->index].region};
  for (int k = 0; k < 3; k++) {
    double log_linear = members.log.v[k] + members.rise.v[k] + spread.m[k][k] / 2;
    statistics->linear.v[k] = fmax(exp(log_linear) - WALK_FLOOR, 0);
  }
  statistics->centre = members.place;
  statistics->gain = light_gain(&m->light, members.place);
  statistics->pixels = s->map.count[part] * (size_t)s->cells.side * (size_t)s->cells.side;
  struct vec3 slope = vec3_add(statistics->linear, (struct vec3){{WALK_FLOOR, WALK_FLOOR, WALK_FLOOR}});
  double places = fmax((double)members.count / PATCH, 1);
  statistics->covariance = mat3_scale(mat3_congruence(mat3_diagonal(slope), spread), 1 / places);
  reading->lab_d50 = profile_lab(&m->profile, statistics->linear);
  shared_propagate(&m->profile, &m->light, s->shared, reading);
  reading->measured = values_fill(reading, &reading->error);
  return true;
}

static bool fill_part(const struct search *s, size_t part, struct mottle_part *into, struct error *error)
{
  *into = (struct mottle_part){.share = mottle_share(&s->map, part)};
  for (size_t i = 0; i < s->map.lumps; i++) {
    into->lumps += s->map.lump[i].part == part;
  }
  return mottle_size(&s->map, part, s->measurement, into, error) && read_part(s, part, &into->reading, error);
}

static int larger_share_first(const void *a, const void *b)
{
  const struct mottle_part *p = a, *q = b;

  return (p->share.value < q->share.value) - (p->share.value > q->share.value);
}

/* Lists the parts that hold their ground. One that has no colour a surface can have, or that is not told apart from the first
 * by the readings, is none. */
static bool list_parts(const struct search *s, struct mottles *found, struct error *error)
{
  size_t kept = 0, covered = 0;

  for (size_t k = 0; k < s->mixture.parts; k++) {
    covered += s->map.count[k];
    if (s->map.count[k] > 0) {
      if (!fill_part(s, k, &found->part[kept], error)) {
        return false;
      }
      kept += found->part[kept].reading.measured;
    }
  }
  qsort(found->part, kept, sizeof *found->part, larger_share_first);
  for (size_t k = 0; k < kept; k++) {
    struct mottle_part *part = &found->part[k];
    const struct reading *first = &found->part[0].reading;
    part->difference = difference_across(first, &part->reading);
    part->contrast = contrast_of(first->chip->colour, part->reading.chip->colour);
    if (k == 0 || part->difference.apart) {
      found->part[found->parts++] = *part;
    }
  }
  found->inclusions = (double)s->map.specks / (double)(s->map.specks + covered);
  return true;
}

static bool search_cells(struct search *s, struct mottles *found, struct error *error)
{
  if (!draw_cells(s, error) || s->count < CELLS_LEAST) {
    return s->colour != NULL;
  }
  if (!begin_mixture(s, error)) {
    return false;
  }
  grow_mixture(s);
  if (s->mixture.parts < 2) {
    return true;
  }
  if (!make_map(s, error)) {
    return false;
  }
  for (size_t k = 0; k < s->mixture.parts; k++) {
    if (k != s->map.main && s->map.count[k] > 0 && !is_part(s, k)) {
      leave_out(s, k);
    }
  }
  return list_parts(s, found, error);
}

static bool search_region(const struct measurement *m, const struct shared_unknowns *shared, size_t index,
                          struct mottles *found, struct error *error)
{
  struct search search = {.measurement = m, .shared = shared, .index = index};
  const struct reading *reading = &m->reading[index];
  double scale = m->card.sized ? mottle_scale(m, reading->statistics.centre) : 0,
         least = scale > 0 ? ceil(CELL_MM / scale) : 0;

  memset(found, 0, sizeof *found);
  found->reading = index;
  bool done =
      mottle_cells_make(&m->image, &m->profile, &m->light, reading->region, least, &search.cells, error) &&
      search_cells(&search, found, error);
  mottle_map_clear(&search.map);
  free(search.colour);
  mottle_cells_clear(&search.cells);
  return done;
}

static bool keep(const struct mottles *found, struct mottle_list *list, struct error *error)
{
  struct mottles *larger = realloc(list->item, (list->count + 1) * sizeof *larger);

  if (!larger) {
    return error_no_memory(error, "the mottles of the regions");
  }
  list->item = larger;
  larger[list->count++] = *found;
  return true;
}

bool mottles_find(const struct measurement *measurement, struct mottle_list *list, struct error *error)
{
  struct shared_unknowns *shared = malloc(sizeof *shared);
  struct mottles *found = malloc(sizeof *found);
  bool done = (shared && found) || error_no_memory(error, "the mottles of the regions");

  *list = (struct mottle_list){0};
  if (done && measurement->readings > 0) {
    shared_unknowns_make(&measurement->profile, &measurement->light, shared);
  }
  for (size_t i = 0; done && i < measurement->readings; i++) {
    if (measurement->reading[i].measured) {
      done = search_region(measurement, shared, i, found, error) &&
             (found->parts < 2 || keep(found, list, error));
    }
  }
  free(shared);
  free(found);
  if (!done) {
    mottle_list_clear(list);
  }
  return done;
}

void mottle_list_clear(struct mottle_list *list)
{
  free(list->item);
  *list = (struct mottle_list){0};
}

const struct mottles *mottles_of(const struct mottle_list *list, size_t reading)
{
  for (size_t i = 0; i < list->count; i++) {
    if (list->item[i].reading == reading) {
      return &list->item[i];
    }
  }
  return NULL;
}
