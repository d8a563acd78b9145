/* SPDX-License-Identifier: MIT */
#include "compare/edge_model.h"

#include <math.h>
#include <string.h>

#include "base/solve.h"

double edge_fit_share(double off, double thick)
{
  return 0.5 * erfc(-off * EDGE_TEN_TO_NINETY / (thick * M_SQRT2));
}

double edge_fit_width(const struct edge_prior *prior, int channel, double thick)
{
  return hypot(thick, prior->blur[channel]);
}

static double place_in_line(double from, double to, double at)
{
  return to > from ? 2 * (at - from) / (to - from) - 1 : 0;
}

double edge_fit_value(const struct edge_fit *fit, const struct edge_prior *prior, double from, double to,
                      double at, int channel)
{
  double z = place_in_line(from, to, at);
  double beyond = prior->shadow && at > prior->shadow_at ? fit->shadow[channel] : 0;

  return fit->level[channel] + fit->drift[0][channel] * z + fit->drift[1][channel] * (z * z - 1.0 / 3) +
         beyond +
         fit->change[channel] * edge_fit_share(at - fit->place, edge_fit_width(prior, channel, fit->thick));
}

void edge_model_begin(const struct edge_sample *sample, size_t count, const struct edge_prior *prior,
                      struct edge_model *model)
{
  model->sample = sample;
  model->count = count;
  model->prior = prior;
  double from = model->sample[0].at, to = model->sample[model->count - 1].at;

  for (size_t i = 0; i < model->count; i++) {
    double z = place_in_line(from, to, model->sample[i].at);
    model->column[EDGE_LEVEL][i] = 1;
    model->column[EDGE_DRIFT_1][i] = z;
    model->column[EDGE_DRIFT_2][i] = z * z - 1.0 / 3;
    model->column[EDGE_SHADOW][i] = model->prior->shadow && model->sample[i].at > model->prior->shadow_at;
  }
}

static void fill_column(const struct edge_model *model, double place, double width, double *column)
{
  double reach = 1.6 * width; /* beyond it, less than 1e-4 is missing */

  for (size_t i = 0; i < model->count; i++) {
    double off = model->sample[i].at - place;
    column[i] = off < -reach ? 0 : off > reach ? 1 : edge_fit_share(off, width);
  }
}

void edge_model_set_change(struct edge_model *model, double place, double thick)
{
  const double *blur = model->prior->blur;

  for (int k = 0; k < 3; k++) {
    if (k > 0 && blur[k] <= blur[k - 1] && blur[k] >= blur[k - 1]) {
      memcpy(model->change[k], model->change[k - 1], model->count * sizeof *model->change[k]);
    } else {
      fill_column(model, place, edge_fit_width(model->prior, k, thick), model->change[k]);
    }
  }
}

static double dot(const double *a, const double *b, size_t count)
{
  double sum = 0;

  for (size_t i = 0; i < count; i++) {
    sum += a[i] * b[i];
  }
  return sum;
}

/* Precision of the prior of a column. */
static double precision(const struct edge_prior *prior, int column, int k)
{
  double size = column == EDGE_SHADOW                              ? prior->shadow_step[k]
                : column == EDGE_DRIFT_1 || column == EDGE_DRIFT_2 ? prior->drift[column - EDGE_DRIFT_1][k]
                                                                   : 0;

  return size > 0 ? 1 / (size * size) : column == EDGE_SHADOW ? 1 : 0; /* no shadow: the column is all zero */
}

/* Whitens the channel and forms all products that do not hold the change. */
void edge_model_set_noise(struct edge_model *model, int k, struct edge_noise noise)
{
  struct edge_channel *c = &model->channel[k];
  double y[EDGE_SAMPLES_MAX];

  for (size_t i = 0; i < model->count; i++) {
    y[i] = model->sample[i].y[k];
  }
  whitener_make(model->sample, model->count, noise, &c->whitener);
  whitener_apply(&c->whitener, model->count, y, c->y);
  for (int i = 0; i < EDGE_SIDES; i++) {
    whitener_apply(&c->whitener, model->count, model->column[i], c->fixed[i]);
  }
  for (int i = 0; i < EDGE_SIDES; i++) {
    for (int j = 0; j <= i; j++) {
      c->normal[i][j] = c->normal[j][i] = dot(c->fixed[i], c->fixed[j], model->count);
    }
    c->normal[i][i] += precision(model->prior, i, k);
    c->right[i] = dot(c->fixed[i], c->y, model->count);
  }
  c->square = dot(c->y, c->y, model->count);
}

double edge_model_spacing(const struct edge_model *model)
{
  return (model->sample[model->count - 1].at - model->sample[0].at) / (double)(model->count - 1);
}

/* Whitens the change's column on the way and forms its products: with the other columns, with y and with itself. One loop, since this
 * is where the time goes. */
static void change_products(const struct edge_model *model, int k, double products[EDGE_SIDES + 2])
{
  const struct edge_channel *c = &model->channel[k];
  const struct whitener *filter = &c->whitener;
  double state = 0, sum[EDGE_SIDES + 2] = {0};

  for (size_t i = 0; i < model->count; i++) {
    state *= filter->decay[i];
    double news = model->change[k][i] - state, white = news * filter->scale[i];
    state += filter->gain[i] * news;
    for (int j = 0; j < EDGE_SIDES; j++) {
      sum[j] += white * c->fixed[j][i];
    }
    sum[EDGE_SIDES] += white * c->y[i];
    sum[EDGE_SIDES + 1] += white * white;
  }
  memcpy(products, sum, sizeof sum);
}

/* Fills the normal equations, n x n row after row, and their right side; returns n. */
static size_t normal_equations(const struct edge_model *model, int k, bool change, double *a, double *b)
{
  const struct edge_channel *c = &model->channel[k];
  double products[EDGE_SIDES + 2];
  size_t n = change ? EDGE_COLUMNS : EDGE_SIDES;

  for (size_t i = 0; i < EDGE_SIDES; i++) {
    memcpy(a + i * n, c->normal[i], sizeof c->normal[i]);
    b[i] = c->right[i];
  }
  if (change) {
    change_products(model, k, products);
    for (size_t i = 0; i < EDGE_SIDES; i++) {
      a[EDGE_CHANGE_AT * n + i] = a[i * n + EDGE_CHANGE_AT] = products[i];
    }
    a[n * n - 1] = products[EDGE_SIDES + 1] + 1e-9; /* a change outside the line is none */
    b[EDGE_CHANGE_AT] = products[EDGE_SIDES];
  }
  return n;
}

double edge_model_cost(const struct edge_model *model, int k, bool change, bool restricted, double *solution)
{
  const struct edge_channel *c = &model->channel[k];
  double a[EDGE_COLUMNS * EDGE_COLUMNS], l[EDGE_COLUMNS * EDGE_COLUMNS], b[EDGE_COLUMNS], x[EDGE_COLUMNS];
  size_t n = normal_equations(model, k, change, a, b);

  solve_cholesky(n, a, l);
  memcpy(x, b, n * sizeof *x);
  double log_determinant = solve_triangles(n, l, x), explained = 0;
  for (size_t i = 0; i < n; i++) {
    explained += b[i] * x[i];
  }
  if (solution) {
    memcpy(solution, x, n * sizeof *x);
  }
  return c->square - explained + c->whitener.log_determinant + (restricted ? log_determinant : 0);
}
