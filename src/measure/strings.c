/* SPDX-License-Identifier: MIT */
/* First which lines through the whole frame have cells with more contrast in them than both sides have, summed along every line;
 * then, along the best of these, the pixels: how the codes run across the line, stretch by stretch. */
#include "measure/strings.h"

#include <math.h>
#include <stdlib.h>

#include "measure/string_track.h"

/* Lines followed in each direction, until so many were no strings; and cells between lines that run together. */
enum { LINES_MOST = 8, FAILURES_MOST = 3, NEAR = 2 };

static const double STEEPEST = 0.84;                  /* tangent of 40 degrees                             */
static const double OUTSIDE = 0.25;                   /* of the frame, that a line's ends may lie beyond it */
static const double RIDGE_LOW = -0.5, RIDGE_HIGH = 1; /* what one cell may say, in log contrast        */
/* Share of a channel that says as much as a log contrast of 1, and what is usual of it among soil. */
static const double TINT = 0.05, TINT_USUAL = 0.2;
static const double MEAN_LEAST = 0.1;   /* along a line worth following                      */
static const double INSIDE_LEAST = 0.4; /* of its cells are in the frame                     */

/* What cells show; both owned. */
struct string_cells {
  float *contrast; /* log of the largest spread of codes in the blocks of the cell */
  float *tint;     /* shares of red and of blue in the cell's code                 */
};

/* The frame along and across the lines looked for: upright ones see it turned. */
struct view {
  bool upright;
  int along, across; /* cells */
  const struct cells *cells;
  float *ridge; /* owned; a value a cell, across after across; NAN: the card */
};

static size_t cell_at(const struct view *v, int along, int across)
{
  return v->upright ? (size_t)along * (size_t)v->cells->columns + (size_t)across
                    : (size_t)across * (size_t)v->cells->columns + (size_t)along;
}

/* Log of the largest spread of codes in the blocks of a cell. */
static float log_contrast(const struct image_blocks *blocks, const struct cells *cells, size_t i)
{
  int column = (int)i % cells->columns * cells->merge, row = (int)i / cells->columns * cells->merge;
  float most = 0;

  for (int k = 0; k < cells->merge * cells->merge; k++) {
    size_t at =
        (size_t)(row + k / cells->merge) * (size_t)blocks->columns + (size_t)(column + k % cells->merge);
    most = blocks->spread[at] > most ? blocks->spread[at] : most;
  }
  return logf(most + 0.002F);
}

/* By how much a cell's share of a channel in the code differs from both sides in the same sense. */
static double tint_over(const struct view *v, const struct string_cells *c, int along, int across,
                        size_t channel)
{
  size_t at = cell_at(v, along, across);
  double before =
      across >= 2 ? (double)(c->tint[2 * at + channel] - c->tint[2 * cell_at(v, along, across - 2) + channel])
                  : 0;
  double behind =
      across + 2 < v->across
          ? (double)(c->tint[2 * at + channel] - c->tint[2 * cell_at(v, along, across + 2) + channel])
          : 0;

  return before * behind > 0 ? fmin(fabs(before), fabs(behind)) : 0;
}

/* The mean of the two cells beyond the next one, or of what there is of them; far below all: none. */
static double beside(const struct view *v, const float *contrast, int along, int across, int sign)
{
  double sum = 0;
  int count = 0;

  for (int k = 2; k <= 3; k++) {
    int other = across + sign * k;
    if (other >= 0 && other < v->across) {
      sum += (double)contrast[cell_at(v, along, other)];
      count++;
    }
  }
  return count ? sum / count : -1e9;
}

static bool view_make(const struct cells *cells, const struct string_cells *c, bool upright, struct view *v)
{
  *v = (struct view){.upright = upright,
                     .along = upright ? cells->rows : cells->columns,
                     .across = upright ? cells->columns : cells->rows,
                     .cells = cells,
                     .ridge = calloc(cells->count + 1, sizeof *v->ridge)};
  for (size_t i = 0; v->ridge && i < cells->count; i++) {
    int along = (int)i % v->along, across = (int)i / v->along;
    size_t at = cell_at(v, along, across);
    double sides = fmax(beside(v, c->contrast, along, across, -1), beside(v, c->contrast, along, across, 1));
    double tint = fmax(tint_over(v, c, along, across, 0), tint_over(v, c, along, across, 1));
    double over = fmax((double)c->contrast[at] - sides, tint / TINT - TINT_USUAL);
    over = fmin(fmax(over, RIDGE_LOW), RIDGE_HIGH);
    v->ridge[i] = cells->cell[at].card ? NAN : (float)over;
  }
  return v->ridge != NULL;
}

/* A line from `first` to `last`, cells across at both ends, with the mean of ridges along it. */
struct line {
  int first, last;
  float mean;
};

static float mean_along(const struct view *v, int first, int last)
{
  const int one = 1 << 16;
  int at = first * one + one / 2, step = (last - first) * one / (v->along > 1 ? v->along - 1 : 1), count = 0;
  float sum = 0;

  for (int i = 0; i < v->along; i++, at += step) {
    int across = at >> 16;
    float ridge = across >= 0 && across < v->across ? v->ridge[across * v->along + i] : NAN;
    sum += ridge == ridge ? ridge : 0;
    count += ridge == ridge;
  }
  return count >= INSIDE_LEAST * v->along ? sum / (float)count : -1;
}

static int compare_lines(const void *a, const void *b)
{
  const struct line *p = a, *q = b;

  if (p->mean != q->mean) {
    return p->mean > q->mean ? -1 : 1;
  }
  return p->first != q->first ? p->first - q->first : p->last - q->last;
}

/* Whether two lines run together for more than a quarter of the way. */
static bool alike(const struct line *a, const struct line *b)
{
  int near = 0;

  for (int k = 0; k <= 8; k++) {
    near += abs((a->first - b->first) * (8 - k) + (a->last - b->last) * k) <= 8 * NEAR;
  }
  return near > 2;
}

/* Puts a line into the list of the best, in the place of those like it that are no better. */
static void keep_line(struct line line, struct line *best, int *count)
{
  int kept = 0;

  for (int i = 0; i < *count; i++) {
    if (best[i].mean >= line.mean && alike(&best[i], &line)) {
      return;
    }
  }
  for (int i = 0; i < *count; i++) {
    if (!alike(&best[i], &line)) {
      best[kept++] = best[i];
    }
  }
  kept = kept < LINES_MOST ? kept : LINES_MOST - 1;
  best[kept++] = line;
  qsort(best, (size_t)kept, sizeof *best, compare_lines);
  *count = kept;
}

static int best_lines(const struct view *v, struct line *best)
{
  int beyond = (int)(OUTSIDE * v->across), reach = (int)(STEEPEST * v->along), count = 0;

  for (int first = -beyond; first < v->across + beyond; first++) {
    int low = first - reach > -beyond ? first - reach : -beyond;
    int high = first + reach < v->across + beyond ? first + reach : v->across + beyond - 1;
    for (int last = low; last <= high; last++) {
      struct line line = {first, last, mean_along(v, first, last)};
      if ((double)line.mean >= MEAN_LEAST && (count < LINES_MOST || line.mean > best[count - 1].mean)) {
        keep_line(line, best, &count);
      }
    }
  }
  return count;
}

/* Follows the best lines of one direction and marks those that are strings. */
static bool mark_direction(const struct image *image, const struct view *v, uint8_t mark, uint8_t *thing)
{
  struct line best[LINES_MOST];
  int count = best_lines(v, best);
  int failures = 0;
  bool done = true, found;

  for (int i = 0; i < count && failures < FAILURES_MOST && done; i++) {
    double side = (double)v->cells->block * v->cells->merge;
    struct string_line line = {.upright = v->upright,
                               .from = (best[i].first + 0.5) * side,
                               .slope = (best[i].last - best[i].first) / (double)(v->along - 1)};
    line.from -= 0.5 * side * line.slope;
    done = string_track(image, v->cells, &line, mark, thing, &found);
    failures += !found;
  }
  return done;
}

static void take_tint(const struct image_blocks *blocks, const struct cells *cells, size_t i, float *tint)
{
  int column = (int)i % cells->columns * cells->merge, row = (int)i / cells->columns * cells->merge;
  float sum[3] = {0};

  for (int k = 0; k < cells->merge * cells->merge; k++) {
    size_t at =
        (size_t)(row + k / cells->merge) * (size_t)blocks->columns + (size_t)(column + k % cells->merge);
    for (size_t channel = 0; channel < 3; channel++) {
      sum[channel] += blocks->mean[3 * at + channel];
    }
  }
  float all = fmaxf(sum[0] + sum[1] + sum[2], 0.01F);
  tint[0] = sum[0] / all;
  tint[1] = sum[2] / all;
}

bool strings_mark(const struct image *image, const struct image_blocks *blocks, const struct cells *cells,
                  uint8_t mark, uint8_t *thing, struct error *error)
{
  struct string_cells c = {calloc(cells->count + 1, sizeof *c.contrast),
                           calloc(2 * cells->count + 1, sizeof *c.tint)};
  bool done = c.contrast && c.tint;

  for (size_t i = 0; done && i < cells->count; i++) {
    c.contrast[i] = log_contrast(blocks, cells, i);
    take_tint(blocks, cells, i, &c.tint[2 * i]);
  }
  for (int upright = 0; upright < 2 && done; upright++) {
    struct view view = {0};
    done = view_make(cells, &c, upright, &view) && mark_direction(image, &view, mark, thing);
    free(view.ridge);
  }
  free(c.contrast);
  free(c.tint);
  return done || error_no_memory(error, "strings on the face");
}
