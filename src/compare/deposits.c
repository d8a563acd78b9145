/* SPDX-License-Identifier: MIT */
#include "compare/deposits.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "colour/adapt.h"

enum { STATES = 4 };

/* Order within a subject. */
static const enum region_moisture STATE[STATES] = {MOISTURE_DRY, MOISTURE_MOIST, MOISTURE_WET,
                                                   MOISTURE_UNSTATED};

struct munsell deposits_munsell(struct lab lab_d50, struct lab *lab_c)
{
  struct xyz c = colour_object_c_from_d50(colour_xyz_from_lab(lab_d50, COLOUR_WHITE_D50));
  struct munsell munsell;

  if (lab_c) {
    *lab_c = colour_lab_from_xyz(c, COLOUR_WHITE_C);
  }
  munsell_from_xyY(colour_xyY_from_xyz(c, COLOUR_WHITE_C), &munsell, NULL);
  return munsell;
}

static bool is_named(const struct region *region)
{
  return region->context[0] || region->find[0];
}

static int compare_names(const struct region *a, const struct region *b)
{
  int order = strcmp(a->context, b->context);

  order = order ? order : strcmp(a->find, b->find);
  return order ? order : strcmp(a->zone, b->zone);
}

struct named_item {
  const struct region *region;
  size_t item;
};

static int by_name(const void *a, const void *b)
{
  const struct named_item *x = a, *y = b;
  int order = compare_names(x->region, y->region);

  return order ? order : (x->item > y->item) - (x->item < y->item);
}

/* Gives each reading the first reading of its subject. */
static bool find_subjects(const struct collection *c, size_t *first)
{
  struct named_item *sorted = calloc(c->count + 1, sizeof *sorted);

  if (!sorted) {
    return false;
  }
  for (size_t i = 0; i < c->count; i++) {
    sorted[i] = (struct named_item){&c->item[i].region, i};
  }
  qsort(sorted, c->count, sizeof *sorted, by_name);
  for (size_t i = 0; i < c->count; i++) {
    bool same =
        i > 0 && is_named(sorted[i].region) && compare_names(sorted[i - 1].region, sorted[i].region) == 0;
    first[sorted[i].item] = same ? first[sorted[i - 1].item] : sorted[i].item;
  }
  free(sorted);
  return true;
}

/* Deposits of the subject whose first reading is `head`. */
static void add_subject(const struct collection *c, const size_t *first, size_t head, size_t subject,
                        struct deposits *deposits)
{
  for (int s = 0; s < STATES; s++) {
    struct deposit *deposit = &deposits->list[deposits->count];
    *deposit = (struct deposit){.subject = subject, .moisture = STATE[s]};
    for (size_t i = head; i < c->count; i++) {
      if (first[i] != head || c->item[i].region.moisture != STATE[s]) {
        continue;
      }
      deposit->item = deposit->readings ? deposit->item : i;
      deposit->readings++;
      deposits->of[i] = deposits->count;
    }
    deposits->count += deposit->readings > 0;
  }
}

/* d(hue, value, chroma) / d Lab by central differences of 0.05, well above what the inverse of the renotation leaves open. */
static struct mat3 munsell_gradient(struct lab at, struct munsell m)
{
  const double h = 0.05;
  struct mat3 jacobian = {{{0}}};
  bool hue_known = m.chroma >= 0.3; /* as munsell_jacobian() */

  for (int k = 0; k < 3; k++) {
    struct vec3 up = colour_vec_from_lab(at), down = up;
    up.v[k] += h;
    down.v[k] -= h;
    struct munsell a = deposits_munsell(colour_lab_from_vec(up), NULL);
    struct munsell b = deposits_munsell(colour_lab_from_vec(down), NULL);
    jacobian.m[0][k] = hue_known ? remainder(a.hue - b.hue, 100) / (2 * h) : 0;
    jacobian.m[1][k] = (a.value - b.value) / (2 * h);
    jacobian.m[2][k] = (a.chroma - b.chroma) / (2 * h);
  }
  return jacobian;
}

static void fill_mean(const struct collection *c, const struct deposits *deposits, size_t index,
                      double *weight)
{
  struct deposit *deposit = &deposits->list[index];
  struct vec3 sum = {{0}};
  double share = 1.0 / (double)deposit->readings;

  for (size_t i = 0; i < c->count; i++) {
    weight[i] = deposits->of[i] == index ? share : 0;
    if (weight[i] > 0) {
      sum = vec3_add(sum, vec3_scale(colour_vec_from_lab(c->item[i].reading.lab_d50), share));
    }
  }
  deposit->mean = colour_lab_from_vec(sum);
  deposit->covariance = collection_covariance(c, weight);
  deposit->munsell = deposits_munsell(deposit->mean, &deposit->mean_c);
  deposit->neutral = munsell_is_neutral(deposit->munsell);
  deposit->jacobian = munsell_gradient(deposit->mean, deposit->munsell);
  deposit->chip = munsell_nearest_soil_chip(deposit->mean_c, NULL);
}

/* Pooled covariance of readings round their deposit's mean. */
static void fill_scatter(const struct collection *c, struct deposits *deposits)
{
  double freedom[MOISTURE_STATES] = {0};

  for (size_t i = 0; i < c->count; i++) {
    const struct deposit *deposit = &deposits->list[deposits->of[i]];
    struct vec3 off =
        vec3_subtract(colour_vec_from_lab(c->item[i].reading.lab_d50), colour_vec_from_lab(deposit->mean));
    struct mat3 *scatter = &deposits->scatter[deposit->moisture];
    *scatter = mat3_add(*scatter, mat3_outer(off, off));
    freedom[deposit->moisture] += 1 - 1.0 / (double)deposit->readings;
  }
  for (int s = 0; s < MOISTURE_STATES; s++) {
    deposits->scatter[s] = mat3_scale(deposits->scatter[s], freedom[s] > 0.25 ? 1 / freedom[s] : 0);
  }
}

bool deposits_make(const struct collection *c, struct deposits *deposits, struct error *error)
{
  size_t *first = calloc(c->count + 1, sizeof *first), subjects = 0;
  double *weight = calloc(c->count + 1, sizeof *weight);

  *deposits = (struct deposits){.list = calloc(c->count + 1, sizeof *deposits->list),
                                .of = calloc(c->count + 1, sizeof *deposits->of)};
  bool done = first && weight && deposits->list && deposits->of && find_subjects(c, first);
  for (size_t i = 0; done && i < c->count; i++) {
    if (first[i] == i) {
      add_subject(c, first, i, subjects++, deposits);
    }
  }
  for (size_t k = 0; done && k < deposits->count; k++) {
    fill_mean(c, deposits, k, weight);
  }
  if (done) {
    fill_scatter(c, deposits);
  }
  free(first);
  free(weight);
  if (!done) {
    deposits_clear(deposits);
    return error_no_memory(error, "the deposits");
  }
  return true;
}

void deposits_clear(struct deposits *deposits)
{
  free(deposits->list);
  free(deposits->of);
  *deposits = (struct deposits){0};
}

bool deposits_variance(const struct collection *c, const struct deposits *deposits, const size_t *index,
                       const struct vec3 *gradient, size_t count, double *variance, struct error *error)
{
  struct vec3 *of_item = calloc(c->count + 1, sizeof *of_item);

  if (!of_item) {
    return error_no_memory(error, "the deposits");
  }
  for (size_t i = 0; i < c->count; i++) {
    for (size_t k = 0; k < count; k++) {
      if (deposits->of[i] == index[k]) {
        double share = 1.0 / (double)deposits->list[index[k]].readings;
        of_item[i] = vec3_add(of_item[i], vec3_scale(gradient[k], share));
      }
    }
  }
  *variance = collection_variance(c, of_item);
  for (size_t k = 0; k < count; k++) {
    const struct deposit *deposit = &deposits->list[index[k]];
    struct vec3 along = mat3_apply(deposits->scatter[deposit->moisture], gradient[k]);
    *variance += vec3_dot(gradient[k], along) / (double)deposit->readings;
  }
  free(of_item);
  return true;
}

static double square_between(struct lab a, struct lab b)
{
  return (a.L - b.L) * (a.L - b.L) + (a.a - b.a) * (a.a - b.a) + (a.b - b.b) * (a.b - b.b);
}

/* Analysis of variance of unbalanced groups (Searle, Casella & McCulloch 1992, Variance Components, 3.6; Snedecor & Cochran
 * 1967, Statistical Methods, 10.13 and 10.16; both from memory). With k groups of n_i, N in all,
 *   MSW = sum_ij |x_ij - m_i|^2 / (N - k),  MSB = sum_i n_i |m_i - m|^2 / (k - 1),
 *   n_0 = (N - sum n_i^2 / N) / (k - 1),    s_b^2 = (MSB - MSW) / n_0, at least 0,
 * and the share is s_b^2 / (s_b^2 + MSW), the intraclass correlation. */
struct components deposits_components(const struct collection *c, const struct deposits *deposits,
                                      enum region_moisture moisture)
{
  struct components components = {.moisture = moisture};
  struct vec3 sum = {{0}};
  double squares = 0, within = 0, between = 0;

  for (size_t i = 0; i < c->count; i++) {
    const struct deposit *deposit = &deposits->list[deposits->of[i]];
    if (deposit->moisture == moisture) {
      components.readings++;
      squares += (double)deposit->readings;
      components.deposits += deposit->item == i;
      sum = vec3_add(sum, colour_vec_from_lab(c->item[i].reading.lab_d50));
      within += square_between(c->item[i].reading.lab_d50, deposit->mean);
    }
  }
  double n = (double)components.readings, k = (double)components.deposits;
  components.known = components.deposits > 1 && components.readings > components.deposits;
  if (!components.known) {
    return components;
  }
  struct lab mean = colour_lab_from_vec(vec3_scale(sum, 1 / n));
  for (size_t d = 0; d < deposits->count; d++) {
    if (deposits->list[d].moisture == moisture) {
      between += (double)deposits->list[d].readings * square_between(deposits->list[d].mean, mean);
    }
  }
  double msw = within / (n - k), n0 = (n - squares / n) / (k - 1);
  double variance = fmax((between / (k - 1) - msw) / n0, 0);
  components.within = sqrt(msw);
  components.between = sqrt(variance);
  components.share = variance + msw > 0 ? variance / (variance + msw) : 0;
  return components;
}
