/* SPDX-License-Identifier: MIT */
/* On a grid of square cells over both outlines, the band of a region is what lies inside it, not inside the other, and between
 * `gap` and gap + width from the other's outline. The gap keeps mixed pixels, and a hand that drew a little beside the edge,
 * out of both bands. Sizes are ours: */
#include "compare/boundary.h"

#include <math.h>
#include <stdlib.h>

#include "region/trace.h"

static const double GAP = 0.015, WIDTH = 0.12;  /* of the square root of the smaller area            */
static const double GAP_MIN = 2, WIDTH_MIN = 8; /* pixels                                            */
static const double WIDTH_MAX = 0.6;            /* as WIDTH: a wider band is no longer a boundary's  */
enum { BAND_PIXELS = 1500, CELLS_ACROSS = 300 };

struct grid {
  const struct region *region[2];
  double side;
  int columns, rows;            /* of the whole photo             */
  int left, top, right, bottom; /* cells that the regions reach   */
  uint8_t *inside[2];           /* owned; 1: the cell's middle is in the region     */
  float *distance[2];           /* owned; of the cell's middle to region k's outline */
  uint8_t *band;                /* owned                          */
};

static void grid_clear(struct grid *grid)
{
  for (int k = 0; k < 2; k++) {
    free(grid->inside[k]);
    free(grid->distance[k]);
  }
  free(grid->band);
}

static struct point middle(const struct grid *grid, int column, int row)
{
  return (struct point){(column + 0.5) * grid->side, (row + 0.5) * grid->side};
}

static size_t cell_of(const struct grid *grid, int column, int row)
{
  return (size_t)row * (size_t)grid->columns + (size_t)column;
}

static double to_segment(struct point p, struct point a, struct point b)
{
  double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
  double t = length2 > 0 ? ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2 : 0;

  t = fmin(fmax(t, 0), 1);
  return hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

static double to_outline(const struct region *region, struct point p)
{
  double nearest = INFINITY;

  for (size_t i = 0; i < region->vertices; i++) {
    nearest = fmin(nearest, to_segment(p, region->vertex[i], region->vertex[(i + 1) % region->vertices]));
  }
  return nearest;
}

/* Where both regions' surroundings meet; nothing else can be in a band. */
static void find_extent(struct grid *grid, double reach)
{
  double low[2] = {-INFINITY, -INFINITY}, high[2] = {INFINITY, INFINITY};

  for (int k = 0; k < 2; k++) {
    double from[2] = {INFINITY, INFINITY}, to[2] = {-INFINITY, -INFINITY};
    for (size_t i = 0; i < grid->region[k]->vertices; i++) {
      struct point v = grid->region[k]->vertex[i];
      from[0] = fmin(from[0], v.x);
      from[1] = fmin(from[1], v.y);
      to[0] = fmax(to[0], v.x);
      to[1] = fmax(to[1], v.y);
    }
    for (int axis = 0; axis < 2; axis++) {
      low[axis] = fmax(low[axis], from[axis] - reach);
      high[axis] = fmin(high[axis], to[axis] + reach);
    }
  }
  grid->side = fmax(1, ceil(fmax(high[0] - low[0], high[1] - low[1]) / CELLS_ACROSS));
  grid->left = (int)fmax(floor(low[0] / grid->side), 0);
  grid->top = (int)fmax(floor(low[1] / grid->side), 0);
  grid->right = (int)ceil(high[0] / grid->side);
  grid->bottom = (int)ceil(high[1] / grid->side);
}

static bool grid_make(struct grid *grid, const struct image *image, double reach)
{
  find_extent(grid, reach);
  grid->columns = (int)ceil(image->width / grid->side);
  grid->rows = (int)ceil(image->height / grid->side);
  grid->right = grid->right < grid->columns ? grid->right : grid->columns;
  grid->bottom = grid->bottom < grid->rows ? grid->bottom : grid->rows;
  size_t cells = (size_t)grid->columns * (size_t)grid->rows;
  grid->band = calloc(cells, 1);
  for (int k = 0; k < 2; k++) {
    grid->inside[k] = calloc(cells, 1);
    grid->distance[k] = calloc(cells, sizeof *grid->distance[k]);
    if (!grid->band || !grid->inside[k] || !grid->distance[k]) {
      return false;
    }
    for (int row = grid->top; row < grid->bottom; row++) {
      for (int column = grid->left; column < grid->right; column++) {
        struct point p = middle(grid, column, row);
        grid->inside[k][cell_of(grid, column, row)] = region_contains(grid->region[k], p);
        grid->distance[k][cell_of(grid, column, row)] = (float)to_outline(grid->region[k], p);
      }
    }
  }
  return true;
}

/* Square pixels that both regions claim. */
static double area_shared(const struct grid *grid)
{
  size_t cells = 0;

  for (int row = grid->top; row < grid->bottom; row++) {
    for (int column = grid->left; column < grid->right; column++) {
      size_t cell = cell_of(grid, column, row);
      cells += grid->inside[0][cell] && grid->inside[1][cell];
    }
  }
  return (double)cells * grid->side * grid->side;
}

/* How near region k comes to the other one's outline from outside. */
static double space_to_other(const struct grid *grid, int k)
{
  double least = INFINITY;

  for (int row = grid->top; row < grid->bottom; row++) {
    for (int column = grid->left; column < grid->right; column++) {
      size_t cell = cell_of(grid, column, row);
      if (grid->inside[k][cell] && !grid->inside[1 - k][cell]) {
        least = fmin(least, (double)grid->distance[1 - k][cell]);
      }
    }
  }
  return least;
}

/* Marks the band of region k and returns its square pixels. */
static double mark_band(struct grid *grid, int k, double from, double width)
{
  size_t cells = 0;

  for (int row = grid->top; row < grid->bottom; row++) {
    for (int column = grid->left; column < grid->right; column++) {
      size_t cell = cell_of(grid, column, row);
      double off = (double)grid->distance[1 - k][cell];
      grid->band[cell] =
          grid->inside[k][cell] && !grid->inside[1 - k][cell] && off >= from && off <= from + width;
      cells += grid->band[cell];
    }
  }
  return (double)cells * grid->side * grid->side;
}

/* Traces and reads the band that is marked. */
static bool read_band(const struct grid *grid, const struct measurement *m, int k, struct reading *reading)
{
  struct trace_mask mask = {grid->band, grid->columns, grid->rows, grid->side};
  struct region band = *grid->region[k];

  band.vertex = NULL;
  band.vertices = 0;
  *reading = (struct reading){0};
  if (!trace_outline(&mask, BAND_PIXELS, &band, &reading->error)) {
    return false;
  }
  for (size_t i = 0; i < band.vertices; i++) { /* the last cells may lie over the frame's edge */
    band.vertex[i].x = fmin(band.vertex[i].x, m->image.width);
    band.vertex[i].y = fmin(band.vertex[i].y, m->image.height);
  }
  measure_region(m, &band, reading);
  reading->region = NULL;
  region_clear(&band);
  return reading->measured;
}

/* Widens the bands until both hold enough pixels. */
static double choose_width(struct grid *grid, const double from[2], double size)
{
  double width = fmax(WIDTH * size, WIDTH_MIN);

  while (width < WIDTH_MAX * size && (mark_band(grid, 0, from[0], width) < BAND_PIXELS ||
                                      mark_band(grid, 1, from[1], width) < BAND_PIXELS)) {
    width *= 1.5;
  }
  return fmin(width, fmax(WIDTH_MAX * size, WIDTH_MIN));
}

static void compare_bands(struct grid *grid, const struct measurement *m, double size,
                          struct boundary *boundary)
{
  struct reading reading[2];
  double from[2];

  boundary->gap = fmax(GAP * size, GAP_MIN);
  for (int k = 0; k < 2; k++) {
    from[k] = fmax(boundary->gap, space_to_other(grid, k));
  }
  boundary->width = choose_width(grid, from, size);
  for (int k = 0; k < 2; k++) {
    mark_band(grid, k, from[k], boundary->width);
    if (!read_band(grid, m, k, &reading[k])) {
      boundary->error = reading[k].error;
      return;
    }
    boundary->pixels[k] = reading[k].statistics.pixels;
    boundary->lab[k] = reading[k].lab_d50;
  }
  boundary->difference = difference_of(&reading[0], &reading[1]);
  boundary->compared = true;
}

bool boundary_compare(const struct measurement *m, size_t a, size_t b, struct boundary *boundary,
                      struct error *error)
{
  struct grid grid = {.region = {m->reading[a].region, m->reading[b].region}};
  double area = fmin(region_area(grid.region[0]), region_area(grid.region[1])), size = sqrt(area);

  *boundary = (struct boundary){0};
  if (!grid_make(&grid, &m->image, (GAP + WIDTH_MAX) * size)) {
    grid_clear(&grid);
    return error_no_memory(error, "a boundary");
  }
  boundary->overlap = area_shared(&grid) / area;
  if (boundary->overlap > BOUNDARY_OVERLAP) {
    error_set(
        &boundary->error, ERROR_UNMEASURABLE, "overlap",
        "the outlines overlap by %.0f %% of the smaller one; correct them to compare the two as neighbours",
        100 * boundary->overlap);
  } else {
    compare_bands(&grid, m, size, boundary);
  }
  grid_clear(&grid);
  return true;
}
