/* SPDX-License-Identifier: MIT */
#include "measure/propose.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "colour/difference.h"
#include "measure/difference.h"
#include "measure/propose_parts.h"
#include "region/trace.h"

/* Sides of cells that two parts must share to be neighbours. */
enum { SIDES_LEAST = 4 };

/* CIEDE2000 between two colours of a part, and share of its pixels left out, from which on it is of no one colour. */
static const double MIXED_LOBES = 12, MIXED_SHARE = 0.5;

static void work_clear(struct propose_work *w)
{
  for (int i = 0; w->part && i < w->count; i++) {
    region_clear(&w->part[i].outline);
  }
  free(w->part);
  free(w->sides);
  free(w->mask);
  division_clear(&w->division);
}

static struct trace_mask mask_of(const struct propose_work *w)
{
  return (struct trace_mask){w->mask, w->division.cells.columns, w->division.cells.rows, w->division.side,
                             true};
}

/* Blocks may reach a little beyond the photo. */
static bool outline_mask(const struct propose_work *w, struct region *region, struct error *error)
{
  struct trace_mask mask = mask_of(w);

  if (!trace_outline(&mask, 0, region, error)) {
    return false;
  }
  for (size_t i = 0; i < region->vertices; i++) {
    region->vertex[i].x = fmin(region->vertex[i].x, w->m->image.width);
    region->vertex[i].y = fmin(region->vertex[i].y, w->m->image.height);
  }
  return true;
}

static void take_reading(const struct propose_work *w, struct reading *reading)
{
  reading->lab_d50 = profile_lab(&w->m->profile, reading->statistics.linear);
  shared_propagate(&w->m->profile, &w->m->light, &w->shared, reading);
}

/* Reads a part clear of its rim, where there is enough of it. What can't be read (clipped) or is of no one
 * colour is left out. */
static bool read_part(struct propose_work *w, int index, struct error *error)
{
  struct propose_part *part = &w->part[index];
  struct error left_out = {0};
  size_t inner = division_mask(&w->division, index + 1, 1, w->mask);

  part->joined = index;
  part->group = part->things > part->cells ? GROUP_LEFT_OUT : GROUP_NONE;
  if (part->group == GROUP_LEFT_OUT) {
    return true;
  }
  if (3 * (double)inner < part->cells) {
    division_mask(&w->division, index + 1, 0, w->mask);
  }
  snprintf(part->outline.label, sizeof part->outline.label, "part");
  if (!outline_mask(w, &part->outline, error)) {
    return false;
  }
  part->reading.region = &part->outline;
  if (region_measure(&w->m->image, &w->m->profile, &w->m->light, &part->outline, &part->reading.statistics,
                     &left_out) &&
      part->reading.statistics.lobes < MIXED_LOBES && part->reading.statistics.left_out.share < MIXED_SHARE) {
    part->reading.measured = true;
    take_reading(w, &part->reading);
  } else {
    part->group = GROUP_LEFT_OUT;
  }
  if (left_out.kind == ERROR_INTERNAL) {
    *error = left_out;
    return false;
  }
  return true;
}

static void count_cells(struct propose_work *w)
{
  const struct cells *cells = &w->division.cells;

  for (size_t i = 0; i < cells->count; i++) {
    int a = cells->cell[i].segment - 1;
    if (a < 0) {
      continue;
    }
    *(w->division.thing[i] ? &w->part[a].things : &w->part[a].cells) += 1;
    const size_t next[2] = {i + 1, i + (size_t)cells->columns};
    bool there[2] = {((int)i + 1) % cells->columns != 0, next[1] < cells->count};
    for (int k = 0; k < 2; k++) {
      int b = there[k] ? cells->cell[next[k]].segment - 1 : -1;
      if (b >= 0 && b != a) {
        w->sides[a * w->count + b]++;
        w->sides[b * w->count + a]++;
      }
    }
  }
}

static bool read_parts(struct propose_work *w, struct error *error)
{
  size_t n = (size_t)w->division.parts;

  w->count = w->division.parts;
  w->part = calloc(n + 1, sizeof *w->part);
  w->sides = calloc(n * n + 1, sizeof *w->sides);
  w->mask = calloc(w->division.cells.count + 1, 1);
  if (!w->part || !w->sides || !w->mask) {
    return error_no_memory(error, "the proposal");
  }
  shared_unknowns_make(&w->m->profile, &w->m->light, &w->shared);
  count_cells(w);
  for (int i = 0; i < w->count; i++) {
    if (!read_part(w, i, error)) {
      return false;
    }
  }
  return true;
}

static struct vec3 weigh(struct vec3 a, struct vec3 b, double share_b)
{
  return vec3_add(vec3_scale(a, 1 - share_b), vec3_scale(b, share_b));
}

/* The statistics of both together: means by their pixels, and covariances as of independent means. */
static void join_statistics(struct region_statistics *a, const struct region_statistics *b)
{
  double share = (double)b->pixels / (double)(a->pixels + b->pixels);

  a->linear = weigh(a->linear, b->linear, share);
  a->gain = weigh(a->gain, b->gain, share);
  a->centre.x += share * (b->centre.x - a->centre.x);
  a->centre.y += share * (b->centre.y - a->centre.y);
  a->covariance = mat3_add(mat3_scale(a->covariance, (1 - share) * (1 - share)),
                           mat3_scale(b->covariance, share * share));
  a->pixels += b->pixels;
}

static void join(struct propose_work *w, int a, int b)
{
  join_statistics(&w->part[a].reading.statistics, &w->part[b].reading.statistics);
  take_reading(w, &w->part[a].reading);
  w->part[a].cells += w->part[b].cells;
  for (int i = 0; i < w->count; i++) {
    w->sides[a * w->count + i] += w->sides[b * w->count + i];
    w->sides[i * w->count + a] += w->sides[i * w->count + b];
    w->part[i].joined = w->part[i].joined == b ? a : w->part[i].joined;
  }
  w->sides[a * w->count + a] = 0;
}

bool propose_stands(const struct propose_work *w, int part)
{
  return w->part[part].joined == part && w->part[part].group != GROUP_LEFT_OUT;
}

/* Whether this photo tells two parts apart, as colours and as more than patches of one deposit. */
static bool told_apart(const struct propose_work *w, int a, int b)
{
  int set[DIVISION_PARTS_MAX + 1];
  struct difference d = difference_across(&w->part[a].reading, &w->part[b].reading);

  for (int i = 0; i < w->count; i++) {
    set[i + 1] = w->part[i].joined;
  }
  return d.apart && division_contrast(&w->division, set, a, b) > 1;
}

/* Joins neighbours that are not told apart, the likest first. */
static void join_alike(struct propose_work *w)
{
  enum { UNKNOWN, APART, ALIKE };
  char known[DIVISION_PARTS_MAX * DIVISION_PARTS_MAX] = {UNKNOWN};

  for (;;) {
    int a = -1, b = -1;
    double least = INFINITY;
    for (int i = 0; i < w->count; i++) {
      for (int j = i + 1; j < w->count && propose_stands(w, i); j++) {
        if (!propose_stands(w, j) || w->sides[i * w->count + j] < SIDES_LEAST) {
          continue;
        }
        char *pair = &known[i * DIVISION_PARTS_MAX + j];
        *pair = (char)(*pair != UNKNOWN ? *pair : told_apart(w, i, j) ? APART : ALIKE);
        double de00 = colour_de00(w->part[i].reading.lab_d50, w->part[j].reading.lab_d50);
        if (*pair == ALIKE && de00 < least) {
          least = de00;
          a = i;
          b = j;
        }
      }
    }
    if (a < 0) {
      return;
    }
    join(w, a, b);
    for (int i = 0; i < w->count; i++) {
      known[i * DIVISION_PARTS_MAX + a] = known[a * DIVISION_PARTS_MAX + i] = UNKNOWN;
    }
  }
}

struct ranked {
  double cells;
  int part;
};

static int compare_ranked(const void *a, const void *b)
{
  const struct ranked *p = a, *q = b;

  return p->cells != q->cells ? (p->cells < q->cells) - (p->cells > q->cells) : p->part - q->part;
}

/* Parts in falling size; each goes to the first group whose largest part it is not told apart from. */
static int group_parts(struct propose_work *w, struct ranked *order)
{
  int count = 0, first[DIVISION_PARTS_MAX];

  for (int i = 0; i < w->count; i++) {
    if (propose_stands(w, i)) {
      order[count++] = (struct ranked){w->part[i].cells, i};
    }
  }
  qsort(order, (size_t)count, sizeof *order, compare_ranked);
  for (int i = 0; i < count; i++) {
    struct propose_part *part = &w->part[order[i].part];
    for (int g = 0; g < w->groups && part->group < 0; g++) {
      bool touching = w->sides[order[i].part * w->count + first[g]] >= SIDES_LEAST;
      part->group = touching || told_apart(w, first[g], order[i].part) ? GROUP_NONE : g;
    }
    if (part->group < 0) {
      first[w->groups] = order[i].part;
      part->group = w->groups++;
    }
  }
  return count;
}

/* a, b, ... z, then d27, d28 ...; a number behind where the group has several parts. */
static void name_part(const struct propose_work *w, const struct ranked *order, int count, int index,
                      struct region *region)
{
  int group = w->part[order[index].part].group, all = 0, before = 0;
  char letter[12];

  for (int i = 0; i < count; i++) {
    all += w->part[order[i].part].group == group;
    before += i < index && w->part[order[i].part].group == group;
  }
  snprintf(letter, sizeof letter, group < 26 ? "%c" : "d%d", group < 26 ? 'a' + group : group + 1);
  snprintf(region->label, sizeof region->label, all > 1 ? "%s-%d" : "%s", letter, before + 1);
  snprintf(region->photo, sizeof region->photo, "%s", w->m->file);
}

/* Cells of a part with all that was joined to it; the numbers of the division become those of the proposal. */
static void renumber(struct propose_work *w, const struct ranked *order, int count)
{
  int number[DIVISION_PARTS_MAX + 1] = {0};

  for (int i = 0; i < w->count; i++) {
    for (int k = 0; k < count; k++) {
      number[i + 1] = w->part[i].joined == order[k].part ? k + 1 : number[i + 1];
    }
  }
  for (size_t i = 0; i < w->division.cells.count; i++) {
    int *segment = &w->division.cells.cell[i].segment;
    *segment = number[*segment];
  }
}

static bool hand_out_parts(struct propose_work *w, const struct ranked *order, int count,
                           struct proposal *proposal, struct error *error)
{
  proposal->regions.region = calloc((size_t)count + 1, sizeof *proposal->regions.region);
  proposal->share = calloc((size_t)count + 1, sizeof *proposal->share);
  if (!proposal->regions.region || !proposal->share) {
    return error_no_memory(error, "the proposal");
  }
  for (int i = 0; i < count; i++) {
    struct region *region = &proposal->regions.region[i];
    name_part(w, order, count, i, region);
    division_mask(&w->division, i + 1, 0, w->mask);
    if (!outline_mask(w, region, error)) {
      return false;
    }
    proposal->regions.count++;
    proposal->share[i] = w->part[order[i].part].cells / (double)w->division.face;
  }
  return true;
}

static int compare_boundaries(const void *a, const void *b)
{
  const struct proposal_boundary *p = a, *q = b;

  if (p->places != q->places) {
    return p->places > q->places ? -1 : 1;
  }
  return p->a != q->a ? (p->a > q->a) - (p->a < q->a) : (p->b > q->b) - (p->b < q->b);
}

/* The side between cell i and the one right of it or below it: its two ends. */
static void add_side(const struct division *d, size_t i, bool below, struct proposal_boundary *boundary)
{
  double x = (double)((int)i % d->cells.columns + !below), y = (double)((int)i / d->cells.columns + below);

  boundary->place[boundary->places++] = (struct point){x * d->side, y * d->side};
  boundary->place[boundary->places++] = (struct point){(x + below) * d->side, (y + !below) * d->side};
}

/* The sides between parts a and b that no thing covers; the middle is the side nearest to the middle of all. */
static bool trace_boundary(const struct division *d, int sides, struct proposal_boundary *boundary)
{
  struct point sum = {0, 0};
  double nearest = INFINITY;

  boundary->place = calloc(2 * (size_t)sides + 1, sizeof *boundary->place);
  for (size_t i = 0; boundary->place && i < d->cells.count; i++) {
    const size_t next[2] = {i + 1, i + (size_t)d->cells.columns};
    bool there[2] = {((int)i + 1) % d->cells.columns != 0, next[1] < d->cells.count};
    for (int k = 0; k < 2; k++) {
      size_t p = (size_t)d->cells.cell[i].segment - 1;
      size_t q = there[k] ? (size_t)d->cells.cell[next[k]].segment - 1 : p;
      bool seen = there[k] && !d->thing[i] && !d->thing[next[k]];
      if (!seen) {
        continue;
      }
      if ((p == boundary->a && q == boundary->b) || (p == boundary->b && q == boundary->a)) {
        add_side(d, i, k == 1, boundary);
      }
    }
  }
  for (size_t i = 0; i < boundary->places; i++) {
    sum.x += boundary->place[i].x / (double)boundary->places;
    sum.y += boundary->place[i].y / (double)boundary->places;
  }
  for (size_t i = 0; i < boundary->places; i++) {
    double off = hypot(boundary->place[i].x - sum.x, boundary->place[i].y - sum.y);
    if (off < nearest) {
      nearest = off;
      boundary->middle = boundary->place[i];
    }
  }
  return boundary->place != NULL;
}

static bool hand_out_boundaries(const struct propose_work *w, const struct ranked *order, int count,
                                struct proposal *proposal, struct error *error)
{
  size_t most = (size_t)count * (size_t)count;

  proposal->boundary = calloc(most + 1, sizeof *proposal->boundary);
  if (!proposal->boundary) {
    return error_no_memory(error, "the proposal");
  }
  for (int a = 0; a < count; a++) {
    for (int b = a + 1; b < count; b++) {
      int sides = w->sides[order[a].part * w->count + order[b].part];
      struct proposal_boundary boundary = {.a = (size_t)a, .b = (size_t)b};
      if (sides < SIDES_LEAST) {
        continue;
      }
      if (!trace_boundary(&w->division, sides, &boundary)) {
        return error_no_memory(error, "the proposal");
      }
      if (boundary.places < 2 * SIDES_LEAST) {
        free(boundary.place);
        continue;
      }
      proposal->boundary[proposal->boundaries++] = boundary;
    }
  }
  qsort(proposal->boundary, proposal->boundaries, sizeof *proposal->boundary, compare_boundaries);
  return true;
}

bool propose_deposits(const struct image_blocks *blocks, const struct measurement *m,
                      struct proposal *proposal, struct error *error)
{
  struct propose_work w = {.blocks = blocks, .m = m};
  struct ranked order[DIVISION_PARTS_MAX];

  *proposal = (struct proposal){0};
  bool done =
      division_make(&m->image, blocks, &m->profile, &m->card, &m->pose, &m->light, &w.division, error) &&
      read_parts(&w, error);
  if (done) {
    join_alike(&w);
    done = propose_leave_out(&w, proposal, error);
  }
  if (done) {
    int count = group_parts(&w, order);
    renumber(&w, order, count);
    done = hand_out_parts(&w, order, count, proposal, error) &&
           hand_out_boundaries(&w, order, count, proposal, error);
  }
  work_clear(&w);
  if (!done) {
    proposal_clear(proposal);
  }
  return done;
}

void proposal_clear(struct proposal *proposal)
{
  for (size_t i = 0; i < proposal->boundaries; i++) {
    free(proposal->boundary[i].place);
  }
  free(proposal->boundary);
  free(proposal->share);
  region_list_clear(&proposal->regions);
  *proposal = (struct proposal){0};
}
