/* SPDX-License-Identifier: MIT */
#include "region/outline.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"

static bool number_fits(double number, struct error *error)
{
  if (!isfinite(number) || fabs(number) > OUTLINE_NUMBER_MAX) {
    return error_set(error, ERROR_FILE, "bad-regions", "%g is no place in a photo; give pixels, at most %.0f",
                     number, OUTLINE_NUMBER_MAX);
  }
  return true;
}

static bool size_fits(double size, const char *name, struct error *error)
{
  if (!number_fits(size, error)) {
    return false;
  }
  if (size < 0) {
    return error_set(error, ERROR_FILE, "bad-regions",
                     "the %s %g is negative; give it in pixels from zero up", name, size);
  }
  return true;
}

static bool take_corners(struct region *region, enum region_shape shape, size_t count, struct error *error)
{
  region->vertex = calloc(count ? count : 1, sizeof *region->vertex);
  if (!region->vertex) {
    return error_no_memory(error, "an outline");
  }
  region->shape = shape;
  region->vertices = count;
  return true;
}

bool outline_rectangle(struct region *region, double x, double y, double width, double height,
                       struct error *error)
{
  if (!number_fits(x, error) || !number_fits(y, error) || !size_fits(width, "width", error) ||
      !size_fits(height, "height", error) || !take_corners(region, REGION_RECTANGLE, 4, error)) {
    return false;
  }
  region->vertex[0] = (struct point){x, y};
  region->vertex[1] = (struct point){x + width, y};
  region->vertex[2] = (struct point){x + width, y + height};
  region->vertex[3] = (struct point){x, y + height};
  return true;
}

/* The polygon has the ellipse's area: its corners lie outside by a factor of sqrt(2 pi / n / sin(2 pi / n)), a fifth of
 * a thousandth of the radius. */
bool outline_ellipse(struct region *region, enum region_shape shape, struct point centre, double rx,
                     double ry, struct error *error)
{
  const double step = 2 * M_PI / OUTLINE_ROUND, out = sqrt(step / sin(step));

  if (!number_fits(centre.x, error) || !number_fits(centre.y, error) || !size_fits(rx, "radius", error) ||
      !size_fits(ry, "radius", error) || !take_corners(region, shape, OUTLINE_ROUND, error)) {
    return false;
  }
  for (int i = 0; i < OUTLINE_ROUND; i++) {
    region->vertex[i].x = centre.x + out * rx * cos(step * (i + 0.5));
    region->vertex[i].y = centre.y + out * ry * sin(step * (i + 0.5));
  }
  return true;
}

static bool same_place(struct point a, struct point b)
{
  return a.x == b.x && a.y == b.y;
}

static bool check_corners(const double *number, size_t count, struct error *error)
{
  if (count == 0 || count % 2 != 0) {
    return error_set(error, ERROR_FILE, "bad-regions", "%zu numbers are given; a polygon takes pairs x,y",
                     count);
  }
  if (count / 2 > OUTLINE_CORNERS_MAX) {
    return error_set(error, ERROR_FILE, "bad-regions", "the polygon has %zu corners; draw it with at most %d",
                     count / 2, OUTLINE_CORNERS_MAX);
  }
  for (size_t i = 0; i < count; i++) {
    if (!number_fits(number[i], error)) {
      return false;
    }
  }
  return true;
}

bool outline_polygon(struct region *region, const double *number, size_t count, struct error *error)
{
  size_t kept = 0;

  if (!check_corners(number, count, error) || !take_corners(region, REGION_POLYGON, count / 2, error)) {
    return false;
  }
  for (size_t i = 0; i < count; i += 2) {
    struct point corner = {number[i], number[i + 1]};
    if (kept == 0 || !same_place(corner, region->vertex[kept - 1])) {
      region->vertex[kept++] = corner;
    }
  }
  while (kept > 1 && same_place(region->vertex[kept - 1], region->vertex[0])) {
    kept--;
  }
  region->vertices = kept;
  return true;
}

/* Where the outline crosses the line at height y, each edge counted from its upper end, without the lower one. */
static size_t cross(const struct region *region, double y, double *crossing)
{
  size_t count = 0, n = region->vertices;

  for (size_t i = 0, j = n - 1; i < n; j = i++) {
    struct point a = region->vertex[j], b = region->vertex[i];
    if ((a.y <= y) != (b.y <= y)) {
      crossing[count++] = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
    }
  }
  order_doubles(crossing, count);
  return count;
}

/* First column whose centre is not left of x. */
static int column_from(double x, int width)
{
  double column = ceil(x - 0.5);

  return column <= 0 ? 0 : column >= width ? width : (int)column;
}

size_t outline_row(const struct region *region, int y, int width, double *crossing, struct outline_span *span)
{
  size_t count = cross(region, y + 0.5, crossing), spans = 0;

  for (size_t i = 0; i + 1 < count; i += 2) {
    struct outline_span found = {column_from(crossing[i], width), column_from(crossing[i + 1], width)};
    if (found.begin < found.end) {
      span[spans++] = found;
    }
  }
  return spans;
}
