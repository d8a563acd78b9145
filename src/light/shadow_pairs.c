/* SPDX-License-Identifier: MIT */
#include "light/shadow_pairs.h"

#include <math.h>

#include "base/order.h"

static const double ALONG = 2; /* cells between pairs along a line */
static const double ALIKE =
    0.2; /* by what share of the step pairs may differ from it: tone curve not yet known */
static const double ALIKE_FLOOR = 0.1, ALIKE_TINT = 0.07;
/* A rim that is straight but for a bow at one end is to be told from an edge: the spread is that of four fifths of the crossings, over
 * what it is of a normal distribution of spread 1. */
static const double MOST = 0.8, MOST_OF_NORMAL = 1.2816;
enum { CROSSINGS_LEAST = 6 };
static const double ENDS =
    1.3; /* the half shadow's half over what lies between a fifth and four fifths of the step */
static const double TAIL =
    0.15; /* share of pairs left out at either end for the spread of levels: a few chance pairs prove nothing */

static const struct cell *cell_near(const struct cells *cells, double x, double y)
{
  return cells_open_at(cells, (int)floor(x), (int)floor(y));
}

static const struct cell *cell_off(const struct cells *cells, struct shadow_line line, double along,
                                   double off)
{
  double c = cos(line.angle), s = sin(line.angle), d = line.offset + off;

  return cell_near(cells, cells->columns / 2.0 + d * c - along * s, cells->rows / 2.0 + d * s + along * c);
}

struct light_edge line_as_edge(const struct cells *cells, struct shadow_line line, double half)
{
  double side = (double)cells->merge * cells->block, c = cos(line.angle), s = sin(line.angle);

  return (struct light_edge){.place = {side * (cells->columns / 2.0 + line.offset * c),
                                       side * (cells->rows / 2.0 + line.offset * s)},
                             .normal = {c, s},
                             .half = side * half};
}

void pairs_gather(const struct cells *cells, struct shadow_line line, double reach, struct pairs *pairs)
{
  double half = hypot(cells->columns, cells->rows) / 2;

  pairs->count = 0;
  for (double along = -half; along < half && pairs->count < PAIRS_MAX; along += ALONG) {
    const struct cell *before = cell_off(cells, line, along, -reach),
                      *behind = cell_off(cells, line, along, reach);
    if (before && behind) {
      pairs->pair[pairs->count++] =
          (struct pair){along, before->even, behind->even, vec3_subtract(behind->even, before->even)};
    }
  }
}

static bool is_step(struct vec3 a, struct vec3 step)
{
  double size = fabs(step.v[CELLS_GREEN]), tint = ALIKE_TINT + 0.5 * ALIKE * size;

  return fabs(a.v[CELLS_GREEN] - step.v[CELLS_GREEN]) < ALIKE_FLOOR + ALIKE * size &&
         fabs(a.v[CELLS_RED] - step.v[CELLS_RED]) < tint && fabs(a.v[CELLS_BLUE] - step.v[CELLS_BLUE]) < tint;
}

bool pair_shows(const struct pair *pair, struct vec3 step)
{
  return is_step(pair->step, step);
}

bool pair_is_against(const struct pair *pair, struct vec3 step)
{
  double size = fabs(step.v[CELLS_GREEN]);

  return fabs(pair->step.v[CELLS_GREEN]) < fmin(0.3 * size, 0.15) &&
         fabs(pair->step.v[CELLS_RED]) < ALIKE_TINT && fabs(pair->step.v[CELLS_BLUE]) < ALIKE_TINT;
}

int pairs_commonest(const struct pairs *pairs, struct vec3 *step)
{
  int most = 0;
  struct vec3 sum = {{0, 0, 0}};

  for (int i = 0; i < pairs->count; i++) {
    int showing = 0;
    if (!shadow_may_be(pairs->pair[i].step)) {
      continue;
    }
    for (int j = 0; j < pairs->count; j++) {
      showing += is_step(pairs->pair[j].step, pairs->pair[i].step);
    }
    if (showing > most) {
      most = showing;
      *step = pairs->pair[i].step;
    }
  }
  int count = 0;
  for (int i = 0; i < pairs->count && most > 0; i++) {
    if (is_step(pairs->pair[i].step, *step)) {
      sum = vec3_add(sum, pairs->pair[i].step);
      count++;
    }
  }
  if (count > 0) {
    *step = vec3_scale(sum, 1.0 / count);
  }
  return most;
}

double pairs_levels_apart(const struct pairs *pairs, struct vec3 step)
{
  double most = 0, level[PAIRS_MAX];

  for (int k = 0; k < 3; k++) {
    double off2 = 0;
    int count = 0;
    for (int i = 0; i < pairs->count; i++) {
      const struct pair *pair = &pairs->pair[i];
      if (pair_shows(pair, step)) {
        double off = pair->step.v[k] - step.v[k];
        level[count++] = pair->before.v[k] + pair->behind.v[k];
        off2 += off * off;
      }
    }
    order_doubles(level, (size_t)count);
    double width = count ? level[(int)((1 - TAIL) * (count - 1))] - level[(int)(TAIL * (count - 1))] : 0;
    most = fmax(most, 0.5 * width / sqrt(off2 / fmax(count, 1) + 4e-4));
  }
  return most;
}

/* Where, along the normal and no further than `reach` cells, a profile through the edge passes a share of the pair's step, in linear
 * light. NAN where it does not. */
static double passes(const struct cells *cells, struct shadow_line line, double reach,
                     const struct pair *pair, double share)
{
  double from = exp(pair->before.v[CELLS_GREEN]), to = exp(pair->behind.v[CELLS_GREEN]), last = 0;

  for (double off = -reach; off <= reach; off += 0.5) {
    const struct cell *cell = cell_off(cells, line, pair->along, off);
    if (!cell) {
      return (double)NAN;
    }
    double at = (exp(cell->even.v[CELLS_GREEN]) - from) / (to - from);
    if (at >= share && off > -reach) {
      return at > last ? off - 0.5 * (at - share) / (at - last) : off;
    }
    last = at;
  }
  return (double)NAN;
}

void crossings_add(const struct cells *cells, struct shadow_line line, double reach, const struct pair *pair,
                   struct crossings *crossings)
{
  double off = passes(cells, line, reach, pair, 0.5);

  if (isfinite(off)) {
    crossings->off[crossings->count] = off;
    crossings->width[crossings->count] =
        fabs(passes(cells, line, reach, pair, 0.8) - passes(cells, line, reach, pair, 0.2));
    crossings->along[crossings->count++] = pair->along;
  }
}

double crossings_width(const struct crossings *crossings)
{
  double width[PAIRS_MAX];
  size_t count = 0;

  for (int i = 0; i < crossings->count; i++) {
    if (isfinite(crossings->width[i])) {
      width[count++] = crossings->width[i];
    }
  }
  return order_median(width, count);
}

double crossings_half(const struct crossings *crossings)
{
  return ENDS * crossings_width(crossings);
}

/* Theil's estimate of the slope, from crossings half the length apart. */
static double slope_of(const struct crossings *crossings)
{
  double slope[PAIRS_MAX];
  int slopes = 0, half = crossings->count / 2;

  for (int i = 0; i + half < crossings->count; i++) {
    double length = crossings->along[i + half] - crossings->along[i];
    if (length > 0) {
      slope[slopes++] = (crossings->off[i + half] - crossings->off[i]) / length;
    }
  }
  return order_median(slope, (size_t)slopes);
}

void crossings_line(const struct crossings *crossings, struct shadow_line *line, double *bent)
{
  double turn = slope_of(crossings), off[PAIRS_MAX], middle;

  for (int i = 0; i < crossings->count; i++) {
    off[i] = crossings->off[i] - turn * crossings->along[i];
  }
  middle = order_median(off, (size_t)crossings->count);
  for (int i = 0; i < crossings->count; i++) {
    off[i] = fabs(off[i] - middle);
  }
  order_doubles(off, (size_t)crossings->count);
  line->offset += middle;
  line->angle -= atan(turn);
  *bent = crossings->count >= CROSSINGS_LEAST ? off[(int)(MOST * (crossings->count - 1))] / MOST_OF_NORMAL
                                              : (double)INFINITY;
}
