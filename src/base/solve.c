/* SPDX-License-Identifier: MIT */
#include "base/solve.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static double column_norm2(const double *a, size_t rows, size_t columns, size_t from, size_t j)
{
  double sum = 0;

  for (size_t i = from; i < rows; i++) {
    sum += a[i * columns + j] * a[i * columns + j];
  }
  return sum;
}

static void swap_columns(double *a, size_t rows, size_t columns, size_t *order, size_t p, size_t q)
{
  size_t kept = order[p];

  order[p] = order[q];
  order[q] = kept;
  for (size_t i = 0; i < rows && p != q; i++) {
    double value = a[i * columns + p];
    a[i * columns + p] = a[i * columns + q];
    a[i * columns + q] = value;
  }
}

/* sum[j] = column k times column j, from row k on. Row by row, as the matrix lies in memory. */
static void column_products(const double *a, size_t rows, size_t columns, size_t k, double *sum)
{
  memset(sum, 0, columns * sizeof *sum);
  for (size_t i = k; i < rows; i++) {
    const double *row = a + i * columns, lead = row[k];
    for (size_t j = k + 1; j < columns; j++) {
      sum[j] += lead * row[j];
    }
  }
}

static size_t largest_column(const double *a, size_t rows, size_t columns, size_t k, double *norm)
{
  size_t best = k;

  memset(norm, 0, columns * sizeof *norm);
  for (size_t i = k; i < rows; i++) {
    const double *row = a + i * columns;
    for (size_t j = k; j < columns; j++) {
      norm[j] += row[j] * row[j];
    }
  }
  for (size_t j = k + 1; j < columns; j++) {
    best = norm[j] > norm[best] ? j : best;
  }
  return best;
}

/* Reflects column k below its diagonal to zero and takes the other columns and b along. The reflected
 * column itself keeps only its diagonal: the reflector is not needed again. `part`: room for a row. */
static void reflect(double *a, double *b, size_t rows, size_t columns, size_t k, double *part)
{
  double norm = sqrt(column_norm2(a, rows, columns, k, k));
  double head = a[k * columns + k];
  double alpha = head > 0 ? -norm : norm;
  double scale = norm * (norm + fabs(head)); /* v'v / 2 with v = column - alpha e1 */

  if (norm == 0) {
    return;
  }
  a[k * columns + k] = head - alpha;
  double dot = 0;
  for (size_t i = k; i < rows; i++) {
    dot += a[i * columns + k] * b[i];
  }
  column_products(a, rows, columns, k, part);
  for (size_t j = k + 1; j < columns; j++) {
    part[j] /= scale;
  }
  for (size_t i = k; i < rows; i++) {
    double *row = a + i * columns, lead = row[k];
    b[i] -= dot / scale * lead;
    for (size_t j = k + 1; j < columns; j++) {
      row[j] -= part[j] * lead;
    }
  }
  a[k * columns + k] = alpha;
}

static void back_substitute(const double *r, const double *b, size_t columns, double *x)
{
  for (size_t k = columns; k-- > 0;) {
    double sum = b[k];
    for (size_t j = k + 1; j < columns; j++) {
      sum -= r[k * columns + j] * x[j];
    }
    x[k] = sum / r[k * columns + k];
  }
}

/* Brings the columns to norms of 1/2 to 1 by powers of two, which rounds nothing, so that the units of the unknowns decide
 * neither the order of pivots nor what counts as dependent. exponent[j]: column j was divided by 2^that. */
static void scale_columns(double *a, size_t rows, size_t columns, int *exponent)
{
  for (size_t j = 0; j < columns; j++) {
    frexp(sqrt(column_norm2(a, rows, columns, 0, j)), &exponent[j]);
    for (size_t i = 0; i < rows; i++) {
      a[i * columns + j] = ldexp(a[i * columns + j], -exponent[j]);
    }
  }
}

static void unscale(const int *exponent, size_t n, double *x, double *covariance)
{
  for (size_t i = 0; i < n; i++) {
    x[i] = ldexp(x[i], -exponent[i]);
    for (size_t j = 0; covariance && j < n; j++) {
      covariance[i * n + j] = ldexp(covariance[i * n + j], -exponent[i] - exponent[j]);
    }
  }
}

/* (r'r)^-1 in the caller's column order; `work` holds columns x columns and two vectors. */
static void invert_gram(const double *r, const size_t *order, size_t n, double *covariance, double *work)
{
  double *inverse = work, *unit = work + n * n, *column = unit + n;

  for (size_t k = 0; k < n; k++) {
    memset(unit, 0, n * sizeof *unit);
    unit[k] = 1;
    back_substitute(r, unit, n, column);
    for (size_t i = 0; i < n; i++) {
      inverse[i * n + k] = column[i];
    }
  }
  for (size_t i = 0; i < n; i++) {
    for (size_t j = 0; j < n; j++) {
      double sum = 0;
      for (size_t k = 0; k < n; k++) {
        sum += inverse[i * n + k] * inverse[j * n + k];
      }
      covariance[order[i] * n + order[j]] = sum;
    }
  }
}

/* Brings a to triangular form; false when its columns depend. `row`: room for one. */
static bool triangulate(double *a, double *b, size_t rows, size_t columns, size_t *order, double *row)
{
  double first = 0;

  for (size_t k = 0; k < columns; k++) {
    order[k] = k;
  }
  for (size_t k = 0; k < columns; k++) {
    swap_columns(a, rows, columns, order, k, largest_column(a, rows, columns, k, row));
    reflect(a, b, rows, columns, k, row);
    double pivot = fabs(a[k * columns + k]);
    first = k == 0 ? pivot : first;
    if (!(pivot > 1e-12 * first)) {
      return false;
    }
  }
  return true;
}

bool solve_linear(size_t rows, size_t columns, double *a, double *b, double *x, double *covariance,
                  struct error *error)
{
  size_t n = columns;
  size_t *order = calloc(n, sizeof *order);
  int *exponent = calloc(n, sizeof *exponent);
  double *work = calloc(n * n + 3 * n, sizeof *work);
  bool done = false;

  if (!order || !exponent || !work) {
    error_no_memory(error, "a least-squares fit");
    goto end;
  }
  scale_columns(a, rows, columns, exponent);
  if (rows < columns || !triangulate(a, b, rows, columns, order, work)) {
    error_set(error, ERROR_UNMEASURABLE, "rank", "the fit has too few independent data");
    goto end;
  }
  double *permuted = work + n * n + 2 * n;
  back_substitute(a, b, n, permuted);
  for (size_t k = 0; k < n; k++) {
    x[order[k]] = permuted[k];
  }
  if (covariance) {
    invert_gram(a, order, n, covariance, work);
  }
  unscale(exponent, n, x, covariance);
  done = true;
end:
  free(work);
  free(exponent);
  free(order);
  return done;
}

/* What one Levenberg-Marquardt run owns. The Jacobian has a damping row below for each parameter. */
struct fit {
  const struct solve_problem *problem;
  double *residual, *moved, *trial, *step, *jacobian, *system, *right;
};

static double sum_of_squares(const double *r, size_t n)
{
  double sum = 0;

  for (size_t i = 0; i < n; i++) {
    sum += r[i] * r[i];
  }
  return sum;
}

static bool differentiate(struct fit *fit, double *x)
{
  size_t n = fit->problem->parameters, m = fit->problem->residuals;

  for (size_t j = 0; j < n; j++) {
    double kept = x[j], h = 1e-6 * fmax(fabs(kept), 0.1);
    x[j] = kept + h;
    bool inside = fit->problem->evaluate(x, fit->moved, fit->problem->context);
    if (!inside) { /* at the border of the domain: look the other way */
      h = -h;
      x[j] = kept + h;
      inside = fit->problem->evaluate(x, fit->moved, fit->problem->context);
    }
    x[j] = kept;
    if (!inside) {
      return false;
    }
    for (size_t i = 0; i < m; i++) {
      fit->jacobian[i * n + j] = (fit->moved[i] - fit->residual[i]) / h;
    }
  }
  return true;
}

/* The step for the damping given (Marquardt's scaling by column norms). */
static bool find_step(struct fit *fit, double damping, struct error *error)
{
  size_t n = fit->problem->parameters, m = fit->problem->residuals;

  memcpy(fit->system, fit->jacobian, m * n * sizeof *fit->system);
  memset(fit->system + m * n, 0, n * n * sizeof *fit->system);
  for (size_t j = 0; j < n; j++) {
    double norm = sqrt(column_norm2(fit->jacobian, m, n, 0, j));
    fit->system[(m + j) * n + j] =
        sqrt(damping) * (norm > 0 ? norm : 1); /* 1 holds an idle unknown in place */
    fit->right[m + j] = 0;
  }
  for (size_t i = 0; i < m; i++) {
    fit->right[i] = -fit->residual[i];
  }
  return solve_linear(m + n, n, fit->system, fit->right, fit->step, NULL, error);
}

/* Tries shorter and shorter steps until one gains; returns the gain as a share of the sum, 0 for none. */
static double improve(struct fit *fit, double *x, double *sum, double *damping)
{
  struct error passed_over; /* a step that can't be had is tried again with more damping */
  size_t n = fit->problem->parameters, m = fit->problem->residuals;

  for (int attempt = 0; attempt < 12; attempt++, *damping *= 8) {
    if (!find_step(fit, *damping, &passed_over)) {
      continue;
    }
    for (size_t j = 0; j < n; j++) {
      fit->trial[j] = x[j] + fit->step[j];
    }
    if (!fit->problem->evaluate(fit->trial, fit->moved, fit->problem->context)) {
      continue;
    }
    double reached = sum_of_squares(fit->moved, m);
    if (reached < *sum) {
      double gain = (*sum - reached) / fmax(*sum, DBL_MIN);
      memcpy(x, fit->trial, n * sizeof *x);
      memcpy(fit->residual, fit->moved, m * sizeof *fit->residual);
      *sum = reached;
      *damping = fmax(*damping / 8, 1e-12);
      return gain;
    }
  }
  return 0;
}

static bool fit_allocate(struct fit *fit, const struct solve_problem *problem)
{
  size_t n = problem->parameters, m = problem->residuals;
  double *block = calloc(2 * m + 2 * n + m * n + (m + n) * n + (m + n), sizeof *block);

  *fit = (struct fit){.problem = problem};
  if (!block) {
    return false;
  }
  fit->residual = block;
  fit->moved = fit->residual + m;
  fit->trial = fit->moved + m;
  fit->step = fit->trial + n;
  fit->jacobian = fit->step + n;
  fit->system = fit->jacobian + m * n;
  fit->right = fit->system + (m + n) * n;
  return true;
}

static bool end_covariance(struct fit *fit, double *x, double *covariance, struct error *error)
{
  if (!differentiate(fit, x)) {
    return error_set(error, ERROR_UNMEASURABLE, "fit-edge",
                     "the fit ended at the edge of what its model allows");
  }
  return solve_linear(fit->problem->residuals, fit->problem->parameters, fit->jacobian, fit->residual,
                      fit->step, covariance, error);
}

bool solve_fit(const struct solve_problem *problem, int rounds, double *x, double *covariance, double *sum,
               struct error *error)
{
  struct fit fit;
  double damping = 1e-3;
  bool done = false;

  if (!fit_allocate(&fit, problem)) {
    return error_no_memory(error, "a fit");
  }
  bool inside = problem->evaluate(x, fit.residual, problem->context);
  *sum = sum_of_squares(fit.residual, problem->residuals);
  if (!inside || !isfinite(*sum)) {
    error_set(error, ERROR_INTERNAL, "fit-start",
              "a fit was started outside its domain; report this with the photo");
    goto end;
  }
  for (int round = 0; round < rounds && differentiate(&fit, x); round++) {
    if (improve(&fit, x, sum, &damping) < 1e-10) {
      break;
    }
  }
  done = !covariance || end_covariance(&fit, x, covariance, error);
end:
  free(fit.residual);
  return done;
}

void solve_cholesky(size_t n, const double *a, double *l)
{
  memset(l, 0, n * n * sizeof *l);
  for (size_t j = 0; j < n; j++) {
    double pivot = a[j * n + j];
    for (size_t k = 0; k < j; k++) {
      pivot -= l[j * n + k] * l[j * n + k];
    }
    if (!(pivot > 1e-13 * fabs(a[j * n + j]))) {
      continue;
    }
    l[j * n + j] = sqrt(pivot);
    for (size_t i = j + 1; i < n; i++) {
      double sum = a[i * n + j];
      for (size_t k = 0; k < j; k++) {
        sum -= l[i * n + k] * l[j * n + k];
      }
      l[i * n + j] = sum / l[j * n + j];
    }
  }
}

double solve_triangles(size_t n, const double *l, double *b)
{
  double log_determinant = 0;

  for (size_t i = 0; i < n; i++) {
    double pivot = l[i * n + i];
    for (size_t k = 0; k < i; k++) {
      b[i] -= l[i * n + k] * b[k];
    }
    b[i] = pivot > 0 ? b[i] / pivot : 0;
    log_determinant += pivot > 0 ? 2 * log(pivot) : 0;
  }
  for (size_t i = n; i-- > 0;) {
    for (size_t k = i + 1; k < n; k++) {
      b[i] -= l[k * n + i] * b[k];
    }
    b[i] = l[i * n + i] > 0 ? b[i] / l[i * n + i] : 0;
  }
  return log_determinant;
}

double solve_between(double (*function)(double x, const void *context), const void *context, double a,
                     double b, int sections, double *at)
{
  const double ratio = 0.6180339887498949;
  double x1 = b - ratio * (b - a), x2 = a + ratio * (b - a);
  double f1 = function(x1, context), f2 = function(x2, context);

  for (int i = 0; i < sections; i++) {
    if (f1 < f2) {
      b = x2, x2 = x1, f2 = f1;
      x1 = b - ratio * (b - a);
      f1 = function(x1, context);
    } else {
      a = x1, x1 = x2, f1 = f2;
      x2 = a + ratio * (b - a);
      f2 = function(x2, context);
    }
  }
  *at = f1 < f2 ? x1 : x2;
  return fmin(f1, f2);
}
