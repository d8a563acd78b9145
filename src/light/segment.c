/* SPDX-License-Identifier: MIT */
/* Statistical region merging (after Nock & Nielsen 2004, IEEE Trans. PAMI 26, 1452-1458): neighbouring cells are joined in
 * the order of their likeness, as long as the means of the regions they belong to are alike within what texture explains. */
#include "light/segment.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"

enum { LAG = 4 };

static const double LEAST_SPREAD[3] = {0.02, 0.006, 0.006}; /* light left over and rounding        */
static const double TOGETHER2 =
    9; /* squared distance of means that are still alike, for 1/n1 + 1/n2 + STANDING = 1 */
static const double STANDING = 0.4;   /* what coarse texture adds, however large the regions           */
static const double ACROSS = 3;       /* more of it across a shadow edge, whose step is yet to be fitted  */
static const double SMALLEST = 0.004; /* share of the frame below which a deposit tells nothing       */

struct region {
  int parent; /* own index for a root */
  double count;
  struct vec3 sum;
};

struct link {
  int a, b;
  float distance;
  bool across; /* a shadow edge */
};

struct work {
  struct vec3 *calm; /* owned; evened signal, each channel the median of the cell and its neighbours */
  struct region *region;
  struct link *link;
  size_t links;
  double spread[3];
};

static void calm_cell(const struct cells *cells, int column, int row, struct vec3 *calm)
{
  for (int k = 0; k < 3; k++) {
    double value[9];
    size_t count = 0;
    for (int d = 0; d < 9; d++) {
      const struct cell *at = cells_open_at(cells, column + d % 3 - 1, row + d / 3 - 1);
      if (at) {
        value[count++] = at->even.v[k];
      }
    }
    calm->v[k] = order_median(value, count);
  }
}

static void calm_all(const struct cells *cells, struct work *work)
{
  for (size_t i = 0; i < cells->count; i++) {
    if (cells->cell[i].open) {
      calm_cell(cells, (int)i % cells->columns, (int)i / cells->columns, &work->calm[i]);
    }
  }
}

/* Robust spread of the calmed signal over a few cells: texture, as most pairs lie in one deposit. */
static bool measure_spread(const struct cells *cells, struct work *work)
{
  double *value = malloc((2 * cells->count + 1) * sizeof *value);

  if (!value) {
    return false;
  }
  for (int k = 0; k < 3; k++) {
    size_t count = 0;
    for (size_t i = 0; i < cells->count; i++) {
      int column = (int)i % cells->columns, row = (int)i / cells->columns;
      if (!cells->cell[i].open) {
        continue;
      }
      if (cells_open_at(cells, column + LAG, row)) {
        value[count++] = fabs(work->calm[i].v[k] - work->calm[i + LAG].v[k]);
      }
      if (cells_open_at(cells, column, row + LAG)) {
        value[count++] = fabs(work->calm[i].v[k] - work->calm[i + (size_t)(LAG * cells->columns)].v[k]);
      }
    }
    work->spread[k] = fmax(1.4826 / sqrt(2) * order_median(value, count), LEAST_SPREAD[k]);
  }
  free(value);
  return true;
}

static double distance2(const struct work *work, struct vec3 a, struct vec3 b)
{
  double sum = 0;

  for (int k = 0; k < 3; k++) {
    double d = (a.v[k] - b.v[k]) / work->spread[k];
    sum += d * d;
  }
  return sum;
}

static void add_link(struct work *work, size_t a, size_t b, bool across)
{
  work->link[work->links++] =
      (struct link){(int)a, (int)b, (float)distance2(work, work->calm[a], work->calm[b]), across};
}

/* From the last cell before the half shadow straight on to the first beyond it. */
static void link_across(const struct cells *cells, const struct light *light, size_t i, struct work *work)
{
  double side = (double)cells->merge * cells->block;
  struct point place = cells->cell[i].place;

  for (int k = 1; light_side_at(light, place) != LIGHT_BEYOND; k++) {
    place.x += side * light->edge.normal.x;
    place.y += side * light->edge.normal.y;
    if (k == 1 && light_side_at(light, place) == LIGHT_AS_CARD) {
      return;
    }
  }
  int column = (int)floor(place.x / side), row = (int)floor(place.y / side);
  if (cells_open_at(cells, column, row)) {
    add_link(work, i, (size_t)row * (size_t)cells->columns + (size_t)column, true);
  }
}

/* The index of an open cell outside half shadows, or -1. */
static int usable(const struct cells *cells, const struct light *light, int column, int row)
{
  const struct cell *cell = cells_open_at(cells, column, row);

  return cell && light_side_at(light, cell->place) != LIGHT_ON_EDGE ? (int)(cell - cells->cell) : -1;
}

static int compare_links(const void *a, const void *b)
{
  const struct link *x = a, *y = b;

  if (x->distance != y->distance) {
    return x->distance < y->distance ? -1 : 1;
  }
  return x->a != y->a ? (x->a > y->a) - (x->a < y->a) : (x->b > y->b) - (x->b < y->b);
}

static void link_all(const struct cells *cells, const struct light *light, struct work *work)
{
  for (size_t i = 0; i < cells->count; i++) {
    int column = (int)i % cells->columns, row = (int)i / cells->columns;
    work->region[i] = (struct region){(int)i, 1, work->calm[i]};
    if (usable(cells, light, column, row) < 0) {
      continue;
    }
    int right = usable(cells, light, column + 1, row), below = usable(cells, light, column, row + 1);
    if (right >= 0) {
      add_link(work, i, (size_t)right, false);
    }
    if (below >= 0) {
      add_link(work, i, (size_t)below, false);
    }
    if (light->shadow_edge && light_side_at(light, cells->cell[i].place) == LIGHT_AS_CARD) {
      link_across(cells, light, i, work);
    }
  }
  qsort(work->link, work->links, sizeof *work->link, compare_links);
}

static int root_of(struct region *region, int i)
{
  while (region[i].parent != i) {
    region[i].parent = region[region[i].parent].parent;
    i = region[i].parent;
  }
  return i;
}

static void join_alike(struct work *work, double looseness)
{
  for (size_t i = 0; i < work->links; i++) {
    int a = root_of(work->region, work->link[i].a), b = root_of(work->region, work->link[i].b);
    struct region *x = &work->region[a < b ? a : b], *y = &work->region[a < b ? b : a];
    if (a == b) {
      continue;
    }
    double limit = TOGETHER2 * (1 / x->count + 1 / y->count + STANDING) * looseness *
                   (work->link[i].across ? ACROSS : 1);
    if (distance2(work, vec3_scale(x->sum, 1 / x->count), vec3_scale(y->sum, 1 / y->count)) < limit) {
      y->parent = x->parent;
      x->count += y->count;
      x->sum = vec3_add(x->sum, y->sum);
    }
  }
}

static int compare_falling(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x < y) - (x > y);
}

/* Size below which a region is no deposit: a share of the frame, and more where there are too many. */
static double least_count(const struct cells *cells, const struct work *work, double *size)
{
  size_t regions = 0;
  double least = fmax(SMALLEST * (double)cells->count, 12);

  for (size_t i = 0; i < cells->count; i++) {
    if (cells->cell[i].open && work->region[i].parent == (int)i && work->region[i].count >= least) {
      size[regions++] = work->region[i].count;
    }
  }
  qsort(size, regions, sizeof *size, compare_falling);
  return regions > LIGHT_DEPOSITS_MAX ? size[LIGHT_DEPOSITS_MAX - 1] + 1 : least;
}

static void number_regions(struct cells *cells, struct work *work, double least, int *segments)
{
  *segments = 0;
  for (size_t i = 0; i < cells->count; i++) {
    cells->cell[i].segment = 0;
  }
  for (size_t i = 0; i < cells->count; i++) {
    int root = root_of(work->region, (int)i);
    if (!cells->cell[i].open || work->region[root].count < least) {
      continue;
    }
    /* The root is the first cell of its region. */
    cells->cell[i].segment = root == (int)i ? ++*segments : cells->cell[root].segment;
  }
}

static void mark_inner(struct cells *cells)
{
  for (size_t i = 0; i < cells->count; i++) {
    struct cell *cell = &cells->cell[i];
    int column = (int)i % cells->columns, row = (int)i / cells->columns;
    cell->inner = cell->segment > 0;
    for (int d = 0; d < 9 && cell->inner; d++) {
      const struct cell *at = cells_open_at(cells, column + d % 3 - 1, row + d / 3 - 1);
      cell->inner = !at || at->segment == 0 || at->segment == cell->segment;
    }
  }
}

static void work_clear(struct work *work)
{
  free(work->calm);
  free(work->region);
  free(work->link);
}

bool segment_cells(struct cells *cells, const struct light *light, double looseness, int *segments,
                   struct error *error)
{
  struct work work = {0};
  double *size = malloc((cells->count + 1) * sizeof *size);
  bool done;

  work.calm = calloc(cells->count + 1, sizeof *work.calm);
  work.region = calloc(cells->count + 1, sizeof *work.region);
  work.link = calloc(3 * cells->count + 1, sizeof *work.link);
  done = size && work.calm && work.region && work.link;
  if (done) {
    calm_all(cells, &work);
    done = measure_spread(cells, &work);
  }
  if (done) {
    link_all(cells, light, &work);
    join_alike(&work, looseness);
    number_regions(cells, &work, least_count(cells, &work, size), segments);
    mark_inner(cells);
  }
  free(size);
  work_clear(&work);
  return done || error_no_memory(error, "the deposits");
}
