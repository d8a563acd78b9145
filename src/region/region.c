/* SPDX-License-Identifier: MIT */
#include "region/region.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

void region_clear(struct region *region)
{
  free(region->vertex);
  *region = (struct region){0};
}

void region_list_clear(struct region_list *list)
{
  for (size_t i = 0; i < list->count; i++) {
    region_clear(&list->region[i]);
  }
  free(list->region);
  *list = (struct region_list){0};
}

static const char *const MOISTURE_WORD[] = {
    [MOISTURE_UNSTATED] = NULL, [MOISTURE_DRY] = "dry", [MOISTURE_MOIST] = "moist", [MOISTURE_WET] = "wet"};

const char *region_moisture_word(enum region_moisture moisture)
{
  return MOISTURE_WORD[moisture];
}

bool region_moisture_parse(const char *word, enum region_moisture *moisture)
{
  if (word[0] == '\0') {
    *moisture = MOISTURE_UNSTATED;
    return true;
  }
  for (int i = MOISTURE_DRY; i <= MOISTURE_WET; i++) {
    if (strcasecmp(word, MOISTURE_WORD[i]) == 0) {
      *moisture = (enum region_moisture)i;
      return true;
    }
  }
  return false;
}

static double cross_product(struct point o, struct point a, struct point b)
{
  return (a.x - o.x) * (b.y - o.y) - (a.y - o.y) * (b.x - o.x);
}

/* Twice the area, positive when turned clockwise on the screen. Corners are taken relative to the first, so that small
 * outlines far from the origin lose no digits. */
static double signed_area2(const struct region *region)
{
  double sum = 0;

  for (size_t i = 2; i < region->vertices; i++) {
    sum += cross_product(region->vertex[0], region->vertex[i - 1], region->vertex[i]);
  }
  return sum;
}

double region_area(const struct region *region)
{
  return fabs(signed_area2(region)) / 2;
}

static struct point mean_corner(const struct region *region)
{
  struct point sum = {0, 0};
  double n = region->vertices ? (double)region->vertices : 1;

  for (size_t i = 0; i < region->vertices; i++) {
    sum.x += region->vertex[i].x;
    sum.y += region->vertex[i].y;
  }
  return (struct point){sum.x / n, sum.y / n};
}

bool region_surrounds(const struct region *region)
{
  return strncasecmp(region->role, "surrounding", strlen("surrounding")) == 0;
}

bool region_is_in(const struct region *a, const struct region *b)
{
  return a->role[0] && b->role[0] && region_surrounds(a) != region_surrounds(b);
}

struct point region_centroid(const struct region *region)
{
  double area2 = signed_area2(region);
  struct point sum = {0, 0};

  if (fabs(area2) < 1e-9) {
    return mean_corner(region);
  }
  struct point o = region->vertex[0];
  for (size_t i = 2; i < region->vertices; i++) {
    struct point a = region->vertex[i - 1], b = region->vertex[i];
    double weight = cross_product(o, a, b) / (3 * area2);
    sum.x += weight * (a.x - o.x + b.x - o.x);
    sum.y += weight * (a.y - o.y + b.y - o.y);
  }
  return (struct point){o.x + sum.x, o.y + sum.y};
}

bool region_contains(const struct region *region, struct point place)
{
  bool inside = false;
  size_t n = region->vertices;

  for (size_t i = 0, j = n - 1; i < n; j = i++) {
    struct point a = region->vertex[j], b = region->vertex[i];
    if ((a.y <= place.y) != (b.y <= place.y) && place.x < a.x + (place.y - a.y) / (b.y - a.y) * (b.x - a.x)) {
      inside = !inside;
    }
  }
  return inside;
}

static bool check_inside(const struct region *region, int width, int height, struct error *error)
{
  const double slack = 0.5; /* pixels: rounding of whoever wrote the outline */

  for (size_t i = 0; i < region->vertices; i++) {
    struct point p = region->vertex[i];
    if (!(p.x >= -slack && p.y >= -slack && p.x <= width + slack && p.y <= height + slack)) {
      return error_set(
          error, ERROR_UNMEASURABLE, "outside",
          "the outline reaches to %.1f,%.1f, outside the photo of %d x %d pixels; draw it inside", p.x, p.y,
          width, height);
    }
  }
  return true;
}

/* An edge by the index of its first corner, with its extent. */
struct edge {
  size_t from;
  double left, right, top, bottom;
};

static int compare_left(const void *a, const void *b)
{
  const struct edge *p = a, *q = b;

  if (p->left != q->left) {
    return p->left < q->left ? -1 : 1;
  }
  return p->from < q->from ? -1 : 1;
}

static struct point corner(const struct region *region, size_t i)
{
  return region->vertex[i % region->vertices];
}

static int side(struct point a, struct point b, struct point p)
{
  double turn = cross_product(a, b, p);

  return (turn > 0) - (turn < 0);
}

/* Whether edges i and j cross at a place inside both. */
static bool cross_inside(const struct region *region, size_t i, size_t j)
{
  struct point a = corner(region, i), b = corner(region, i + 1);
  struct point c = corner(region, j), d = corner(region, j + 1);

  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

static bool between(struct point a, struct point b, struct point p)
{
  return (p.x - a.x) * (p.x - b.x) + (p.y - a.y) * (p.y - b.y) < 0;
}

/* Whether the outline goes through edge j at corner i, rather than only touching it there. */
static bool cross_at_corner(const struct region *region, size_t i, size_t j)
{
  struct point a = corner(region, j), b = corner(region, j + 1), p = corner(region, i);
  struct point before = corner(region, i + region->vertices - 1), after = corner(region, i + 1);

  return side(a, b, p) == 0 && between(a, b, p) && side(a, b, before) * side(a, b, after) < 0;
}

/* Whether p lies in the turn from a to b round o, counter to the clock in these coordinates. */
static bool in_turn(struct point o, struct point a, struct point b, struct point p)
{
  if (side(o, a, b) > 0) {
    return side(o, a, p) > 0 && side(o, p, b) > 0;
  }
  return !(side(o, b, p) >= 0 && side(o, p, a) >= 0);
}

static bool same_direction(struct point o, struct point a, struct point b)
{
  return side(o, a, b) == 0 && (a.x - o.x) * (b.x - o.x) + (a.y - o.y) * (b.y - o.y) > 0;
}

/* Whether two passages through one place, at corners i and j, cross there. Passages that go on along one line only touch. */
static bool cross_at_corners(const struct region *region, size_t i, size_t j)
{
  size_t n = region->vertices;
  struct point o = corner(region, i), other = corner(region, j);
  struct point before = corner(region, i + n - 1), after = corner(region, i + 1);
  struct point in = corner(region, j + n - 1), out = corner(region, j + 1);

  if (o.x != other.x || o.y != other.y || same_direction(o, before, in) || same_direction(o, before, out) ||
      same_direction(o, after, in) || same_direction(o, after, out)) {
    return false;
  }
  return in_turn(o, before, after, in) != in_turn(o, before, after, out);
}

static bool edges_cross(const struct region *region, size_t i, size_t j)
{
  size_t n = region->vertices;

  if ((i + 1) % n == j || (j + 1) % n == i) {
    return false;
  }
  return cross_inside(region, i, j) || cross_at_corner(region, i, j) || cross_at_corner(region, j, i) ||
         cross_at_corners(region, i, j);
}

static void list_edges(const struct region *region, struct edge *edge)
{
  for (size_t i = 0; i < region->vertices; i++) {
    struct point a = corner(region, i), b = corner(region, i + 1);
    edge[i] = (struct edge){i, fmin(a.x, b.x), fmax(a.x, b.x), fmin(a.y, b.y), fmax(a.y, b.y)};
  }
  qsort(edge, region->vertices, sizeof *edge, compare_left);
}

/* Edges in the order of their left ends; each is held against those that begin before it ends. */
static bool any_crossing(const struct region *region, const struct edge *edge, size_t *at)
{
  for (size_t i = 0; i < region->vertices; i++) {
    for (size_t j = i + 1; j < region->vertices && edge[j].left <= edge[i].right; j++) {
      if (edge[j].top <= edge[i].bottom && edge[i].top <= edge[j].bottom &&
          edges_cross(region, edge[i].from, edge[j].from)) {
        *at = edge[j].from;
        return true;
      }
    }
  }
  return false;
}

static bool check_simple(const struct region *region, struct error *error)
{
  struct edge *edge = calloc(region->vertices, sizeof *edge);
  size_t at = 0;

  if (!edge) {
    return error_no_memory(error, "the check of an outline");
  }
  list_edges(region, edge);
  bool crossing = any_crossing(region, edge, &at);
  free(edge);
  if (crossing) {
    struct point p = corner(region, at);
    return error_set(error, ERROR_UNMEASURABLE, "self-crossing",
                     "the outline crosses itself near %.1f,%.1f; draw it again without a loop", p.x, p.y);
  }
  return true;
}

bool region_check(const struct region *region, int width, int height, struct error *error)
{
  if (!check_inside(region, width, height, error)) {
    return false;
  }
  if (region->vertices >= 3 && region->shape == REGION_POLYGON && !check_simple(region, error)) {
    return false;
  }
  if (region_area(region) < 1) {
    return error_set(error, ERROR_UNMEASURABLE, "no-area",
                     "the outline holds less than one pixel; draw it round the deposit");
  }
  return true;
}
