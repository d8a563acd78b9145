/* SPDX-License-Identifier: MIT */
/* On a grid of square cells over both outlines, the band of a region is what lies inside it, not inside the other, and between
 * `gap` and gap + width from the other's outline. The gap keeps mixed pixels, and a hand that drew a little beside the edge,
 * out of both bands. Sizes are ours: */
#include "compare/boundary.h"

#include <math.h>
#include <stdlib.h>

#include "compare/touching.h"
#include "measure/shared.h"
#include "region/outline.h"
#include "region/trace.h"

static const double GAP = 0.015, WIDTH = 0.12;  /* of the square root of the smaller area            */
static const double GAP_MIN = 2, WIDTH_MIN = 8; /* pixels                                            */
static const double WIDTH_MAX = 0.6;            /* as WIDTH: a wider band is no longer a boundary's  */
enum { BAND_PIXELS = 1500, CELLS_ACROSS = 300 };

/* A squared distance that no cell has. */
static const double FAR = 1e12;

struct grid {
  const struct region *region[2];
  double side;
  int left, top;      /* first cells, counted from the photo's corner     */
  int columns, rows;  /* of the grid: where both regions' surroundings meet */
  uint8_t *inside[2]; /* owned; 1: the cell's middle is in the region    */
  float *distance[2]; /* owned; cells to the nearest one inside region k, squared */
  uint8_t *band;      /* owned                                           */
};

static void grid_clear(struct grid *grid)
{
  for (int k = 0; k < 2; k++) {
    free(grid->inside[k]);
    free(grid->distance[k]);
  }
  free(grid->band);
}

static size_t cell_of(const struct grid *grid, int column, int row)
{
  return (size_t)row * (size_t)grid->columns + (size_t)column;
}

static size_t cells_of(const struct grid *grid)
{
  return (size_t)grid->columns * (size_t)grid->rows;
}

/* Nothing beyond can be in a band. */
static void find_extent(struct grid *grid, const struct image *image, double reach)
{
  double low[2] = {0, 0}, high[2] = {image->width, image->height};

  for (int k = 0; k < 2; k++) {
    struct outline_extent extent = outline_extent_of(grid->region[k]);
    low[0] = fmax(low[0], extent.left - reach);
    low[1] = fmax(low[1], extent.top - reach);
    high[0] = fmin(high[0], extent.right + reach);
    high[1] = fmin(high[1], extent.bottom + reach);
  }
  grid->side = fmax(1, ceil(fmax(high[0] - low[0], high[1] - low[1]) / CELLS_ACROSS));
  grid->left = (int)floor(low[0] / grid->side);
  grid->top = (int)floor(low[1] / grid->side);
  grid->columns = (int)fmax(ceil(high[0] / grid->side) - grid->left, 1);
  grid->rows = (int)fmax(ceil(high[1] / grid->side) - grid->top, 1);
}

static void mark_span(struct grid *grid, int k, int row, struct outline_span span)
{
  for (int column = 0; column < grid->columns; column++) {
    int x = (int)floor((grid->left + column + 0.5) * grid->side);
    if (x >= span.begin && x < span.end) {
      grid->inside[k][cell_of(grid, column, row)] = 1;
    }
  }
}

/* Cells whose middle pixel is in the region. */
static bool mark_inside(struct grid *grid, int k, const struct image *image)
{
  const struct region *region = grid->region[k];
  double *crossing = calloc(region->vertices + 1, sizeof *crossing);
  struct outline_span *span = calloc(region->vertices + 1, sizeof *span);

  for (int row = 0; crossing && span && row < grid->rows; row++) {
    int y = (int)floor((grid->top + row + 0.5) * grid->side);
    size_t spans = y < image->height ? outline_row(region, y, image->width, crossing, span) : 0;
    for (size_t i = 0; i < spans; i++) {
      mark_span(grid, k, row, span[i]);
    }
  }
  bool done = crossing && span;
  free(crossing);
  free(span);
  return done;
}

/* Lower envelope of the parabolas value[q] + (p - q)^2 at all p < count, in place (Felzenszwalb & Huttenlocher 2012, Theory of
 * Computing 8, 415). `from` and `at` are room for count + 1 each, `kept` for count. */
static void envelope(float *value, size_t stride, int count, double *from, int *at, float *kept)
{
  int last = -1;

  for (int q = 0; q < count; q++) {
    double f = (double)value[(size_t)q * stride], meet = -INFINITY;
    kept[q] = (float)f;
    if (f >= FAR) {
      continue;
    }
    while (last >= 0) {
      int p = at[last];
      meet = ((f + (double)q * q) - ((double)kept[p] + (double)p * p)) / (2.0 * (q - p));
      if (meet > from[last]) {
        break;
      }
      last--;
      meet = -INFINITY;
    }
    at[++last] = q;
    from[last] = meet;
  }
  for (int p = 0, i = 0; p < count && last >= 0; p++) {
    while (i < last && from[i + 1] < p) {
      i++;
    }
    value[(size_t)p * stride] = (float)((double)(p - at[i]) * (p - at[i]) + (double)kept[at[i]]);
  }
}

/* Squared distances in cells, columns first, then rows. */
static bool find_distances(struct grid *grid, int k)
{
  size_t most = (size_t)(grid->columns > grid->rows ? grid->columns : grid->rows) + 1;
  double *from = calloc(most, sizeof *from);
  int *at = calloc(most, sizeof *at);
  float *kept = calloc(most, sizeof *kept);
  bool done = from && at && kept;

  for (size_t i = 0; done && i < cells_of(grid); i++) {
    grid->distance[k][i] = grid->inside[k][i] ? 0 : (float)FAR;
  }
  for (int column = 0; done && column < grid->columns; column++) {
    envelope(grid->distance[k] + column, (size_t)grid->columns, grid->rows, from, at, kept);
  }
  for (int row = 0; done && row < grid->rows; row++) {
    envelope(grid->distance[k] + cell_of(grid, 0, row), 1, grid->columns, from, at, kept);
  }
  free(from);
  free(at);
  free(kept);
  return done;
}

static bool grid_make(struct grid *grid, const struct image *image, double reach)
{
  find_extent(grid, image, reach);
  grid->band = calloc(cells_of(grid), 1);
  for (int k = 0; k < 2; k++) {
    grid->inside[k] = calloc(cells_of(grid), 1);
    grid->distance[k] = calloc(cells_of(grid), sizeof *grid->distance[k]);
    if (!grid->band || !grid->inside[k] || !grid->distance[k] || !mark_inside(grid, k, image) ||
        !find_distances(grid, k)) {
      return false;
    }
  }
  return true;
}

/* Pixels from a cell's middle to the rim of region k, half a cell short of the nearest middle inside. */
static double pixels_to(const struct grid *grid, int k, size_t cell)
{
  return fmax(sqrt((double)grid->distance[k][cell]) - 0.5, 0) * grid->side;
}

/* Square pixels that both regions claim. */
static double area_shared(const struct grid *grid)
{
  size_t cells = 0;

  for (size_t i = 0; i < cells_of(grid); i++) {
    cells += grid->inside[0][i] && grid->inside[1][i];
  }
  return (double)cells * grid->side * grid->side;
}

/* How near region k comes to the other one from outside. */
static double space_to_other(const struct grid *grid, int k)
{
  double least = INFINITY;

  for (size_t i = 0; i < cells_of(grid); i++) {
    if (grid->inside[k][i] && !grid->inside[1 - k][i]) {
      least = fmin(least, pixels_to(grid, 1 - k, i));
    }
  }
  return least;
}

/* Marks the band of region k and returns its square pixels. */
static double mark_band(struct grid *grid, int k, double from, double width)
{
  size_t cells = 0;

  for (size_t i = 0; i < cells_of(grid); i++) {
    double off = pixels_to(grid, 1 - k, i);
    grid->band[i] = grid->inside[k][i] && !grid->inside[1 - k][i] && off >= from && off <= from + width;
    cells += grid->band[i];
  }
  return (double)cells * grid->side * grid->side;
}

/* Traces and reads the band that is marked. */
static bool read_band(const struct grid *grid, const struct measurement *m, int k, struct reading *reading)
{
  struct trace_mask mask = {grid->band, grid->columns, grid->rows, grid->side, false};
  struct region band = *grid->region[k];

  band.vertex = NULL;
  band.vertices = 0;
  *reading = (struct reading){0};
  if (!trace_outline(&mask, BAND_PIXELS, &band, &reading->error)) {
    return false;
  }
  for (size_t i = 0; i < band.vertices; i++) { /* the last cells may lie over the frame's edge */
    band.vertex[i].x = fmin(band.vertex[i].x + grid->left * grid->side, m->image.width);
    band.vertex[i].y = fmin(band.vertex[i].y + grid->top * grid->side, m->image.height);
  }
  measure_region(m, &band, reading);
  reading->region = NULL;
  region_clear(&band);
  if (reading->measured) {
    shared_one_plane(reading);
  }
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
  boundary->difference = difference_across(&reading[0], &reading[1]);
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
