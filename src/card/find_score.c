/* SPDX-License-Identifier: MIT */
/* Do the colours of a placement agree with the card?
 *
 * Model: code = A m + b + noise, with m the card's colours in linear light to some power, A any 3x3 matrix (camera, light,
 * cast, white balance), b any veil. Statistic: Wilks' lambda of that multivariate regression, det E / det T, with E the scatter
 * of residuals and T that of the codes. It does not change under any linear map of the codes, so a cast or a camera's own
 * primaries alter nothing; by Bartlett's approximation -(n - 1 - (p + q + 1) / 2) ln lambda is chi-squared with p q = 9
 * degrees of freedom where the colours have nothing to do with the card. As one mixture of channels explained very well
 * must not make up for another explained badly (grey things), the least canonical correlation counts as well. */
#include <math.h>

#include "base/order.h"
#include "card/find_parts.h"

enum { ROUNDS = 3, LEAST = 8 /* patches of a regression with three slopes and a constant */ };
#define FLOOR                                                                                                \
  0.02 /* of a channel's mean: noise that is always assumed, so that a grey scene explains nothing */
#define STRAY 3.5         /* robust standard deviations: a patch that is left out */
#define LEFT_OUT 0.25     /* share of patches that may be                         */
#define LEFT_OUT_HALF 0.5 /* when one half of the card is all there is         */
#define HOPELESS 25.0     /* evidence under which no half is tried               */
#define SPOILT 0.9        /* share of agreeing patches from which none needs to be */
#define DISAGREE 1.1      /* distance in the spread of the card's own colours     */
#define SLOPE_MAX 0.25    /* of the logarithm of the light, a patch               */

struct regression {
  int count;
  struct vec3 mean_model, mean_code;
  struct mat3 slope;           /* code from model */
  struct mat3 total, residual; /* scatter a patch */
};

static double determinant(struct mat3 a)
{
  return a.m[0][0] * (a.m[1][1] * a.m[2][2] - a.m[1][2] * a.m[2][1]) -
         a.m[0][1] * (a.m[1][0] * a.m[2][2] - a.m[1][2] * a.m[2][0]) +
         a.m[0][2] * (a.m[1][0] * a.m[2][1] - a.m[1][1] * a.m[2][0]);
}

static void means_take(const struct vec3 *model, const struct find_sample *sample, const bool *use, int cells,
                       struct regression *fit)
{
  fit->count = 0;
  fit->mean_model = fit->mean_code = (struct vec3){{0, 0, 0}};
  for (int k = 0; k < cells; k++)
    if (use[k]) {
      fit->count++;
      fit->mean_model = vec3_add(fit->mean_model, model[k]);
      fit->mean_code = vec3_add(fit->mean_code, sample[k].code);
    }
  fit->mean_model = vec3_scale(fit->mean_model, 1.0 / (fit->count ? fit->count : 1));
  fit->mean_code = vec3_scale(fit->mean_code, 1.0 / (fit->count ? fit->count : 1));
}

static void outer_add(struct mat3 *sum, const struct vec3 *a, const struct vec3 *b, double weight)
{
  for (int i = 0; i < 3; i++)
    for (int k = 0; k < 3; k++)
      sum->m[i][k] += weight * a->v[i] * b->v[k];
}

/* False when too few patches are used or the model's colours are not spread in three dimensions. */
static bool regress(const struct vec3 *model, const struct find_sample *sample, const bool *use, int cells,
                    struct regression *fit)
{
  struct mat3 mm = {{{0}}}, cm = {{{0}}}, inverse;
  static const struct mat3 zero = {{{0}}};

  means_take(model, sample, use, cells, fit);
  if (fit->count < LEAST)
    return false;
  fit->total = zero;
  for (int k = 0; k < cells; k++)
    if (use[k]) {
      struct vec3 m = vec3_subtract(model[k], fit->mean_model),
                  c = vec3_subtract(sample[k].code, fit->mean_code);

      outer_add(&mm, &m, &m, 1.0 / fit->count);
      outer_add(&cm, &c, &m, 1.0 / fit->count);
      outer_add(&fit->total, &c, &c, 1.0 / fit->count);
    }
  if (!mat3_invert(mm, &inverse))
    return false;
  fit->slope = mat3_multiply(cm, inverse);
  fit->residual = mat3_add(fit->total, mat3_scale(mat3_multiply(fit->slope, mat3_transpose(cm)), -1));
  for (int i = 0; i < 3; i++) {
    double floor = FLOOR * fit->mean_code.v[i] + 1e-4;

    fit->total.m[i][i] += floor * floor;
    fit->residual.m[i][i] += floor * floor;
  }
  return true;
}

static double evidence_of(const struct regression *fit)
{
  double lambda = determinant(fit->residual) / determinant(fit->total);

  return -(fit->count - 4.5) * log(fmin(fmax(lambda, 1e-12), 1.0));
}

static struct vec3 predicted(const struct regression *fit, const struct vec3 *model)
{
  return vec3_add(fit->mean_code, mat3_apply(fit->slope, vec3_subtract(*model, fit->mean_model)));
}

/* 1 - largest eigenvalue of T^-1 E. */
static double weakest_of(const struct regression *fit)
{
  struct mat3 half = mat3_cholesky(fit->total), inverse, vectors;

  if (!mat3_invert(half, &inverse))
    return 0;
  return 1 - mat3_eigen(mat3_congruence(inverse, fit->residual), &vectors).v[0];
}

double find_score_quick(const struct find_layout *layout, const struct find_sample *sample)
{
  bool use[FIND_CELLS];
  int cells = layout->columns * layout->rows;
  struct regression fit;

  for (int k = 0; k < cells; k++)
    use[k] = sample[k].inside;
  return regress(layout->model[0], sample, use, cells, &fit) ? evidence_of(&fit) : 0;
}

/* Squared length of each patch's residual, in units of `scatter`. */
static void distances(const struct regression *fit, const struct mat3 *scatter, const struct vec3 *model,
                      const struct find_sample *sample, int cells, double *distance)
{
  struct mat3 inverse = mat3_identity();

  mat3_invert(*scatter, &inverse);
  for (int k = 0; k < cells; k++) {
    struct vec3 r = vec3_subtract(sample[k].code, predicted(fit, &model[k]));

    distance[k] = sqrt(fmax(vec3_dot(r, mat3_apply(inverse, r)), 0));
  }
}

/* Leaves out patches that lie far off the others: glare, dirt, a hand, a wrong print. At most `share` of them. */
static void strays_leave(const double *distance, const struct find_sample *sample, int cells, double share,
                         bool *use)
{
  double list[FIND_CELLS], limit, worst;
  int inside = 0;

  for (int k = 0; k < cells; k++)
    if (sample[k].inside)
      list[inside++] = distance[k];
  order_doubles(list, (size_t)inside);
  worst = list[(int)((1 - share) * (inside - 1))];
  limit = STRAY * list[(int)((1 - share) / 2 * (inside - 1))];
  for (int k = 0; k < cells; k++)
    use[k] = sample[k].inside && (distance[k] <= limit || distance[k] <= worst);
}

/* Takes out a slope of the light over the card: log(code / model) against column and row. */
static void slope_take_out(const struct find_layout *layout, const struct regression *fit,
                           const struct vec3 *model, const bool *use, struct find_sample *sample)
{
  double x0 = (layout->columns - 1) / 2.0, y0 = (layout->rows - 1) / 2.0, sx = 0, sy = 0, xx = 0, yy = 0;

  for (int k = 0; k < layout->columns * layout->rows; k++) {
    struct vec3 p = predicted(fit, &model[k]);
    double seen = sample[k].code.v[0] + sample[k].code.v[1] + sample[k].code.v[2],
           expected = p.v[0] + p.v[1] + p.v[2];
    int column = k % layout->columns, row = k / layout->columns;
    double x = column - x0, y = row - y0;

    if (!use[k] || expected <= 0.02 || seen <= 0.02)
      continue;
    sx += expected * x * log(seen / expected);
    sy += expected * y * log(seen / expected);
    xx += expected * x * x;
    yy += expected * y * y;
  }
  sx = fmin(fmax(sx / fmax(xx, 1e-9), -SLOPE_MAX), SLOPE_MAX);
  sy = fmin(fmax(sy / fmax(yy, 1e-9), -SLOPE_MAX), SLOPE_MAX);
  for (int k = 0; k < layout->columns * layout->rows; k++) {
    int column = k % layout->columns, row = k / layout->columns;
    double gain = exp(-sx * (column - x0) - sy * (row - y0));

    sample[k].code = vec3_scale(sample[k].code, gain);
  }
}

static double unevenness(const struct regression *fit, const struct find_sample *sample, int cells)
{
  double list[FIND_CELLS], between = sqrt((fit->total.m[0][0] + fit->total.m[1][1] + fit->total.m[2][2]) / 3);
  int count = 0;

  for (int k = 0; k < cells; k++)
    if (sample[k].inside)
      list[count++] = sample[k].spread;
  return order_upper_median(list, (size_t)count) / fmax(between, 1e-6);
}

/* Patches to start from: all, or one half of the card, should the other be spoilt. */
enum start { START_ALL, START_LEFT, START_RIGHT, START_TOP, START_BOTTOM, STARTS };

static bool starts_from(const struct find_layout *layout, enum start start, int column, int row)
{
  switch (start) {
  case START_LEFT:
    return 2 * column < layout->columns;
  case START_RIGHT:
    return 2 * column >= layout->columns;
  case START_TOP:
    return 2 * row < layout->rows;
  case START_BOTTOM:
    return 2 * row >= layout->rows;
  default:
    return true;
  }
}

static bool fit_robustly(const struct find_layout *layout, const struct vec3 *model, enum start start,
                         struct find_sample *sample, bool *use, struct regression *fit)
{
  int cells = layout->columns * layout->rows;
  double distance[FIND_CELLS];

  for (int k = 0; k < cells; k++)
    use[k] = sample[k].inside && starts_from(layout, start, k % layout->columns, k / layout->columns);
  for (int round = 0; round < ROUNDS; round++) {
    if (!regress(model, sample, use, cells, fit))
      return false;
    distances(fit, &fit->residual, model, sample, cells, distance);
    strays_leave(distance, sample, cells, start == START_ALL ? LEFT_OUT : LEFT_OUT_HALF, use);
    slope_take_out(layout, fit, model, use, sample);
  }
  return regress(model, sample, use, cells, fit);
}

static bool score_with(const struct find_layout *layout, const struct vec3 *model, enum start start,
                       const struct find_sample *given, struct find_score *score)
{
  struct find_sample sample[FIND_CELLS];
  int cells = layout->columns * layout->rows;
  bool use[FIND_CELLS];
  double distance[FIND_CELLS];
  struct regression fit;

  *score = (struct find_score){0};
  for (int k = 0; k < cells; k++) {
    sample[k] = given[k];
    score->inside += given[k].inside;
  }
  if (!fit_robustly(layout, model, start, sample, use, &fit))
    return false;
  distances(&fit, &fit.total, model, sample, cells, distance);
  for (int k = 0; k < cells; k++)
    score->agree += sample[k].inside && distance[k] < DISAGREE;
  score->evidence = evidence_of(&fit);
  score->weakest = weakest_of(&fit);
  score->uneven = unevenness(&fit, sample, cells);
  return true;
}

struct find_score find_score_full(const struct find_layout *layout, const struct find_sample *sample)
{
  struct find_score best = {0}, score;

  for (enum start start = START_ALL; start < STARTS; start++) {
    if (start != START_ALL && (best.evidence < HOPELESS || best.agree >= SPOILT * best.inside))
      break;
    for (int tone = 0; tone < FIND_TONES; tone++)
      if (score_with(layout, layout->model[tone], start, sample, &score) && score.evidence > best.evidence)
        best = score;
  }
  return best;
}
