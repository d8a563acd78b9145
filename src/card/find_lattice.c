/* SPDX-License-Identifier: MIT */
/* Blobs that lie on a lattice.
 *
 * A blob's own second moments tell how the card is foreshortened there: in the frame in which the blob is a unit square
 * its neighbours in row and column are at right angles and equally far. A square of four such blobs is a seed; a lattice
 * grows from it, each node predicting the next by the steps that led to it, and is then completed through its plane map. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "card/find_parts.h"

enum {
  NEIGHBOURS = 12, /* of a blob that are looked at              */
  NODES_MIN = 5,   /* of a lattice                              */
  ROUNDS = 3       /* of completion                             */
};
static const double NEAR = 0.80;      /* pitch over patch side, least; measured small patches look larger */
static const double FAR = 1.90;       /* and largest                                                      */
static const double AREA_RATIO = 2.5; /* of neighbours                                               */
static const double STRAY = 0.24;     /* a node lies within this share of the pitch of its prediction */

struct neighbour {
  int blob;
  double x, y, far; /* offset, and its length in units of the blob's side */
};

struct neighbourhood {
  const struct find_blobs *blobs;
  int centre, count;
  struct neighbour list[NEIGHBOURS];
};

static double length_in(const struct find_blob *blob, double x, double y)
{
  double det = blob->xx * blob->yy - blob->xy * blob->xy;

  return sqrt(fmax((blob->yy * x * x - 2 * blob->xy * x * y + blob->xx * y * y) / det, 0.0));
}

static double product_in(const struct find_blob *blob, const struct neighbour *a, const struct neighbour *b)
{
  double det = blob->xx * blob->yy - blob->xy * blob->xy;

  return (blob->yy * a->x * b->x - blob->xy * (a->x * b->y + a->y * b->x) + blob->xx * a->y * b->y) / det;
}

static void neighbour_visit(int at, void *context)
{
  struct neighbourhood *hood = context;
  const struct find_blob *blob = &hood->blobs->blob[hood->centre], *other = &hood->blobs->blob[at];
  struct neighbour found = {at, other->x - blob->x, other->y - blob->y, 0};
  double back;
  int i;

  if (at == hood->centre || other->area > AREA_RATIO * blob->area || blob->area > AREA_RATIO * other->area) {
    return;
  }
  found.far = length_in(blob, found.x, found.y);
  back = length_in(other, found.x, found.y);
  if (found.far < NEAR || found.far > FAR || back < NEAR || back > FAR) {
    return;
  }
  if (hood->count == NEIGHBOURS && found.far >= hood->list[NEIGHBOURS - 1].far) {
    return;
  }
  if (hood->count < NEIGHBOURS) {
    hood->count++;
  }
  for (i = hood->count - 1; i > 0 && hood->list[i - 1].far > found.far; i--) {
    hood->list[i] = hood->list[i - 1];
  }
  hood->list[i] = found;
}

static void neighbourhood_fill(const struct find_blobs *blobs, int centre, struct neighbourhood *hood)
{
  const struct find_blob *blob = &blobs->blob[centre];
  double longest = sqrt(fmax(blob->xx + blob->yy, 0.0));

  *hood = (struct neighbourhood){.blobs = blobs, .centre = centre};
  find_blobs_near(blobs, blob->x, blob->y, FAR * longest, neighbour_visit, hood);
}

/* How far from a lattice square a corner with two neighbours is, when the fourth blob is there; large when not. */
static double square_misfit(const struct neighbourhood *hood, const struct neighbour *a,
                            const struct neighbour *b)
{
  const struct find_blob *blob = &hood->blobs->blob[hood->centre];
  double cosine = product_in(blob, a, b) / (a->far * b->far), ratio = log(b->far / a->far), best = 1;

  if (a->x * b->y - a->y * b->x <= 0 || fabs(cosine) > 0.45 || fabs(ratio) > 0.35) {
    return 10;
  }
  for (int i = 0; i < hood->count; i++) {
    best = fmin(best, length_in(blob, (hood->list[i].x - a->x - b->x), (hood->list[i].y - a->y - b->y)));
  }
  return best > 0.3 ? 10 : best + fabs(cosine) + fabs(ratio) + 0.5 * (a->far + b->far);
}

static bool seed_of(const struct find_blobs *blobs, int centre, struct find_seed *seed)
{
  struct neighbourhood hood;

  neighbourhood_fill(blobs, centre, &hood);
  seed->blob = centre;
  seed->rank = 10;
  for (int i = 0; i < hood.count; i++) {
    for (int k = 0; k < hood.count; k++) {
      double misfit = i == k ? 10 : square_misfit(&hood, &hood.list[i], &hood.list[k]);

      if (misfit < seed->rank) {
        *seed = (struct find_seed){centre,         hood.list[i].x, hood.list[i].y,
                                   hood.list[k].x, hood.list[k].y, misfit};
      }
    }
  }
  return seed->rank < 10;
}

static int seed_order(const void *a, const void *b)
{
  const struct find_seed *one = a, *two = b;

  if (one->rank != two->rank) {
    return one->rank < two->rank ? -1 : 1;
  }
  return one->blob - two->blob;
}

bool find_seeds_make(const struct find_blobs *blobs, struct find_seeds *seeds, struct error *error)
{
  *seeds = (struct find_seeds){.seed = malloc(((size_t)blobs->count + 1) * sizeof *seeds->seed)};
  if (!seeds->seed) {
    return error_no_memory(error, "the search for the card");
  }
  for (int i = 0; i < blobs->count; i++) {
    if (seed_of(blobs, i, &seeds->seed[seeds->count])) {
      seeds->count++;
    }
  }
  qsort(seeds->seed, (size_t)seeds->count, sizeof *seeds->seed, seed_order);
  return true;
}

/* -- growing -- */

struct step {
  int column, row;
  double ux, uy, vx, vy; /* local steps */
};

struct nearest_search {
  const struct find_blobs *blobs;
  double x, y, area_low, area_high, best;
  int blob;
};

static void nearest_visit(int at, void *context)
{
  struct nearest_search *search = context;
  const struct find_blob *blob = &search->blobs->blob[at];
  double far = hypot(blob->x - search->x, blob->y - search->y);

  if (blob->area >= search->area_low && blob->area <= search->area_high && far < search->best) {
    search->best = far;
    search->blob = at;
  }
}

static int nearest(const struct find_blobs *blobs, double x, double y, double reach, double area_low,
                   double area_high)
{
  struct nearest_search search = {blobs, x, y, area_low, area_high, reach, -1};

  find_blobs_near(blobs, x, y, reach, nearest_visit, &search);
  return search.blob;
}

static int *node(struct find_lattice *lattice, int column, int row)
{
  return &lattice->blob[column + FIND_REACH][row + FIND_REACH];
}

static bool reachable(int column, int row)
{
  return abs(column) <= FIND_REACH && abs(row) <= FIND_REACH;
}

static void node_set(struct find_lattice *lattice, int column, int row, int blob)
{
  *node(lattice, column, row) = blob;
  lattice->count++;
  lattice->left = column < lattice->left ? column : lattice->left;
  lattice->right = column > lattice->right ? column : lattice->right;
  lattice->top = row < lattice->top ? row : lattice->top;
  lattice->bottom = row > lattice->bottom ? row : lattice->bottom;
}

/* The next node in one of four directions, with the steps bent towards what was met. */
static bool step_on(const struct find_blobs *blobs, struct find_lattice *lattice, const struct step *from,
                    int side, struct step *to)
{
  static const int move[4][2] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
  int dc = move[side][0], dr = move[side][1], found;
  const struct find_blob *start = &blobs->blob[*node(lattice, from->column, from->row)], *end;
  double dx = (dc * from->ux + dr * from->vx), dy = (dc * from->uy + dr * from->vy);
  double shorter = fmin(hypot(from->ux, from->uy), hypot(from->vx, from->vy));

  *to = *from;
  to->column += dc;
  to->row += dr;
  if (!reachable(to->column, to->row) || *node(lattice, to->column, to->row) >= 0) {
    return false;
  }
  found = nearest(blobs, start->x + dx, start->y + dy, STRAY * shorter, start->area / AREA_RATIO,
                  start->area * AREA_RATIO);
  if (found < 0) {
    return false;
  }
  end = &blobs->blob[found];
  if (dc != 0) {
    to->ux = (from->ux + dc * (end->x - start->x)) / 2;
    to->uy = (from->uy + dc * (end->y - start->y)) / 2;
  } else {
    to->vx = (from->vx + dr * (end->x - start->x)) / 2;
    to->vy = (from->vy + dr * (end->y - start->y)) / 2;
  }
  node_set(lattice, to->column, to->row, found);
  return true;
}

static void spread_out(const struct find_blobs *blobs, const struct find_seed *seed,
                       struct find_lattice *lattice)
{
  struct step queue[FIND_SPAN * FIND_SPAN];
  int count = 0;

  lattice->count = lattice->left = lattice->right = lattice->top = lattice->bottom = 0;
  memset(lattice->blob, -1, sizeof lattice->blob);
  node_set(lattice, 0, 0, seed->blob);
  queue[count++] = (struct step){0, 0, seed->ux, seed->uy, seed->vx, seed->vy};
  for (int at = 0; at < count; at++) {
    for (int side = 0; side < 4; side++) {
      if (step_on(blobs, lattice, &queue[at], side, &queue[count])) {
        count++;
      }
    }
  }
}

static int ties_list(const struct find_blobs *blobs, const struct find_lattice *lattice,
                     struct find_tie tie[FIND_SPAN * FIND_SPAN])
{
  int count = 0;

  for (int column = lattice->left; column <= lattice->right; column++) {
    for (int row = lattice->top; row <= lattice->bottom; row++) {
      int blob = lattice->blob[column + FIND_REACH][row + FIND_REACH];

      if (blob >= 0) {
        tie[count++] = (struct find_tie){.column = column,
                                         .row = row,
                                         .x = blobs->blob[blob].x,
                                         .y = blobs->blob[blob].y,
                                         .weight_x = 1,
                                         .weight_y = 1};
      }
    }
  }
  return count;
}

static bool map_update(const struct find_blobs *blobs, struct find_lattice *lattice)
{
  struct find_tie tie[FIND_SPAN * FIND_SPAN];

  return find_map_fit(tie, ties_list(blobs, lattice, tie), false, &lattice->map, NULL);
}

/* Length of the shorter step and area of a cell at a node. */
static double step_at(const struct find_lattice *lattice, int column, int row, double *area)
{
  struct point l = find_map_apply(&lattice->map, column - 0.5, row),
               r = find_map_apply(&lattice->map, column + 0.5, row);
  struct point t = find_map_apply(&lattice->map, column, row - 0.5),
               b = find_map_apply(&lattice->map, column, row + 0.5);
  double ux = r.x - l.x, uy = r.y - l.y, vx = b.x - t.x, vy = b.y - t.y;

  *area = ux * vy - uy * vx;
  return fmin(hypot(ux, uy), hypot(vx, vy));
}

/* Nodes anew from the map, within a span; strays fall out. */
static void nodes_renew(const struct find_blobs *blobs, struct find_lattice *lattice, int left, int right,
                        int top, int bottom)
{
  memset(lattice->blob, -1, sizeof lattice->blob);
  lattice->count = 0;
  lattice->left = lattice->top = FIND_REACH;
  lattice->right = lattice->bottom = -FIND_REACH;
  for (int column = left; column <= right; column++) {
    for (int row = top; row <= bottom; row++) {
      struct point place = find_map_apply(&lattice->map, column, row);
      double area, pitch = step_at(lattice, column, row, &area);
      int found = !reachable(column, row) || !(area > 0) || !isfinite(area)
                      ? -1
                      : nearest(blobs, place.x, place.y, STRAY * pitch, 0.3 * area, 1.5 * area);

      if (found >= 0) {
        node_set(lattice, column, row, found);
      }
    }
  }
}

bool find_lattice_grow(const struct find_blobs *blobs, const struct find_seed *seed,
                       struct find_lattice *lattice)
{
  spread_out(blobs, seed, lattice);
  if (lattice->count < NODES_MIN) {
    return false;
  }
  for (int i = 0; i < ROUNDS; i++) {
    if (!map_update(blobs, lattice)) {
      return false;
    }
    nodes_renew(blobs, lattice, lattice->left - 1, lattice->right + 1, lattice->top - 1, lattice->bottom + 1);
    if (lattice->count < NODES_MIN || lattice->right == lattice->left || lattice->bottom == lattice->top) {
      return false;
    }
  }
  return map_update(blobs, lattice);
}

void find_lattice_adjust(const struct find_blobs *blobs, int columns, int rows, struct mat3 *map)
{
  struct find_lattice lattice = {.map = *map};

  if (columns > FIND_REACH || rows > FIND_REACH) {
    return;
  }
  for (int i = 0; i < ROUNDS; i++) {
    nodes_renew(blobs, &lattice, 0, columns - 1, 0, rows - 1);
    if (2 * lattice.count < columns * rows || !map_update(blobs, &lattice)) {
      return;
    }
  }
  *map = lattice.map;
}
