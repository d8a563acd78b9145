/* SPDX-License-Identifier: MIT */
/* What lies on a face and is no deposit, as far as colour, texture and shape tell. */
#include <math.h>
#include <stdlib.h>

#include "base/order.h"

#include "measure/propose_parts.h"

/* Colours of soils, sediments and building rubble lie well inside (calibration/munsell/soil_names.csv: values 2.5 to 8 and chalk
 * above, chromas up to 8, hues 10R to 5Y and the gleys). */
static const double LIGHTNESS_MOST = 93, CHROMA_MOST = 48, GREYISH = 9, HUE_LEAST = 15, HUE_MOST = 112;
/* White or black that is even is paint, paper or plastic. */
static const double DARK = 28; /* a dark grey board or plate, where its sides are straight */
static const double PAINT_WHITE = 72, PAINT_BLACK = 14, PAINT_CHROMA = 10;
/* A thing: texture less than this share of the face's; spread of codes of what has none; share of its box, and of the face at
 * most. */
static const double SMOOTH = 0.45, NO_TEXTURE = 0.012, BOXED = 0.88, THING_MOST = 0.15;

/* Median over a part's cells of the spread of codes inside blocks over their mean; part -1: the whole face. */
static double texture_of(const struct propose_work *w, int part, double *value)
{
  const struct cells *cells = &w->division.cells;
  size_t count = 0;

  for (size_t i = 0; i < cells->count; i++) {
    int segment = cells->cell[i].segment - 1;
    if (cells->cell[i].card || (part >= 0 && (segment < 0 || w->part[segment].joined != part))) {
      continue;
    }
    int column = (int)i % cells->columns * cells->merge, row = (int)i / cells->columns * cells->merge;
    size_t at = (size_t)row * (size_t)w->blocks->columns + (size_t)column;
    value[count++] = (double)w->blocks->spread[at] / fmax((double)w->blocks->mean[3 * at + 1], 0.02);
  }
  return order_upper_median(value, count);
}

/* Cells of a part that lie wholly inside it, as columns and rows: whiskers of the outline do not count. */
static size_t inner_cells(const struct propose_work *w, int part, struct point *inner)
{
  const struct cells *cells = &w->division.cells;
  size_t count = 0;

  for (int row = 1; row + 1 < cells->rows; row++) {
    for (int column = 1; column + 1 < cells->columns; column++) {
      bool inside = true;
      for (int k = 0; k < 9 && inside; k++) {
        int at = (row + k / 3 - 1) * cells->columns + column + k % 3 - 1;
        int segment = cells->cell[at].segment - 1;
        inside = segment >= 0 && w->part[segment].joined == part;
      }
      if (inside) {
        inner[count++] = (struct point){column, row};
      }
    }
  }
  return count;
}

/* Largest share of a rectangle round a part's inside, turned in steps of 3 degrees, that it fills. */
static double share_of_box(const struct propose_work *w, int part, struct point *inner)
{
  size_t count = inner_cells(w, part, inner);
  double best = 0;

  for (int turn = 0; turn < 30; turn++) {
    double c = cos(turn * 3.14159265358979 / 60), s = sin(turn * 3.14159265358979 / 60);
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
    for (size_t i = 0; i < count; i++) {
      double u[2] = {c * inner[i].x + s * inner[i].y, c * inner[i].y - s * inner[i].x};
      for (int k = 0; k < 2; k++) {
        low[k] = fmin(low[k], u[k]);
        high[k] = fmax(high[k], u[k]);
      }
    }
    best = count ? fmax(best, (double)count / ((high[0] - low[0] + 1) * (high[1] - low[1] + 1))) : 0;
  }
  return best;
}

static bool soil_colour(struct lab lab)
{
  double chroma = hypot(lab.a, lab.b), hue = atan2(lab.b, lab.a) * 180 / 3.14159265358979;

  return lab.L < LIGHTNESS_MOST && chroma < CHROMA_MOST &&
         (chroma < GREYISH || (hue > HUE_LEAST && hue < HUE_MOST));
}

static bool painted(struct lab lab)
{
  return (lab.L > PAINT_WHITE || lab.L < PAINT_BLACK) && hypot(lab.a, lab.b) < PAINT_CHROMA;
}

/* Cells under boards and bars. */
static double boards(const struct division *d)
{
  double count = 0;

  for (size_t i = 0; i < d->cells.count; i++) {
    count += d->thing[i] == DIVISION_BOARD && !d->cells.cell[i].card;
  }
  return count;
}

bool propose_leave_out(struct propose_work *w, struct proposal *proposal, struct error *error)
{
  double *value = calloc(w->division.cells.count + 1, sizeof *value), face = (double)w->division.face;
  struct point *inner = calloc(w->division.cells.count + 1, sizeof *inner);

  if (!value || !inner) {
    free(value);
    free(inner);
    return error_no_memory(error, "the proposal");
  }
  double usual = texture_of(w, -1, value), kept = 0;
  for (int i = 0; i < w->count; i++) {
    if (!propose_stands(w, i)) {
      continue;
    }
    struct lab lab = w->part[i].reading.lab_d50;
    double texture = texture_of(w, i, value);
    bool smooth = texture < SMOOTH * usual;
    bool strange = !soil_colour(lab) || ((smooth || texture < NO_TEXTURE) && painted(lab));
    bool grey = hypot(lab.a, lab.b) < PAINT_CHROMA && (lab.L < DARK || lab.L > PAINT_WHITE);
    bool thing = !strange && (smooth || grey) && w->part[i].cells < THING_MOST * face &&
                 share_of_box(w, i, inner) > BOXED;
    if (strange || thing) {
      w->part[i].group = -2;
      proposal->left_out[strange ? PROPOSAL_STRANGE : PROPOSAL_THING] += w->part[i].cells / face;
    } else {
      kept += w->part[i].cells / face;
    }
  }
  proposal->left_out[PROPOSAL_THING] += boards(&w->division) / face;
  proposal->left_out[PROPOSAL_SPECKS] =
      fmax(1 - kept - proposal->left_out[PROPOSAL_STRANGE] - proposal->left_out[PROPOSAL_THING], 0);
  free(value);
  free(inner);
  return true;
}
