/* SPDX-License-Identifier: MIT */
#include "compare/moisture.h"

#include <math.h>
#include <stdlib.h>

#include "base/quantile.h"
#include "colour/difference.h"
#include "compare/moisture_table.h"

/* From the same descriptions as the table (calibration/README.md): 93.5 % of horizons have the same hue page; chroma dry minus
 * moist has mean 0.02 and standard deviation 0.69, with no change in 74 %. */
static const double CHROMA_SPREAD = 0.69;

/* Least squares over the table, dry value from moist value; a test refits it. */
static const double DRY_SLOPE = 0.852, DRY_BASE = 2.128, DRY_RESIDUAL = 0.676;

/* Smaller than in 95 % of horizons, or larger than in 97.5 %: limits of the remarks. */
static const double SMALL_SHARE = 0.05, LARGE_SHARE = 0.975;

enum { SHIFTS_MAX = 64 };

/* Distinct shifts of the table, rising, and the horizons of each. */
struct shifts {
  double shift[SHIFTS_MAX], horizons[SHIFTS_MAX], sum;
  size_t count;
};

static void add_shift(struct shifts *shifts, double shift, double horizons)
{
  size_t at = 0;

  while (at < shifts->count && shifts->shift[at] < shift) {
    at++;
  }
  if (at == shifts->count || shifts->shift[at] > shift) {
    for (size_t i = shifts->count++; i > at; i--) {
      shifts->shift[i] = shifts->shift[i - 1];
      shifts->horizons[i] = shifts->horizons[i - 1];
    }
    shifts->shift[at] = shift;
    shifts->horizons[at] = 0;
  }
  shifts->horizons[at] += horizons;
  shifts->sum += horizons;
}

static struct shifts read_table(void)
{
  struct shifts shifts = {.count = 0};

  for (size_t i = 0; i < MOISTURE_ROWS; i++) {
    add_shift(&shifts, MOISTURE_TABLE[i][1] - MOISTURE_TABLE[i][0], MOISTURE_TABLE[i][2]);
  }
  return shifts;
}

size_t moisture_horizons(void)
{
  return (size_t)read_table().sum;
}

/* Upper limit of the stretch that shift k stands for: half-way to the next, and as far beyond the last. */
static double upper_limit(const struct shifts *s, size_t k)
{
  return k + 1 < s->count ? (s->shift[k] + s->shift[k + 1]) / 2 : s->shift[k] + 0.5;
}

double moisture_share_below(double shift)
{
  struct shifts s = read_table();
  double low = s.shift[0] - 0.5, sum = 0;

  for (size_t k = 0; k < s.count; k++) {
    double high = upper_limit(&s, k);
    sum += s.horizons[k] * fmin(fmax((shift - low) / (high - low), 0), 1);
    low = high;
  }
  return sum / s.sum;
}

double moisture_share_darker(void)
{
  double sum = 0, all = 0;

  for (size_t i = 0; i < MOISTURE_ROWS; i++) {
    sum += MOISTURE_TABLE[i][1] < MOISTURE_TABLE[i][0] ? MOISTURE_TABLE[i][2] : 0;
    all += MOISTURE_TABLE[i][2];
  }
  return sum / all;
}

static struct vec3 row_of(const struct mat3 *m, int row)
{
  return (struct vec3){{m->m[row][0], m->m[row][1], m->m[row][2]}};
}

/* 95 % half-width of a Munsell coordinate of the drier minus that of the wetter. */
static bool spread_of(const struct collection *c, const struct deposits *d,
                      const struct moisture_shift *shift, int row, double *spread, struct error *error)
{
  size_t index[2] = {shift->drier, shift->wetter};
  struct vec3 gradient[2] = {row_of(&d->list[shift->drier].jacobian, row),
                             vec3_scale(row_of(&d->list[shift->wetter].jacobian, row), -1)};
  double variance;

  if (!deposits_variance(c, d, index, gradient, 2, &variance, error)) {
    return false;
  }
  *spread = QUANTILE_NORMAL_95 * sqrt(variance);
  return true;
}

static enum moisture_remark remark_on(const struct moisture_shift *shift)
{
  double low = shift->steps.value - shift->value_spread, high = shift->steps.value + shift->value_spread;

  if (high < 0) {
    return MOISTURE_SWAPPED;
  }
  if (shift->published && moisture_share_below(high) < SMALL_SHARE) {
    return MOISTURE_NOT_DRIER;
  }
  return shift->published && moisture_share_below(low) > LARGE_SHARE ? MOISTURE_LARGE : MOISTURE_FINE;
}

static bool fill_shift(const struct collection *c, const struct deposits *d, size_t drier, size_t wetter,
                       struct moisture_shift *shift, struct error *error)
{
  const struct deposit *dry = &d->list[drier], *wet = &d->list[wetter];

  *shift =
      (struct moisture_shift){.drier = drier,
                              .wetter = wetter,
                              .steps = pair_steps(wet->munsell, dry->munsell),
                              .de00 = colour_de00(dry->mean, wet->mean),
                              .published = dry->moisture == MOISTURE_DRY && wet->moisture == MOISTURE_MOIST};
  if (!spread_of(c, d, shift, 0, &shift->pages_spread, error) ||
      !spread_of(c, d, shift, 1, &shift->value_spread, error) ||
      !spread_of(c, d, shift, 2, &shift->chroma_spread, error)) {
    return false;
  }
  shift->pages_spread /= 2.5;
  double below = moisture_share_below(shift->steps.value);
  shift->share = 2 * fmin(below, 1 - below);
  shift->remark = remark_on(shift);
  shift->hue_odd = shift->steps.hue_known && fabs(shift->steps.pages) - shift->pages_spread > 1;
  shift->chroma_odd = fabs(shift->steps.chroma) - shift->chroma_spread > 2 * CHROMA_SPREAD;
  return true;
}

/* Deposits of one subject stand together, drier ones first; unstated states are no pair of anything. */
static bool is_pair(const struct deposits *d, size_t drier, size_t wetter)
{
  return d->list[drier].subject == d->list[wetter].subject && d->list[wetter].moisture != MOISTURE_UNSTATED;
}

bool moisture_shifts(const struct collection *c, const struct deposits *d, struct moisture_shift **list,
                     size_t *count, struct error *error)
{
  *count = 0;
  *list = calloc(3 * d->count + 1, sizeof **list); /* three states make three pairs at most */
  if (!*list) {
    return error_no_memory(error, "the states of deposits");
  }
  for (size_t i = 0; i < d->count; i++) {
    for (size_t j = i + 1; j < d->count && is_pair(d, i, j); j++) {
      if (!fill_shift(c, d, i, j, &(*list)[(*count)++], error)) {
        free(*list);
        *list = NULL;
        return false;
      }
    }
  }
  return true;
}

/* d de00(first, second) / d first by central differences of 0.01. */
static struct vec3 gradient_of(struct lab first, struct lab second)
{
  const double h = 0.01;
  struct vec3 slope;

  for (int k = 0; k < 3; k++) {
    struct vec3 up = colour_vec_from_lab(first), down = up;
    up.v[k] += h;
    down.v[k] -= h;
    slope.v[k] =
        (colour_de00(colour_lab_from_vec(up), second) - colour_de00(colour_lab_from_vec(down), second)) /
        (2 * h);
  }
  return slope;
}

static bool fill_spread(const struct collection *c, const struct deposits *d,
                        struct moisture_contrast *contrast, struct error *error)
{
  size_t index[4] = {contrast->wetter[0], contrast->wetter[1], contrast->drier[0], contrast->drier[1]};
  struct lab mean[4];
  double variance;

  for (int k = 0; k < 4; k++) {
    mean[k] = d->list[index[k]].mean;
  }
  struct vec3 gradient[4] = {gradient_of(mean[0], mean[1]), gradient_of(mean[1], mean[0]),
                             vec3_scale(gradient_of(mean[2], mean[3]), -1),
                             vec3_scale(gradient_of(mean[3], mean[2]), -1)};
  if (!deposits_variance(c, d, index, gradient, 4, &variance, error)) {
    return false;
  }
  contrast->spread = QUANTILE_NORMAL_95 * sqrt(variance);
  return true;
}

static int by_nearness(const void *a, const void *b)
{
  const struct moisture_contrast *x = a, *y = b;
  double p = fmin(x->apart_drier, x->apart_wetter), q = fmin(y->apart_drier, y->apart_wetter);

  if (p != q) {
    return p < q ? -1 : 1;
  }
  return x->drier[0] != y->drier[0] ? (x->drier[0] < y->drier[0] ? -1 : 1)
                                    : (x->drier[1] > y->drier[1]) - (x->drier[1] < y->drier[1]);
}

/* Two pairs of states that are alike. */
static bool are_alike(const struct deposits *d, const struct moisture_shift *a,
                      const struct moisture_shift *b)
{
  return d->list[a->drier].subject != d->list[b->drier].subject &&
         d->list[a->drier].moisture == d->list[b->drier].moisture &&
         d->list[a->wetter].moisture == d->list[b->wetter].moisture;
}

static size_t list_contrasts(const struct deposits *d, const struct moisture_shift *shift, size_t shifts,
                             struct moisture_contrast *list)
{
  size_t count = 0;

  for (size_t i = 0; i < shifts; i++) {
    for (size_t j = i + 1; j < shifts; j++) {
      if (!are_alike(d, &shift[i], &shift[j])) {
        continue;
      }
      if (list) {
        struct moisture_contrast *contrast = &list[count];
        *contrast = (struct moisture_contrast){.drier = {shift[i].drier, shift[j].drier},
                                               .wetter = {shift[i].wetter, shift[j].wetter}};
        contrast->apart_drier = colour_de00(d->list[shift[i].drier].mean, d->list[shift[j].drier].mean);
        contrast->apart_wetter = colour_de00(d->list[shift[i].wetter].mean, d->list[shift[j].wetter].mean);
        contrast->gain = contrast->apart_wetter - contrast->apart_drier;
      }
      count++;
    }
  }
  return count;
}

bool moisture_contrasts(const struct collection *c, const struct deposits *d, size_t most,
                        struct moisture_contrast **list, size_t *count, size_t *all, struct error *error)
{
  struct moisture_shift *shift;
  size_t shifts;
  bool done = true;

  *list = NULL;
  if (!moisture_shifts(c, d, &shift, &shifts, error)) {
    return false;
  }
  *all = list_contrasts(d, shift, shifts, NULL);
  *count = *all < most ? *all : most;
  *list = calloc(*all + 1, sizeof **list);
  if (!*list) {
    done = error_no_memory(error, "the states of deposits");
  } else {
    list_contrasts(d, shift, shifts, *list);
    qsort(*list, *all, sizeof **list, by_nearness);
  }
  for (size_t i = 0; done && i < *count; i++) {
    done = fill_spread(c, d, &(*list)[i], error);
  }
  free(shift);
  if (!done) {
    free(*list);
    *list = NULL;
  }
  return done;
}

struct moisture_estimate moisture_estimate_dry(const struct deposit *moist)
{
  struct vec3 slope = row_of(&moist->jacobian, 1);
  double variance = vec3_dot(slope, mat3_apply(moist->covariance, slope));

  return (struct moisture_estimate){
      .value = DRY_SLOPE * moist->munsell.value + DRY_BASE,
      .spread = QUANTILE_NORMAL_95 * sqrt(DRY_RESIDUAL * DRY_RESIDUAL + DRY_SLOPE * DRY_SLOPE * variance)};
}
