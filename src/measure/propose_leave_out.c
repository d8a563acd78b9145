/* SPDX-License-Identifier: MIT */
/* What lies on a face and is no deposit, as far as colour, texture and shape tell. */
#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "measure/box.h"
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

/* Whether a part's inside fills most of a rectangle round it. */
static bool is_boxed(const struct propose_work *w, int part, struct point *inner, bool *boxed)
{
  struct box box;
  bool done = box_round(inner, inner_cells(w, part, inner), &box);

  *boxed = box.filled > BOXED;
  return done;
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

/* What a part is taken for; PROPOSAL_CAUSES: a deposit. False for want of memory. */
static bool judge(const struct propose_work *w, int part, double usual, double *value, struct point *inner,
                  enum proposal_cause *cause)
{
  struct lab lab = w->part[part].reading.lab_d50;
  double texture = texture_of(w, part, value);
  bool smooth = texture < SMOOTH * usual, done = true, boxed = false;
  bool grey = hypot(lab.a, lab.b) < PAINT_CHROMA && (lab.L < DARK || lab.L > PAINT_WHITE);

  if (!soil_colour(lab) || ((smooth || texture < NO_TEXTURE) && painted(lab))) {
    *cause = PROPOSAL_STRANGE;
    return true;
  }
  if ((smooth || grey) && w->part[part].cells < THING_MOST * (double)w->division.face) {
    done = is_boxed(w, part, inner, &boxed);
  }
  *cause = boxed ? PROPOSAL_THING : PROPOSAL_CAUSES;
  return done;
}

/* Parts and boards by what they are; the rest of the face is specks. */
static bool sort_out(struct propose_work *w, struct proposal *proposal, double *value, struct point *inner)
{
  double usual = texture_of(w, -1, value), face = (double)w->division.face, kept = 0;
  double *left_out = proposal->left_out;

  for (int i = 0; i < w->count; i++) {
    enum proposal_cause cause;
    if (!propose_stands(w, i)) {
      continue;
    }
    if (!judge(w, i, usual, value, inner, &cause)) {
      return false;
    }
    w->part[i].group = cause == PROPOSAL_CAUSES ? w->part[i].group : GROUP_LEFT_OUT;
    *(cause == PROPOSAL_CAUSES ? &kept : &left_out[cause]) += w->part[i].cells / face;
  }
  left_out[PROPOSAL_THING] += boards(&w->division) / face;
  left_out[PROPOSAL_SPECKS] = fmax(1 - kept - left_out[PROPOSAL_STRANGE] - left_out[PROPOSAL_THING], 0);
  return true;
}

bool propose_leave_out(struct propose_work *w, struct proposal *proposal, struct error *error)
{
  double *value = calloc(w->division.cells.count + 1, sizeof *value);
  struct point *inner = calloc(w->division.cells.count + 1, sizeof *inner);
  bool done = value && inner && sort_out(w, proposal, value, inner);

  free(value);
  free(inner);
  return done || error_no_memory(error, "the proposal");
}
