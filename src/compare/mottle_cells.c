/* SPDX-License-Identifier: MIT */
#include "compare/mottle_cells.h"

#include <math.h>
#include <stdlib.h>

#include "region/walk.h"

enum {
  SIDE_LOSSY = 4, /* pixels: two of a JPEG's chroma at half resolution  */
  SIDE_PLAIN = 3,
  ACROSS = 160, /* cells side by side, at most                         */
  LINES = 4     /* rows of pixels looked at in a cell, about           */
};

struct filling {
  struct mottle_cells *cells;
  int full; /* pixels looked at in a cell */
};

/* A part of a run that lies in one cell. */
static void add_stretch(struct mottle_cell *cell, const struct walk_run *run, int begin, int end)
{
  for (int i = begin; i < end; i++) {
    if (run->clipped[i]) {
      continue;
    }
    cell->filled++;
    for (int k = 0; k < 3; k++) {
      cell->log[k] += run->log[k][i];
      cell->linear[k] += run->linear[k][i];
    }
  }
}

static void take_run(const struct walk_run *run, void *context)
{
  const struct filling *filling = context;
  struct mottle_cells *cells = filling->cells;
  int row = (run->y - cells->top) / cells->side;

  for (int i = 0, end; i < run->count; i = end) {
    int column = (run->x + i - cells->left) / cells->side;
    end = cells->left + (column + 1) * cells->side - run->x;
    end = end < run->count ? end : run->count;
    add_stretch(&cells->cell[(size_t)row * (size_t)cells->columns + (size_t)column], run, i, end);
  }
}

static void finish(const struct filling *filling)
{
  size_t count = (size_t)filling->cells->columns * (size_t)filling->cells->rows;

  for (size_t i = 0; i < count; i++) {
    struct mottle_cell *cell = &filling->cells->cell[i];
    for (int k = 0; k < 3 && cell->filled > 0; k++) {
      cell->log[k] /= cell->filled;
      cell->linear[k] /= cell->filled;
    }
    cell->filled = (float)fmin((double)cell->filled / filling->full, 1);
  }
}

bool mottle_cells_make(const struct image *image, const struct profile *profile, const struct light *light,
                       const struct region *region, double least, struct mottle_cells *cells,
                       struct error *error)
{
  struct walk walk;
  struct filling filling = {.cells = cells};

  *cells = (struct mottle_cells){0};
  if (!walk_begin(&walk, image, profile, light, region, error)) {
    return false;
  }
  int width = walk.right - walk.left, height = walk.bottom - walk.top;
  int longer = width > height ? width : height, fewest = (longer + ACROSS - 1) / ACROSS;
  cells->side = (int)fmax(fmax(image->lossy ? SIDE_LOSSY : SIDE_PLAIN, fewest), fmin(least, longer));
  cells->left = walk.left;
  cells->top = walk.top;
  cells->columns = (width + cells->side - 1) / cells->side;
  cells->rows = (height + cells->side - 1) / cells->side;
  cells->cell = calloc((size_t)cells->columns * (size_t)cells->rows, sizeof *cells->cell);
  if (cells->cell) {
    int step = cells->side / LINES > 1 ? cells->side / LINES : 1;
    walk_rows(&walk, step, take_run, &filling);
    filling.full = cells->side * (cells->side / step);
    finish(&filling);
  }
  walk_end(&walk);
  return cells->cell ? true : error_no_memory(error, "the mottles of a region");
}

void mottle_cells_clear(struct mottle_cells *cells)
{
  free(cells->cell);
  *cells = (struct mottle_cells){0};
}
