/* SPDX-License-Identifier: MIT */
/* The rings of a part and of its holes go through the middles of the sides where inside meets outside, turning so that cells
 * that only touch at a corner stay apart. Such rings never touch each other. Each hole is joined to what lies right of it
 * along a row of inside cells, and parts to one another across outside cells. Thinning drops a corner only if no other corner
 * lies in the triangle that this takes off: then nothing comes to cross. */
#include "region/trace.h"

#include <math.h>
#include <stdlib.h>

#include "region/trace_parts.h"

/* Half cells that thinning may leave between the outline and a middle of a side. */
static const double THINNED = 0.6;

static void trace_clear(struct trace *trace)
{
  free(trace->label);
  free(trace->stack);
  free(trace->node_at);
  free(trace->node);
  free(trace->ring);
  free(trace->bridge);
  free(trace->first_cell);
}

static size_t half_index(const struct trace *trace, int x, int y)
{
  return (size_t)y * (size_t)(2 * trace->columns + 1) + (size_t)x;
}

/* A cell has four sides, and each hole copies two corners. */
static bool trace_make(const struct trace_mask *mask, struct trace *trace)
{
  *trace = (struct trace){.columns = mask->columns + 2, .rows = mask->rows + 2};
  size_t cells = (size_t)trace->columns * (size_t)trace->rows;
  size_t halves = (size_t)(2 * trace->columns + 1) * (size_t)(2 * trace->rows + 1);

  trace->label = calloc(cells, sizeof *trace->label);
  trace->stack = calloc(cells, sizeof *trace->stack);
  trace->node_at = calloc(halves, sizeof *trace->node_at);
  if (!trace->label || !trace->stack || !trace->node_at) {
    return false;
  }
  for (int row = 0; row < mask->rows; row++) {
    for (int column = 0; column < mask->columns; column++) {
      bool inside = mask->cell[(size_t)row * (size_t)mask->columns + (size_t)column] != 0;
      trace->label[(size_t)(row + 1) * (size_t)trace->columns + (size_t)(column + 1)] =
          inside ? PART : OUTSIDE;
    }
  }
  return true;
}

/* Fills small holes and numbers the others from 2; what is outside gets 1. Returns the last number. */
static int number_holes(struct trace *trace, double hole)
{
  int last = 1;

  trace_flood(trace, 0, 8, OUTSIDE, 1);
  for (int i = 0; i < trace->columns * trace->rows; i++) {
    if (trace->label[i] == OUTSIDE) {
      size_t count = trace_flood(trace, i, 8, OUTSIDE, ++last);
      if ((double)count < hole) {
        trace_flood(trace, i, 8, last--, PART);
      }
    }
  }
  return last;
}

static bool inside(const struct trace *trace, int column, int row)
{
  return trace->label[row * trace->columns + column] == PART;
}

/* Walks the ring whose first side begins at the corner x, y, with the part on the right hand; directions count 0 right, 1 down, 2
 * left, 3 up. Its nodes follow one another from the number returned. */
static size_t walk_ring(struct trace *trace, int x, int y, int direction)
{
  static const int dx[4] = {1, 0, -1, 0}, dy[4] = {0, 1, 0, -1};
  size_t first = trace->nodes;

  for (;;) {
    int px = 2 * x + dx[direction], py = 2 * y + dy[direction];
    size_t *at = &trace->node_at[half_index(trace, px, py)];
    if (*at) {
      break;
    }
    trace->node[trace->nodes] = (struct node){px, py, trace->nodes + 1, false};
    *at = ++trace->nodes;
    x += dx[direction];
    y += dy[direction];
    int right = (direction + 1) % 4, left = (direction + 3) % 4;
    bool right_ahead =
        inside(trace, x + (dx[direction] + dx[right] - 1) / 2, y + (dy[direction] + dy[right] - 1) / 2);
    bool left_ahead =
        inside(trace, x + (dx[direction] + dx[left] - 1) / 2, y + (dy[direction] + dy[left] - 1) / 2);
    direction = !right_ahead ? right : left_ahead ? left : direction;
  }
  trace->node[trace->nodes - 1].next = first;
  return first;
}

/* The rightmost cell of each hole, the first from the top, by the hole's number. */
static void rightmost_cells(const struct trace *trace, int *rightmost)
{
  for (int i = 0; i < trace->columns * trace->rows; i++) {
    int hole = trace->label[i];
    if (hole > 1 && (rightmost[hole] == 0 || i % trace->columns > rightmost[hole] % trace->columns)) {
      rightmost[hole] = i;
    }
  }
}

/* The cut from the ring right of a hole, whose ring has the nodes first to last: to the hole, round it, and back. */
static void join_hole(struct trace *trace, int cell, size_t first, size_t last)
{
  int column = cell % trace->columns + 1, row = cell / trace->columns;

  while (inside(trace, column, row)) {
    column++;
  }
  size_t rim = trace->node_at[half_index(trace, 2 * column, 2 * row + 1)] - 1;
  size_t back = trace->nodes++, out = trace->nodes++;
  trace->node[first].fixed = trace->node[rim].fixed = true;
  trace->node[back] = trace->node[first];
  trace->node[out] = trace->node[rim];
  trace->node[back].next = out;
  trace->node[rim].next = first;
  trace->node[last].next = back;
}

/* The middles of the sides that a bridge runs between become the ends of a cut. */
static void join_parts(struct trace *trace, const struct bridge *bridge)
{
  int x = 2 * (bridge->from % trace->columns) + 1, y = 2 * (bridge->from / trace->columns) + 1;
  int to_x = 2 * (bridge->to % trace->columns) + 1, to_y = 2 * (bridge->to / trace->columns) + 1;
  int right = !bridge->down, down = bridge->down;
  struct node *p = &trace->node[trace->node_at[half_index(trace, x + right, y + down)] - 1];
  struct node *q = &trace->node[trace->node_at[half_index(trace, to_x - right, to_y - down)] - 1];
  size_t back = trace->nodes++, out = trace->nodes++;

  p->fixed = q->fixed = true;
  trace->node[back] = *p;
  trace->node[out] = *q;
  p->next = out;
  q->next = back;
}

/* First all rings, then the cuts, so that each finds the ring that it ends at. */
static void make_rings(struct trace *trace, int last_hole, const int *rightmost, size_t *first)
{
  for (int i = 0; i < trace->parts; i++) {
    walk_ring(trace, trace->first_cell[i] % trace->columns, trace->first_cell[i] / trace->columns, 0);
  }
  for (int hole = 2; hole <= last_hole; hole++) {
    int column = rightmost[hole] % trace->columns, row = rightmost[hole] / trace->columns;
    first[hole] = walk_ring(trace, column + 1, row + 1, 3);
  }
  first[last_hole + 1] = trace->nodes;
  for (int hole = 2; hole <= last_hole; hole++) {
    join_hole(trace, rightmost[hole], first[hole], first[hole + 1] - 1);
  }
  for (size_t i = 0; i < trace->bridges; i++) {
    join_parts(trace, &trace->bridge[i]);
  }
}

static void order_corners(struct trace *trace)
{
  size_t at = 0;

  do {
    trace->ring[trace->corners++] = trace->node[at];
    at = trace->node[at].next;
  } while (at != 0);
}

static bool join_rings(struct trace *trace, int last_hole)
{
  int *rightmost = calloc((size_t)last_hole + 1, sizeof *rightmost);
  size_t *first = calloc((size_t)last_hole + 2, sizeof *first);
  size_t most = 2 * ((size_t)last_hole + trace->bridges);

  for (int i = 0; i < trace->columns * trace->rows; i++) {
    most += trace->label[i] == PART ? 4 : 0;
  }
  trace->node = calloc(most, sizeof *trace->node);
  trace->ring = calloc(most, sizeof *trace->ring);
  bool done = rightmost && first && trace->node && trace->ring;
  if (done) {
    rightmost_cells(trace, rightmost);
    make_rings(trace, last_hole, rightmost, first);
    order_corners(trace);
  }
  free(rightmost);
  free(first);
  return done;
}

static long turn(struct node o, struct node a, struct node b)
{
  return (long)(a.x - o.x) * (b.y - o.y) - (long)(a.y - o.y) * (b.x - o.x);
}

/* Distance of p from the stretch a b, half cells. */
static double distance_from(struct node a, struct node b, struct node p)
{
  double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
  double t = length2 > 0 ? ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2 : 0;

  t = fmin(fmax(t, 0), 1);
  return hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

/* Whether the stretch from one corner of the ring to another passes near all between. */
static bool passes_near(const struct trace *trace, size_t from, size_t to)
{
  struct node a = trace->ring[from], b = trace->ring[to % trace->corners];

  for (size_t i = from + 1; i < to; i++) {
    if (distance_from(a, b, trace->ring[i]) > THINNED) {
      return false;
    }
  }
  return true;
}

static bool same_place(struct node a, struct node b)
{
  return a.x == b.x && a.y == b.y;
}

static bool in_triangle(struct node a, struct node b, struct node c, struct node p)
{
  long first = turn(a, b, p), second = turn(b, c, p), third = turn(c, a, p);

  return (first >= 0 && second >= 0 && third >= 0) || (first <= 0 && second <= 0 && third <= 0);
}

/* Widens left..right to where the stretch a b passes the row y. */
static void reach_of(struct node a, struct node b, int y, double *left, double *right)
{
  if ((a.y < y && b.y < y) || (a.y > y && b.y > y)) {
    return;
  }
  double x = a.y == b.y ? a.x : a.x + (double)(b.x - a.x) * (y - a.y) / (b.y - a.y);
  *left = fmin(*left, a.y == b.y ? fmin(a.x, b.x) : x);
  *right = fmax(*right, a.y == b.y ? fmax(a.x, b.x) : x);
}

/* Whether no corner that is still there, besides its own, lies in the triangle or on it. */
static bool triangle_is_free(const struct trace *trace, struct node a, struct node b, struct node c)
{
  int top = a.y < b.y ? a.y : b.y, bottom = a.y > b.y ? a.y : b.y;

  top = c.y < top ? c.y : top;
  bottom = c.y > bottom ? c.y : bottom;
  for (int y = top; y <= bottom; y++) {
    double left = INFINITY, right = -INFINITY;
    reach_of(a, b, y, &left, &right);
    reach_of(b, c, y, &left, &right);
    reach_of(c, a, y, &left, &right);
    for (int x = (int)floor(left); x <= (int)ceil(right); x++) {
      struct node p = {.x = x, .y = y};
      if (trace->node_at[half_index(trace, x, y)] && !same_place(p, a) && !same_place(p, b) &&
          !same_place(p, c) && in_triangle(a, b, c, p)) {
        return false;
      }
    }
  }
  return true;
}

/* Drops corners, each stretch as long as it may be. */
static void thin(struct trace *trace)
{
  size_t kept = 1, n = trace->corners, from = 0;
  const size_t longest = 256; /* corners a stretch: keeps the work linear */

  while (from + 1 < n) {
    struct node a = trace->ring[from];
    size_t to = from + 1;
    while (to < n && to - from < longest && !trace->ring[to].fixed && passes_near(trace, from, to + 1) &&
           triangle_is_free(trace, a, trace->ring[to], trace->ring[(to + 1) % n])) {
      trace->node_at[half_index(trace, trace->ring[to].x, trace->ring[to].y)] = 0;
      to++;
    }
    if (to < n) {
      trace->node[kept++] = trace->ring[to];
    }
    from = to;
  }
  trace->node[0] = trace->ring[0];
  trace->nodes = kept;
}

static bool take_outline(const struct trace *trace, double side, struct region *region)
{
  region->vertex = calloc(trace->nodes, sizeof *region->vertex);
  if (!region->vertex) {
    return false;
  }
  for (size_t i = 0; i < trace->nodes; i++) {
    region->vertex[i] =
        (struct point){(trace->node[i].x / 2.0 - 1) * side, (trace->node[i].y / 2.0 - 1) * side};
  }
  region->shape = REGION_POLYGON;
  region->vertices = trace->nodes;
  return true;
}

bool trace_outline(const struct trace_mask *mask, double hole, struct region *region, struct error *error)
{
  struct trace trace;
  bool done = trace_make(mask, &trace) && trace_keep_parts(&trace, mask->joined);

  if (done && trace.parts == 0) {
    trace_clear(&trace);
    return error_set(error, ERROR_UNMEASURABLE, "no-area", "nothing is inside; there is no outline to draw");
  }
  done = done && join_rings(&trace, number_holes(&trace, mask->joined ? 0 : hole));
  if (done) {
    thin(&trace);
    done = take_outline(&trace, mask->side, region);
  }
  trace_clear(&trace);
  return done || error_no_memory(error, "an outline");
}
