/* SPDX-License-Identifier: MIT */
#include "compare/edge_fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/solve.h"
#include "compare/edge_model.h"

/* Quantile 0.95 of chi-square with one degree of freedom. */
static const double CHI_SQUARE_1_95 = 3.841;

/* Grid of noise: share of the slow part, and its length in samples. */
static const double SLOW_SHARE[] = {0, 0.1, 0.25, 0.5, 0.75, 0.92};
static const double SLOW_SAMPLES[] = {1.5, 3, 6, 12, 24, 48};
enum { SHARES = 6, LENGTHS = 6 };

enum { THICKNESSES = 14, ROUNDS = 2, GOLDEN_STEPS = 14, BISECTIONS = 14 };

/* No channel is known better than this, in units of y: codes are whole numbers. */
static const double VARIANCE_LEAST = 1e-5;

struct work {
  struct edge_model model;
  const struct edge_limits *limits;
  struct edge_noise noise[3];
};

static double cost_at(struct work *w, double place, double thick)
{
  double sum = 0;

  edge_model_set_change(&w->model, place, thick);
  for (int k = 0; k < 3; k++) {
    sum += edge_model_cost(&w->model, k, true, false, NULL);
  }
  return sum;
}

/* The variance that makes the restricted likelihood of a channel largest for noise of this shape, by a few fixed-point steps; the
 * priors' share changes little. Returns -2 log of that likelihood. */
static double scale_noise(struct work *w, int k, bool change, struct edge_noise *noise)
{
  double cost = INFINITY, freedom = (double)w->model.count - (change ? 2 : 1);

  for (int round = 0; round < 3; round++) {
    edge_model_set_noise(&w->model, k, *noise);
    cost = edge_model_cost(&w->model, k, change, true, NULL);
    double square =
        edge_model_cost(&w->model, k, change, false, NULL) - w->model.channel[k].whitener.log_determinant;
    double factor = fmax(square / freedom, VARIANCE_LEAST / (noise->white + noise->slow));
    if (round == 2 || fabs(factor - 1) < 0.01) {
      break;
    }
    noise->white *= factor;
    noise->slow *= factor;
  }
  return cost;
}

/* Half the mean square step from sample to sample: about the white part's variance. */
static double first_variance(const struct work *w, int k)
{
  double sum = 0;

  for (size_t i = 1; i < w->model.count; i++) {
    double step = w->model.sample[i].y[k] - w->model.sample[i - 1].y[k];
    sum += step * step / 2;
  }
  return fmax(sum / (double)(w->model.count - 1), VARIANCE_LEAST);
}

static void estimate_noise(struct work *w, int k, bool change)
{
  double spacing = edge_model_spacing(&w->model);
  double start = first_variance(w, k), best = INFINITY;

  for (int i = 0; i < SHARES * LENGTHS; i++) {
    double share = SLOW_SHARE[i / LENGTHS];
    if (share <= 0 && i % LENGTHS > 0) {
      continue;
    }
    struct edge_noise noise = {start, start * share / (1 - share), SLOW_SAMPLES[i % LENGTHS] * spacing};
    double cost = scale_noise(w, k, change, &noise);
    if (cost < best) {
      best = cost;
      w->noise[k] = noise;
    }
  }
  edge_model_set_noise(&w->model, k, w->noise[k]);
}

/* Likelihood without a change, its noise estimated so. */
static double cost_without(struct work *w)
{
  double sum = 0;

  for (int k = 0; k < 3; k++) {
    estimate_noise(w, k, false);
    sum += edge_model_cost(&w->model, k, false, false, NULL);
  }
  return sum;
}

static double thickness(const struct edge_limits *limits, int i)
{
  return limits->thin * pow(limits->thick / limits->thin, (double)i / (THICKNESSES - 1));
}

/* The best of a grid: places as dense as the thickness asks for. */
static double search(struct work *w, struct edge_fit *fit)
{
  const struct edge_limits *limits = w->limits;
  double spacing = edge_model_spacing(&w->model), best = INFINITY;

  for (int i = 0; i < THICKNESSES; i++) {
    double thick = thickness(limits, i), step = fmax(1.5 * spacing, thick / 4);
    for (double place = limits->place_low; place <= limits->place_high; place += step) {
      double cost = cost_at(w, place, thick);
      if (cost < best) {
        best = cost;
        fit->place = place;
        fit->thick = thick;
      }
    }
  }
  return best;
}

/* The fit with one unknown held. */
struct slice {
  struct work *work;
  double fixed;  /* the unknown that is held */
  bool of_place; /* the other is the place, else the logarithm of the thickness */
};

static double slice_cost(double x, const void *context)
{
  const struct slice *slice = context;

  return slice->of_place ? cost_at(slice->work, x, slice->fixed) : cost_at(slice->work, slice->fixed, exp(x));
}

static double clamp(double x, double low, double high)
{
  return fmin(fmax(x, low), high);
}

/* The best thickness for a place, near a first idea. */
static double best_thickness(struct work *w, double place, double about, double *thick)
{
  const struct edge_limits *l = w->limits;
  double low = log(clamp(about / 4, l->thin, l->thick)), high = log(clamp(about * 4, l->thin, l->thick)), at;
  double cost = solve_between(slice_cost, &(struct slice){w, place, false}, low, high, GOLDEN_STEPS, &at);
  double thin = cost_at(w, place, exp(low)); /* the ends are never reached by sections */

  *thick = thin <= cost ? exp(low) : exp(at);
  return fmin(thin, cost);
}

static double best_place(struct work *w, double thick, double about, double reach, double *place)
{
  const struct edge_limits *l = w->limits;

  return solve_between(slice_cost, &(struct slice){w, thick, true},
                       clamp(about - reach, l->place_low, l->place_high),
                       clamp(about + reach, l->place_low, l->place_high), GOLDEN_STEPS, place);
}

static double refine(struct work *w, struct edge_fit *fit)
{
  double cost = INFINITY;

  for (int i = 0; i < 4; i++) {
    best_place(w, fit->thick, fit->place, fmax(2 * edge_model_spacing(&w->model), fit->thick / 2),
               &fit->place);
    cost = best_thickness(w, fit->place, fit->thick, &fit->thick);
  }
  return cost;
}

/* What the profile likelihood costs at a place or (log) thickness, the other unknown at its best. */
static double profile_cost(struct work *w, const struct edge_fit *fit, bool of_place, double x)
{
  double other;

  return of_place ? best_thickness(w, x, fit->thick, &other)
                  : best_place(w, exp(x), fit->place,
                               fmax(3 * edge_model_spacing(&w->model), fmax(exp(x), fit->thick)), &other);
}

/* How far from the best `x` the cost has risen to `level`, towards `end`: steps that double, then halving. */
static double bound(struct work *w, const struct edge_fit *fit, bool of_place, double x, double step,
                    double end, double level)
{
  double inner = x, outer = x, direction = end > x ? 1 : -1;

  while (outer != end) {
    outer = direction > 0 ? fmin(outer + step, end) : fmax(outer - step, end);
    if (profile_cost(w, fit, of_place, outer) > level) {
      break;
    }
    inner = outer;
    step *= 2;
  }
  if (inner == end) {
    return end;
  }
  for (int i = 0; i < BISECTIONS && fabs(outer - inner) > 1e-3; i++) {
    double middle = (inner + outer) / 2;
    *(profile_cost(w, fit, of_place, middle) > level ? &outer : &inner) = middle;
  }
  return outer;
}

static void find_intervals(struct work *w, double cost, struct edge_fit *fit)
{
  const struct edge_limits *l = w->limits;
  double level = cost + CHI_SQUARE_1_95, step = fmax(edge_model_spacing(&w->model) / 8, fit->thick / 32);

  fit->place_low = bound(w, fit, true, fit->place, step, l->place_low, level);
  fit->place_high = bound(w, fit, true, fit->place, step, l->place_high, level);
  fit->thick_low = exp(bound(w, fit, false, log(fit->thick), 0.05, log(l->thin), level));
  fit->thick_high = exp(bound(w, fit, false, log(fit->thick), 0.05, log(l->thick), level));
}

static void take_solution(struct work *w, struct edge_fit *fit)
{
  double solution[EDGE_COLUMNS];

  edge_model_set_change(&w->model, fit->place, fit->thick);
  for (int k = 0; k < 3; k++) {
    edge_model_cost(&w->model, k, true, false, solution);
    fit->level[k] = solution[EDGE_LEVEL];
    fit->drift[0][k] = solution[EDGE_DRIFT_1];
    fit->drift[1][k] = solution[EDGE_DRIFT_2];
    fit->shadow[k] = w->model.prior->shadow ? solution[EDGE_SHADOW] : 0;
    fit->change[k] = solution[EDGE_CHANGE_AT];
    fit->noise[k] = w->noise[k];
  }
}

/* From the noise that w holds to a best place and thickness, and noise that suits them. */
static double settle(struct work *w, struct edge_fit *fit)
{
  double cost = search(w, fit);

  for (int round = 0; round < ROUNDS; round++) {
    edge_model_set_change(&w->model, fit->place, fit->thick);
    for (int k = 0; k < 3; k++) {
      estimate_noise(w, k, true);
    }
    cost = refine(w, fit);
  }
  return cost;
}

static void take_noise(struct work *w, const struct edge_noise noise[3])
{
  for (int k = 0; k < 3; k++) {
    w->noise[k] = noise[k];
    edge_model_set_noise(&w->model, k, noise[k]);
  }
}

/* Noise estimated without a change may explain a thick one away as its slow part, and white noise alone takes a patch for one: both are
 * starting points, and the likelier end is taken. */
static double settle_best(struct work *w, struct edge_fit *fit)
{
  struct edge_fit second = *fit;
  struct edge_noise noise[3];
  double cost = settle(w, fit);

  memcpy(noise, w->noise, sizeof noise);
  for (int k = 0; k < 3; k++) {
    w->noise[k] = (struct edge_noise){first_variance(w, k), 0, edge_model_spacing(&w->model)};
    edge_model_set_noise(&w->model, k, w->noise[k]);
  }
  double other = settle(w, &second);
  if (other < cost) {
    *fit = second;
    return other;
  }
  take_noise(w, noise);
  return cost;
}

static void fit_all(struct work *w, struct edge_fit *fit)
{
  double without = cost_without(w), cost = settle_best(w, fit);

  fit->evidence = without - cost;
  find_intervals(w, cost, fit);
  take_solution(w, fit);
}

bool edge_fit(const struct edge_sample *sample, size_t count, const struct edge_prior *prior,
              const struct edge_limits *limits, struct edge_fit *fit, struct error *error)
{
  *fit = (struct edge_fit){0};
  if (count < EDGE_SAMPLES_MIN) {
    return error_set(error, ERROR_UNMEASURABLE, "few-samples",
                     "too little of the line can be read (%zu places); draw it longer or elsewhere", count);
  }
  struct work *w = malloc(sizeof *w);
  if (!w) {
    return error_no_memory(error, "the colour along a line");
  }
  edge_model_begin(sample, count, prior, &w->model);
  w->limits = limits;
  fit_all(w, fit);
  free(w);
  return true;
}
