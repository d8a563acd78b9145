/* SPDX-License-Identifier: MIT */
#include "light/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/solve.h"
#include "light/field.h"

enum { ROUNDS = 8, TILES_LEAST = 6, PLANE_LEAST = 10, TERMS_MAX = LIGHT_COMMON + 1 };

static const double FREEDOM = 4;     /* of the Student-t                                             */
static const double CORRELATED = 10; /* cells whose coarse texture counts as one                     */
static const double STEADY = 6;      /* degrees of freedom lent to a scatter from few values         */
static const double STEP_PRIOR[3] = {1.5, 0.4,
                                     0.4}; /* of the log step: shade takes up to nine tenths, and is bluer  */

/* One channel: terms of the field, then levels. */
struct channel {
  int terms, columns;
  bool step; /* last term */
  const double *prior;
  double step_prior;
  int at; /* which of cell.log */
  double *x, *covariance;
  double sigma[LIGHT_DEPOSITS_MAX + 1]; /* of a tile of many cells, by deposit */
  double inflation;
};

double tile_weight(const struct tile *tile)
{
  return tile->count / (tile->count + CORRELATED);
}

static double term_of(const struct channel *c, const struct tile *tile, int j)
{
  return c->step && j == c->terms - 1 ? tile->step : tile->basis[j];
}

static double residual_of(const struct channel *c, const struct tile *tile)
{
  double r = tile->log.v[c->at] - c->x[c->terms + tile->segment - 1];

  for (int j = 0; j < c->terms; j++) {
    r -= c->x[j] * term_of(c, tile, j);
  }
  return r;
}

static double standardised(const struct channel *c, const struct tile *tile)
{
  return residual_of(c, tile) * sqrt(tile_weight(tile)) / c->sigma[tile->segment];
}

static double prior_of(const struct channel *c, int j)
{
  return c->step && j == c->terms - 1 ? c->step_prior : c->prior[j];
}

/* A level's prior is as good as none: it keeps the rank where no tile of a deposit is left. */
static const double LEVEL_PRIOR = 1e3;

static bool solve_channel(const struct tiles *tiles, const double *weight, struct channel *c, bool covariance,
                          struct error *error)
{
  size_t columns = (size_t)c->columns, rows = tiles->count + columns;
  double *a = calloc(rows * columns + rows, sizeof *a), *b = a + rows * columns;

  if (!a) {
    return error_no_memory(error, "the light's fit");
  }
  for (size_t i = 0; i < tiles->count; i++) {
    const struct tile *tile = &tiles->tile[i];
    double w = sqrt(weight[i] * tile_weight(tile)) / c->sigma[tile->segment];
    for (int j = 0; j < c->terms; j++) {
      a[i * columns + (size_t)j] = w * term_of(c, tile, j);
    }
    a[i * columns + (size_t)(c->terms + tile->segment - 1)] = w;
    b[i] = w * tile->log.v[c->at];
  }
  for (size_t j = 0; j < columns; j++) {
    a[(tiles->count + j) * columns + j] = 1 / ((int)j < c->terms ? prior_of(c, (int)j) : LEVEL_PRIOR);
  }
  bool done = solve_linear(rows, columns, a, b, c->x, covariance ? c->covariance : NULL, error);
  free(a);
  return done;
}

/* Scatter of each deposit's tiles, drawn to that of all; from Student-t weighted squares. */
static void scatter(const struct tiles *tiles, const double *weight, int segments, struct channel *c)
{
  double square[LIGHT_DEPOSITS_MAX + 1] = {0}, count[LIGHT_DEPOSITS_MAX + 1] = {0}, all = 0;
  double freedom = -(double)c->terms;

  for (size_t i = 0; i < tiles->count; i++) {
    double r = residual_of(c, &tiles->tile[i]);
    double part = weight[i] * tile_weight(&tiles->tile[i]) * r * r;
    square[tiles->tile[i].segment] += part;
    count[tiles->tile[i].segment]++;
    all += part;
  }
  for (int s = 1; s <= segments; s++) {
    freedom += fmax(count[s] - 1, 0);
  }
  double mean = all / fmax(freedom, 1) + 1e-8;
  for (int s = 1; s <= segments; s++) {
    double own = fmax(count[s] - 1 - c->terms * count[s] / (double)tiles->count, 0);
    c->sigma[s] = sqrt((square[s] + STEADY * mean) / (own + STEADY));
  }
}

static bool fit_channel(const struct tiles *tiles, int segments, struct channel *c, double *weight,
                        struct error *error)
{
  for (int s = 1; s <= segments; s++) {
    c->sigma[s] = 0.03;
  }
  for (size_t i = 0; i < tiles->count; i++) {
    weight[i] = 1;
  }
  for (int round = 0; round < ROUNDS; round++) {
    if (!solve_channel(tiles, weight, c, round == ROUNDS - 1, error)) {
      return false;
    }
    scatter(tiles, weight, segments, c);
    for (size_t i = 0; i < tiles->count; i++) {
      double r = standardised(c, &tiles->tile[i]);
      weight[i] = (FREEDOM + 1) / (FREEDOM + r * r);
    }
  }
  return true;
}

/* Variance over that which the tiles show, from rendered faces: texture coarser than tiles, rims, deposits taken for one; and
 * for the tints that a deposit's colour does not change with the light's quite as a grey's does. */
static const double UNSEEN[3] = {1.7, 3, 5};

/* Neighbouring tiles of one deposit that err alike are fewer independent ones: with correlation rho to each of the four
 * neighbours the variance of a mean grows by 1 + 4 rho. */
static double inflation_of(const struct tiles *tiles, const struct channel *c)
{
  double product = 0, square = 0, neighbours = 0, pairs = 0;

  for (size_t i = 0; i < tiles->count; i++) {
    const struct tile *a = &tiles->tile[i];
    double ra = fmax(fmin(standardised(c, a), 3), -3);
    square += ra * ra;
    for (size_t j = i + 1; j < tiles->count && tiles->tile[j].row <= a->row + 1; j++) {
      const struct tile *b = &tiles->tile[j];
      if (b->segment == a->segment && abs(a->column - b->column) + b->row - a->row == 1) {
        product += ra * fmax(fmin(standardised(c, b), 3), -3);
        pairs++;
      }
    }
  }
  neighbours = 2 * pairs / fmax((double)tiles->count, 1);
  double rho = pairs > 0 ? product / pairs / fmax(square / (double)tiles->count, 1e-9) : 0;
  return fmin(fmax(1 + neighbours * (rho + 0.03), 1), 4) * UNSEEN[c->at];
}

/* A plane through the standardised residuals of one deposit: sums about their weighted mean. */
struct plane {
  double n, tiles, x, y, r, xx, xy, yy, xr, yr, rr;
};

static void add_to_plane(const struct channel *c, const struct tile *tile, struct plane *p)
{
  double w = sqrt(tile_weight(tile)), r = fmax(fmin(standardised(c, tile), 4), -4);
  double x = w * tile->basis[0], y = w * tile->basis[1];

  p->tiles++, p->n += w * w;
  p->x += w * x, p->y += w * y, p->r += w * r;
  p->xx += x * x, p->xy += x * y, p->yy += y * y;
  p->xr += x * r, p->yr += y * r, p->rr += r * r;
}

/* What a deposit's own two slopes explain, over what is left: an F of 2 degrees of freedom, times 2. Negative where there are
 * too few tiles. */
static double own_slopes(const struct tiles *tiles, int segment, const struct channel *c)
{
  struct plane p = {0};

  for (size_t i = 0; i < tiles->count; i++) {
    if (tiles->tile[i].segment == segment) {
      add_to_plane(c, &tiles->tile[i], &p);
    }
  }
  if (p.tiles < PLANE_LEAST) {
    return -1;
  }
  double xx = p.xx - p.x * p.x / p.n, xy = p.xy - p.x * p.y / p.n, yy = p.yy - p.y * p.y / p.n;
  double xr = p.xr - p.x * p.r / p.n, yr = p.yr - p.y * p.r / p.n, rr = p.rr - p.r * p.r / p.n;
  double determinant = xx * yy - xy * xy;
  if (!(determinant > 1e-6 * xx * yy)) {
    return -1;
  }
  double explained = (yy * xr * xr - 2 * xy * xr * yr + xx * yr * yr) / determinant;
  return explained * (p.tiles - 3) / fmax(rr - explained, 1e-6 * rr + 1e-12) * UNSEEN[c->at] / c->inflation;
}

/* The channel that disagrees most. The shared slopes follow the deposits', which takes two degrees of freedom. */
static double disagreement_of(const struct tiles *tiles, int segments, const struct channel channel[3])
{
  double most = 0;

  for (int k = 0; k < 3; k++) {
    double chi2 = 0, freedom = -2;
    for (int s = 1; s <= segments; s++) {
      double own = own_slopes(tiles, s, &channel[k]);
      chi2 += fmax(own, 0);
      freedom += own >= 0 ? 2 : 0;
    }
    most = fmax(most, sqrt((chi2 + STEADY) / (fmax(freedom, 0) + STEADY)));
  }
  return most;
}

static const int FIRST_TERM[3] = {0, LIGHT_RED_AT, LIGHT_BLUE_AT};

/* Terms of the light that an unknown of a channel is part of: green's step is in those of R, G and B, the steps of the ratios in R
 * or B alone. */
static int terms_of(const struct channel *c, int unknown, int term[3])
{
  if (!c->step || unknown < c->terms - 1) {
    term[0] = FIRST_TERM[c->at] + unknown;
    return 1;
  }
  for (int k = 0; k < 3; k++) {
    term[k] = LIGHT_STEP_AT + (c->at == CELLS_BLUE ? 2 : k);
  }
  return c->at == CELLS_GREEN ? 3 : 1;
}

static void add_covariance(const struct channel *c, double factor, int a, int b, struct light *light)
{
  int row[3], column[3];
  int rows = terms_of(c, a, row), columns = terms_of(c, b, column);

  for (int i = 0; i < rows; i++) {
    for (int j = 0; j < columns; j++) {
      light->covariance[row[i]][column[j]] += factor * c->covariance[a * c->columns + b];
    }
  }
}

/* Terms and covariance of the light from the three channels. */
static void hand_over(const struct channel channel[3], struct light *light)
{
  double wide = fmax(light->disagreement, 1);

  memset(light->covariance, 0, sizeof light->covariance);
  memset(light->term, 0, sizeof light->term);
  for (const struct channel *c = channel; c < channel + 3; c++) {
    for (int i = 0; i < c->terms; i++) {
      int term[3], count = terms_of(c, i, term);
      for (int k = 0; k < count; k++) {
        light->term[term[k]] += c->x[i];
      }
      for (int j = 0; j < c->terms; j++) {
        add_covariance(c, c->inflation * wide * wide, i, j, light);
      }
    }
  }
}

/* The tone curve that made light of codes is not known better than this at the levels of dark deposits; an error of its slope
 * scales all log gains alike. A step is taken by light and dark deposits alike and is off by less: on rendered photos 0.03 to
 * 0.06 of itself. */
static const double SLOPE_OF_TONE = 0.1, SLOPE_AT_STEP = 0.06;

static void widen_by_tone(struct light *light)
{
  double off[LIGHT_TERMS];

  for (int i = 0; i < LIGHT_TERMS; i++) {
    off[i] = (i < LIGHT_STEP_AT ? SLOPE_OF_TONE : SLOPE_AT_STEP) * light->term[i];
  }
  for (int i = 0; i < LIGHT_TERMS; i++) {
    for (int j = 0; j < LIGHT_TERMS; j++) {
      light->covariance[i][j] += off[i] * off[j];
    }
  }
}

static void describe_levels(const struct tiles *tiles, int segments, const struct channel channel[3],
                            double wide, struct levels *levels)
{
  *levels = (struct levels){.count = segments};
  for (size_t i = 0; i < tiles->count; i++) {
    levels->weight[tiles->tile[i].segment] += tile_weight(&tiles->tile[i]);
  }
  for (int s = 1; s <= segments; s++) {
    for (int k = 0; k < 3; k++) {
      const struct channel *c = &channel[k];
      int at = c->terms + s - 1;
      levels->level[s].v[k] = c->x[at];
      levels->variance[s].v[k] = c->covariance[at * c->columns + at] * c->inflation * wide * wide;
    }
  }
}

bool fit_field(const struct tiles *tiles, int segments, struct light *light, struct levels *levels,
               struct error *error)
{
  int widest = TERMS_MAX + segments;
  size_t each = (size_t)widest * (size_t)(widest + 1);
  double *room = calloc(3 * each + tiles->count, sizeof *room), *weight = room + 3 * each;
  struct channel channel[3];
  bool done = true;

  light->estimated = false;
  if (!room) {
    return error_no_memory(error, "the light's fit");
  }
  for (int k = 0; k < 3 && done && tiles->count >= TILES_LEAST; k++) {
    struct channel *c = &channel[k];
    *c = (struct channel){.terms = (k == 0 ? LIGHT_COMMON : LIGHT_TINT) + light->shadow_edge,
                          .step = light->shadow_edge,
                          .prior = FIELD_PRIOR + FIRST_TERM[k],
                          .step_prior = STEP_PRIOR[k],
                          .at = k,
                          .x = room + (size_t)k * each};
    c->columns = c->terms + segments;
    c->covariance = c->x + widest;
    done = fit_channel(tiles, segments, c, weight, error);
    c->inflation = inflation_of(tiles, c);
  }
  if (done && tiles->count >= TILES_LEAST) {
    light->estimated = true;
    light->disagreement = disagreement_of(tiles, segments, channel);
    hand_over(channel, light);
    widen_by_tone(light);
    if (levels) {
      describe_levels(tiles, segments, channel, fmax(light->disagreement, 1), levels);
    }
  }
  free(room);
  return done;
}
