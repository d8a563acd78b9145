/* SPDX-License-Identifier: MIT */
/* Least squares, linear and not. Dense and small: tens of unknowns, thousands of rows at most. Our own
 * Householder code rather than a LAPACK, because a BLAS can be exchanged on a machine and then changes
 * last digits, and the same photo must give the same bytes everywhere. */
#ifndef TAWNY_BASE_SOLVE_H
#define TAWNY_BASE_SOLVE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Minimises |a x - b|. `a` is rows x columns, row after row, rows >= columns; both `a` and `b` are
 * overwritten. Householder QR with column pivoting (Golub & Van Loan, Matrix Computations, 5.4): no
 * normal equations, which would square the condition number.
 * covariance: columns x columns, (a'a)^-1, or NULL. Multiply by the residual variance if rows were not
 * already scaled to unit variance.
 * Fails with ERROR_UNMEASURABLE "rank" when the columns, each taken in its own unit, are dependent to 1e-12. */
bool solve_linear(size_t rows, size_t columns, double *a, double *b, double *x, double *covariance,
                  struct error *error);

/* A problem for solve_fit: residuals already divided by their standard deviations, priors as further
 * residuals. */
struct solve_problem {
  size_t parameters;
  size_t residuals; /* >= parameters */
  /* Fills `residual` from `x`. Returns false where x is outside the model's domain; the step is then
   * shortened. Must be smooth in x. */
  bool (*evaluate)(const double *x, double *residual, void *context);
  void *context;
};

/* Minimises the sum of squared residuals by Levenberg-Marquardt with forward differences (step 1e-6 of
 * max(|x|, 0.1)), from the x given, at most `rounds` rounds; stops when a round gains less than 1e-10
 * of the sum. covariance as in solve_linear, at the end point; NULL if not wanted.
 * *sum_of_squares is the final sum. Fails when the start is outside the domain ("fit-start"), when the covariance is
 * wanted and columns depend ("rank") or the end point has no room to either side ("fit-edge"). */
bool solve_fit(const struct solve_problem *problem, int rounds, double *x, double *covariance,
               double *sum_of_squares, struct error *error);

/* Lower triangle l (n x n, row after row) with l l' = a for a symmetric, positive semidefinite a; a pivot that is
 * zero or negative from rounding gives a zero column. */
void solve_cholesky(size_t n, const double *a, double *l);

/* Solves l l' x = b in place, l as solve_cholesky() leaves it; an unknown whose pivot is zero becomes 0. Returns the logarithm of the
 * determinant of l l' over the other pivots. */
double solve_triangles(size_t n, const double *l, double *b);

/* The least of a function of one unknown with one valley between a and b, by `sections` golden sections (Kiefer 1953); the ends
 * themselves are not tried. Returns it, `*at` is its place. */
double solve_between(double (*function)(double x, const void *context), const void *context, double a,
                     double b, int sections, double *at);

#endif
