/* SPDX-License-Identifier: MIT */
#include "compare/touching.h"

#include <math.h>

struct outline_extent outline_extent_of(const struct region *region)
{
  struct outline_extent extent = {region, INFINITY, -INFINITY, INFINITY, -INFINITY, 0};

  for (size_t i = 0; i < region->vertices; i++) {
    struct point p = region->vertex[i];
    extent.left = fmin(extent.left, p.x);
    extent.right = fmax(extent.right, p.x);
    extent.top = fmin(extent.top, p.y);
    extent.bottom = fmax(extent.bottom, p.y);
  }
  extent.near = fmax(0.03 * sqrt(region_area(region)), 2);
  return extent;
}

struct segment {
  struct point a, b;
};

static struct segment edge(const struct region *region, size_t i)
{
  return (struct segment){region->vertex[i], region->vertex[(i + 1) % region->vertices]};
}

/* Whether a segment comes within `near` of the box; edges far from the other outline are dropped by this. */
static bool reaches(struct segment s, const struct outline_extent *box, double near)
{
  return fmin(s.a.x, s.b.x) <= box->right + near && fmax(s.a.x, s.b.x) >= box->left - near &&
         fmin(s.a.y, s.b.y) <= box->bottom + near && fmax(s.a.y, s.b.y) >= box->top - near;
}

static double distance_to_segment(struct point p, struct segment s)
{
  double dx = s.b.x - s.a.x, dy = s.b.y - s.a.y, length2 = dx * dx + dy * dy;
  double t = length2 > 0 ? ((p.x - s.a.x) * dx + (p.y - s.a.y) * dy) / length2 : 0;

  t = fmin(fmax(t, 0), 1);
  return hypot(p.x - s.a.x - t * dx, p.y - s.a.y - t * dy);
}

static double turn(struct point o, struct point a, struct point b)
{
  return (a.x - o.x) * (b.y - o.y) - (a.y - o.y) * (b.x - o.x);
}

/* Segments that cross are at distance zero; else the nearest place is an end of one of them. */
static bool closer(struct segment s, struct segment t, double near)
{
  if (turn(s.a, s.b, t.a) * turn(s.a, s.b, t.b) < 0 && turn(t.a, t.b, s.a) * turn(t.a, t.b, s.b) < 0) {
    return true;
  }
  return distance_to_segment(s.a, t) < near || distance_to_segment(s.b, t) < near ||
         distance_to_segment(t.a, s) < near || distance_to_segment(t.b, s) < near;
}

static bool edge_comes_near(struct segment s, const struct outline_extent *other, double near)
{
  struct outline_extent box = {.left = fmin(s.a.x, s.b.x),
                               .right = fmax(s.a.x, s.b.x),
                               .top = fmin(s.a.y, s.b.y),
                               .bottom = fmax(s.a.y, s.b.y)};

  for (size_t j = 0; j < other->region->vertices; j++) {
    struct segment t = edge(other->region, j);
    if (reaches(t, &box, near) && closer(s, t, near)) {
      return true;
    }
  }
  return false;
}

bool outline_touching(const struct outline_extent *a, const struct outline_extent *b)
{
  double near = fmin(a->near, b->near);

  if (a->left > b->right + near || b->left > a->right + near || a->top > b->bottom + near ||
      b->top > a->bottom + near) {
    return false;
  }
  for (size_t i = 0; i < a->region->vertices; i++) {
    struct segment s = edge(a->region, i);
    if (reaches(s, b, near) && edge_comes_near(s, b, near)) {
      return true;
    }
  }
  return region_contains(a->region, b->region->vertex[0]) || region_contains(b->region, a->region->vertex[0]);
}
