/* SPDX-License-Identifier: MIT */
#include "compare/edge_fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/solve.h"
#include "compare/edge_whiten.h"

/* Standard deviations between the 10 and the 90 % point of a normal distribution. */
static const double TEN_TO_NINETY = 2.5631031;

/* Quantile 0.95 of chi-square with one degree of freedom. */
static const double CHI_SQUARE_1_95 = 3.841;

/* Columns: level, two drifts, light step, change. */
enum { LEVEL, DRIFT_1, DRIFT_2, SHADOW, CHANGE, COLUMNS, SIDES = CHANGE };

/* Grid of noise: share of the slow part, and its length in samples. */
static const double SLOW_SHARE[] = {0, 0.1, 0.25, 0.5, 0.75, 0.92};
static const double SLOW_SAMPLES[] = {1.5, 3, 6, 12, 24, 48};
enum { SHARES = 6, LENGTHS = 6 };

enum { THICKNESSES = 14, ROUNDS = 2, GOLDEN_STEPS = 14, BISECTIONS = 14 };

/* No channel is known better than this, in units of y: codes are whole numbers. */
static const double VARIANCE_LEAST = 1e-5;

struct channel {
  struct whitener whitener;
  double fixed[SIDES][EDGE_SAMPLES_MAX];             /* whitened columns but the change's       */
  double y[EDGE_SAMPLES_MAX];                        /* whitened                                */
  double normal[SIDES][SIDES], right[SIDES], square; /* with the priors            */
  double cost; /* without a change: -2 log likelihood, up to a constant           */
};

struct work {
  const struct edge_sample *sample;
  size_t count;
  const struct edge_prior *prior;
  const struct edge_limits *limits;
  double column[SIDES][EDGE_SAMPLES_MAX];
  double change[3][EDGE_SAMPLES_MAX]; /* the change's column, which each channel blurs in its own way */
  struct channel channel[3];
  struct edge_noise noise[3];
};

double edge_fit_share(double off, double thick)
{
  return 0.5 * erfc(-off * TEN_TO_NINETY / (thick * M_SQRT2));
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

static void fill_columns(struct work *w)
{
  double from = w->sample[0].at, to = w->sample[w->count - 1].at;

  for (size_t i = 0; i < w->count; i++) {
    double z = place_in_line(from, to, w->sample[i].at);
    w->column[LEVEL][i] = 1;
    w->column[DRIFT_1][i] = z;
    w->column[DRIFT_2][i] = z * z - 1.0 / 3;
    w->column[SHADOW][i] = w->prior->shadow && w->sample[i].at > w->prior->shadow_at;
  }
}

static void fill_column(const struct work *w, double place, double width, double *column)
{
  double reach = 1.6 * width; /* beyond it, less than 1e-4 is missing */

  for (size_t i = 0; i < w->count; i++) {
    double off = w->sample[i].at - place;
    column[i] = off < -reach ? 0 : off > reach ? 1 : edge_fit_share(off, width);
  }
}

static void fill_change(struct work *w, double place, double thick)
{
  const double *blur = w->prior->blur;

  for (int k = 0; k < 3; k++) {
    if (k > 0 && blur[k] <= blur[k - 1] && blur[k] >= blur[k - 1]) {
      memcpy(w->change[k], w->change[k - 1], w->count * sizeof *w->change[k]);
    } else {
      fill_column(w, place, edge_fit_width(w->prior, k, thick), w->change[k]);
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
  double size = column == SHADOW                         ? prior->shadow_step[k]
                : column == DRIFT_1 || column == DRIFT_2 ? prior->drift[column - DRIFT_1][k]
                                                         : 0;

  return size > 0 ? 1 / (size * size) : column == SHADOW ? 1 : 0; /* no shadow: the column is all zero */
}

/* Solves the n x n system in place by Cholesky (symmetric, positive definite); returns the logarithm of the determinant. */
static double solve_small(int n, double a[COLUMNS][COLUMNS], double *b)
{
  double log_determinant = 0;

  for (int j = 0; j < n; j++) {
    for (int i = j; i < n; i++) {
      double sum = a[i][j];
      for (int k = 0; k < j; k++) {
        sum -= a[i][k] * a[j][k];
      }
      a[i][j] = i == j ? sqrt(fmax(sum, 1e-12)) : sum / a[j][j];
    }
    log_determinant += 2 * log(a[j][j]);
  }
  for (int i = 0; i < n; i++) {
    for (int k = 0; k < i; k++) {
      b[i] -= a[i][k] * b[k];
    }
    b[i] /= a[i][i];
  }
  for (int i = n - 1; i >= 0; i--) {
    for (int k = i + 1; k < n; k++) {
      b[i] -= a[k][i] * b[k];
    }
    b[i] /= a[i][i];
  }
  return log_determinant;
}

/* Whitens a channel and forms all products that do not hold the change. */
static void prepare_channel(struct work *w, int k, struct edge_noise noise)
{
  struct channel *c = &w->channel[k];
  double y[EDGE_SAMPLES_MAX];

  for (size_t i = 0; i < w->count; i++) {
    y[i] = w->sample[i].y[k];
  }
  whitener_make(w->sample, w->count, noise, &c->whitener);
  whitener_apply(&c->whitener, w->count, y, c->y);
  for (int i = 0; i < SIDES; i++) {
    whitener_apply(&c->whitener, w->count, w->column[i], c->fixed[i]);
  }
  for (int i = 0; i < SIDES; i++) {
    for (int j = 0; j <= i; j++) {
      c->normal[i][j] = c->normal[j][i] = dot(c->fixed[i], c->fixed[j], w->count);
    }
    c->normal[i][i] += precision(w->prior, i, k);
    c->right[i] = dot(c->fixed[i], c->y, w->count);
  }
  c->square = dot(c->y, c->y, w->count);
}

/* Whitens the change's column on the way and forms its products: with the other columns, with y and with itself. One loop, since this
 * is where the time goes. */
static void change_products(const struct work *w, int k, double products[SIDES + 2])
{
  const struct channel *c = &w->channel[k];
  const struct whitener *filter = &c->whitener;
  double state = 0, sum[SIDES + 2] = {0};

  for (size_t i = 0; i < w->count; i++) {
    state *= filter->decay[i];
    double news = w->change[k][i] - state, white = news * filter->scale[i];
    state += filter->gain[i] * news;
    for (int j = 0; j < SIDES; j++) {
      sum[j] += white * c->fixed[j][i];
    }
    sum[SIDES] += white * c->y[i];
    sum[SIDES + 1] += white * white;
  }
  memcpy(products, sum, sizeof sum);
}

/* -2 log likelihood (up to a constant) of a channel with or without the change that w->change holds; `restricted` adds
 * what the fit of the columns takes away. */
static double channel_cost(struct work *w, int k, bool change, bool restricted, double *solution)
{
  struct channel *c = &w->channel[k];
  double a[COLUMNS][COLUMNS], b[COLUMNS], right[COLUMNS], products[SIDES + 2];
  int n = change ? COLUMNS : SIDES;

  for (int i = 0; i < SIDES; i++) {
    memcpy(a[i], c->normal[i], sizeof c->normal[i]);
    b[i] = c->right[i];
  }
  if (change) {
    change_products(w, k, products);
    for (int i = 0; i < SIDES; i++) {
      a[CHANGE][i] = a[i][CHANGE] = products[i];
    }
    a[CHANGE][CHANGE] = products[SIDES + 1] + 1e-9; /* a change outside the line is none */
    b[CHANGE] = products[SIDES];
  }
  memcpy(right, b, sizeof right);
  double log_determinant = solve_small(n, a, b), explained = 0;
  for (int i = 0; i < n; i++) {
    explained += right[i] * b[i];
  }
  if (solution) {
    memcpy(solution, b, (size_t)n * sizeof *b);
  }
  return c->square - explained + c->whitener.log_determinant + (restricted ? log_determinant : 0);
}

static double cost_at(struct work *w, double place, double thick)
{
  double sum = 0;

  fill_change(w, place, thick);
  for (int k = 0; k < 3; k++) {
    sum += channel_cost(w, k, true, false, NULL);
  }
  return sum;
}

/* The variance that makes the restricted likelihood of a channel largest for noise of this shape, by a few fixed-point steps; the
 * priors' share changes little. Returns -2 log of that likelihood. */
static double scale_noise(struct work *w, int k, bool change, struct edge_noise *noise)
{
  double cost = INFINITY, freedom = (double)w->count - (change ? 2 : 1);

  for (int round = 0; round < 3; round++) {
    prepare_channel(w, k, *noise);
    cost = channel_cost(w, k, change, true, NULL);
    double square = channel_cost(w, k, change, false, NULL) - w->channel[k].whitener.log_determinant;
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

  for (size_t i = 1; i < w->count; i++) {
    double step = w->sample[i].y[k] - w->sample[i - 1].y[k];
    sum += step * step / 2;
  }
  return fmax(sum / (double)(w->count - 1), VARIANCE_LEAST);
}

static void estimate_noise(struct work *w, int k, bool change)
{
  double spacing = (w->sample[w->count - 1].at - w->sample[0].at) / (double)(w->count - 1);
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
  prepare_channel(w, k, w->noise[k]);
}

/* Likelihood without a change, its noise estimated so. */
static double cost_without(struct work *w)
{
  double sum = 0;

  for (int k = 0; k < 3; k++) {
    estimate_noise(w, k, false);
    sum += channel_cost(w, k, false, false, NULL);
  }
  return sum;
}

static double thickness(const struct edge_limits *limits, int i)
{
  return limits->thin * pow(limits->thick / limits->thin, (double)i / (THICKNESSES - 1));
}

static double spacing_of(const struct work *w)
{
  return (w->sample[w->count - 1].at - w->sample[0].at) / (double)(w->count - 1);
}

/* The best of a grid: places as dense as the thickness asks for. */
static double search(struct work *w, struct edge_fit *fit)
{
  const struct edge_limits *limits = w->limits;
  double spacing = spacing_of(w), best = INFINITY;

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
    best_place(w, fit->thick, fit->place, fmax(2 * spacing_of(w), fit->thick / 2), &fit->place);
    cost = best_thickness(w, fit->place, fit->thick, &fit->thick);
  }
  return cost;
}

/* What the profile likelihood costs at a place or (log) thickness, the other unknown at its best. */
static double profile_cost(struct work *w, const struct edge_fit *fit, bool of_place, double x)
{
  double other;

  return of_place
             ? best_thickness(w, x, fit->thick, &other)
             : best_place(w, exp(x), fit->place, fmax(3 * spacing_of(w), fmax(exp(x), fit->thick)), &other);
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
  double level = cost + CHI_SQUARE_1_95, step = fmax(spacing_of(w) / 8, fit->thick / 32);

  fit->place_low = bound(w, fit, true, fit->place, step, l->place_low, level);
  fit->place_high = bound(w, fit, true, fit->place, step, l->place_high, level);
  fit->thick_low = exp(bound(w, fit, false, log(fit->thick), 0.05, log(l->thin), level));
  fit->thick_high = exp(bound(w, fit, false, log(fit->thick), 0.05, log(l->thick), level));
}

static void take_solution(struct work *w, struct edge_fit *fit)
{
  double solution[COLUMNS];

  fill_change(w, fit->place, fit->thick);
  for (int k = 0; k < 3; k++) {
    channel_cost(w, k, true, false, solution);
    fit->level[k] = solution[LEVEL];
    fit->drift[0][k] = solution[DRIFT_1];
    fit->drift[1][k] = solution[DRIFT_2];
    fit->shadow[k] = w->prior->shadow ? solution[SHADOW] : 0;
    fit->change[k] = solution[CHANGE];
    fit->noise[k] = w->noise[k];
  }
}

/* From the noise that w holds to a best place and thickness, and noise that suits them. */
static double settle(struct work *w, struct edge_fit *fit)
{
  double cost = search(w, fit);

  for (int round = 0; round < ROUNDS; round++) {
    fill_change(w, fit->place, fit->thick);
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
    prepare_channel(w, k, noise[k]);
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
    w->noise[k] = (struct edge_noise){first_variance(w, k), 0, spacing_of(w)};
    prepare_channel(w, k, w->noise[k]);
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
  w->sample = sample;
  w->count = count;
  w->prior = prior;
  w->limits = limits;
  fill_columns(w);
  fit_all(w, fit);
  free(w);
  return true;
}
