/* SPDX-License-Identifier: MIT */
#include "measure/division_bridge.h"

#include <stdlib.h>

/* One more row of marked cells takes over from its neighbours, those above and below first; returns how many cells. `turn` is
 * when a cell was filled, 0 not yet. */
static size_t fill_rim(struct cells *cells, int now, int *turn)
{
  static const int step[4][2] = {{0, -1}, {0, 1}, {-1, 0}, {1, 0}};
  size_t filled = 0;

  for (size_t i = 0; i < cells->count; i++) {
    for (int k = 0; k < 4 && turn[i] == 0; k++) {
      int column = (int)i % cells->columns + step[k][0], row = (int)i / cells->columns + step[k][1];
      struct cell *from = cells_open_at(cells, column, row);
      int when = from ? turn[from - cells->cell] : 0;
      if (when > 0 && when < now) {
        cells->cell[i].log = from->log;
        cells->cell[i].even = from->even;
        cells->cell[i].open = true;
        turn[i] = now;
        filled++;
      }
    }
  }
  return filled;
}

bool division_bridge(struct cells *cells, const uint8_t *marked, struct error *error)
{
  int *turn = calloc(cells->count + 1, sizeof *turn), now = 2;

  if (!turn) {
    return error_no_memory(error, "the division");
  }
  for (size_t i = 0; i < cells->count; i++) {
    turn[i] = !marked[i] || cells->cell[i].card ? 1 : 0;
  }
  while (fill_rim(cells, now, turn) > 0) {
    now++;
  }
  free(turn);
  return true;
}

bool division_bridge_coarse(const struct division *division, struct cells *coarse, struct error *error)
{
  uint8_t *marked = calloc(coarse->count + 1, 1);
  double side = (double)coarse->merge * coarse->block, half = 0.499 * division->side;

  if (!marked) {
    return error_no_memory(error, "the division");
  }
  for (size_t i = 0; i < division->cells.count; i++) {
    struct point at = division->cells.cell[i].place;
    for (int k = 0; k < 4 && division->thing[i] == DIVISION_STRING; k++) {
      int column = (int)((at.x + (k % 2 ? half : -half)) / side),
          row = (int)((at.y + (k / 2 ? half : -half)) / side);
      if (column < coarse->columns && row < coarse->rows) {
        marked[(size_t)row * (size_t)coarse->columns + (size_t)column] = 1;
      }
    }
  }
  bool done = division_bridge(coarse, marked, error);
  free(marked);
  return done;
}
