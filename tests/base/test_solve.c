/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/solve.h"
#include "random.h"
#include "suite.h"

/* J. W. Longley (1967), "An appraisal of least squares programs for the electronic computer from the point of view of the
 * user", J. Amer. Statist. Assoc. 62: total derived employment, GNP deflator, GNP, unemployment, armed forces, population,
 * year; with the certified values of the NIST Statistical Reference Datasets. Data and values are from memory; agreement to
 * nine digits, at a condition of 5e9, is possible only if both are right. */
enum { LONGLEY_ROWS = 16, LONGLEY_UNKNOWNS = 7 };
static const double LONGLEY[LONGLEY_ROWS][LONGLEY_UNKNOWNS] = {
    {60323, 83.0, 234289, 2356, 1590, 107608, 1947},  {61122, 88.5, 259426, 2325, 1456, 108632, 1948},
    {60171, 88.2, 258054, 3682, 1616, 109773, 1949},  {61187, 89.5, 284599, 3351, 1650, 110929, 1950},
    {63221, 96.2, 328975, 2099, 3099, 112075, 1951},  {63639, 98.1, 346999, 1932, 3594, 113270, 1952},
    {64989, 99.0, 365385, 1870, 3547, 115094, 1953},  {63761, 100.0, 363112, 3578, 3350, 116219, 1954},
    {66019, 101.2, 397469, 2904, 3048, 117388, 1955}, {67857, 104.6, 419180, 2822, 2857, 118734, 1956},
    {68169, 108.4, 442769, 2936, 2798, 120445, 1957}, {66513, 110.8, 444546, 4681, 2637, 121950, 1958},
    {68655, 112.6, 482704, 3813, 2552, 123366, 1959}, {69564, 114.2, 502601, 3931, 2514, 125368, 1960},
    {69331, 115.7, 518173, 4806, 2572, 127852, 1961}, {70551, 116.9, 554894, 4007, 2827, 130081, 1962}};
static const struct {
  double estimate, deviation;
} LONGLEY_CERTIFIED[LONGLEY_UNKNOWNS] = {{-3482258.63459582, 890420.383607373},
                                         {15.0618722713733, 84.9149257747669},
                                         {-0.358191792925910e-01, 0.334910077722432e-01},
                                         {-2.02022980381683, 0.488399681651699},
                                         {-1.03322686717359, 0.214274163161675},
                                         {-0.511041056535807e-01, 0.226073200069370},
                                         {1829.15146461355, 455.478499142212}};
static const double LONGLEY_RESIDUAL_DEVIATION = 304.854073561965;

/* Rounding 1.1e-16 times the condition 5e9 of the columns as given; with their own units it is far less. */
static const double LONGLEY_RELATIVE = 1e-9;

static void assert_near(double found, double certified, double relative, const char *what, size_t k)
{
  ck_assert_msg(fabs(found - certified) <= relative * fabs(certified), "%s %zu: %.15g, not %.15g", what, k,
                found, certified);
}

START_TEST(longley_s_figures_are_met)
{
  double a[LONGLEY_ROWS * LONGLEY_UNKNOWNS], b[LONGLEY_ROWS], x[LONGLEY_UNKNOWNS];
  double covariance[LONGLEY_UNKNOWNS * LONGLEY_UNKNOWNS], sum = 0;
  struct error error;

  for (size_t i = 0; i < LONGLEY_ROWS; i++) {
    memcpy(a + i * LONGLEY_UNKNOWNS, LONGLEY[i], sizeof LONGLEY[i]);
    a[i * LONGLEY_UNKNOWNS] = 1;
    b[i] = LONGLEY[i][0];
  }
  ck_assert(solve_linear(LONGLEY_ROWS, LONGLEY_UNKNOWNS, a, b, x, covariance, &error));
  for (size_t i = 0; i < LONGLEY_ROWS; i++) {
    double rest = LONGLEY[i][0] - x[0];
    for (size_t k = 1; k < LONGLEY_UNKNOWNS; k++) {
      rest -= x[k] * LONGLEY[i][k];
    }
    sum += rest * rest;
  }
  double deviation = sqrt(sum / (LONGLEY_ROWS - LONGLEY_UNKNOWNS));
  assert_near(deviation, LONGLEY_RESIDUAL_DEVIATION, LONGLEY_RELATIVE, "residual", 0);
  for (size_t k = 0; k < LONGLEY_UNKNOWNS; k++) {
    assert_near(x[k], LONGLEY_CERTIFIED[k].estimate, LONGLEY_RELATIVE, "estimate", k);
    assert_near(deviation * sqrt(covariance[k * LONGLEY_UNKNOWNS + k]), LONGLEY_CERTIFIED[k].deviation,
                LONGLEY_RELATIVE, "deviation", k);
  }
}
END_TEST

static double random_matrix(struct random *random, double *a, size_t count)
{
  double sum = 0;

  for (size_t i = 0; i < count; i++) {
    a[i] = random_normal(random);
    sum += a[i] * a[i];
  }
  return sum;
}

/* What defines the solution: the residual stands upright on every column; and covariance times a'a is 1. */
START_TEST(residual_is_normal_to_the_columns)
{
  enum { SEED = 23, RUNS = 300, MOST = 12 };
  static const double ROUNDING = 1e-10; /* conditions up to some thousands */
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    size_t n = 1 + (size_t)random_below(&random, MOST), m = n + (size_t)random_below(&random, 20);
    double a[32 * MOST], kept[32 * MOST], b[32], target[32], x[MOST], covariance[MOST * MOST];
    struct error error;
    random_matrix(&random, a, m * n);
    random_matrix(&random, b, m);
    memcpy(kept, a, sizeof kept);
    memcpy(target, b, sizeof target);
    ck_assert_msg(solve_linear(m, n, a, b, x, covariance, &error), "seed %d run %d", SEED, run);
    for (size_t j = 0; j < n; j++) {
      double upright = 0;
      for (size_t i = 0; i < m; i++) {
        double rest = target[i];
        for (size_t k = 0; k < n; k++) {
          rest -= kept[i * n + k] * x[k];
        }
        upright += rest * kept[i * n + j];
      }
      ck_assert_msg(fabs(upright) < ROUNDING, "seed %d run %d: %g", SEED, run, upright);
      for (size_t i = 0; i < n; i++) {
        double one = 0;
        for (size_t k = 0; k < n; k++) {
          for (size_t row = 0; row < m; row++) {
            one += covariance[i * n + k] * kept[row * n + k] * kept[row * n + j];
          }
        }
        ck_assert_msg(fabs(one - (i == j)) < 1e4 * ROUNDING, "seed %d run %d: %g", SEED, run, one);
      }
    }
  }
}
END_TEST

/* Hilbert's matrix of 6, condition 1.5e7, right side its row sums: the solution is all ones. */
START_TEST(ill_conditioned_columns_are_solved)
{
  enum { N = 6 };
  double a[N * N], b[N] = {0}, x[N];
  struct error error;

  for (size_t i = 0; i < N; i++) {
    for (size_t j = 0; j < N; j++) {
      a[i * N + j] = 1.0 / (double)(i + j + 1);
      b[i] += a[i * N + j];
    }
  }
  ck_assert(solve_linear(N, N, a, b, x, NULL, &error));
  for (size_t k = 0; k < N; k++) {
    ck_assert_double_eq_tol(x[k], 1, 1.5e7 * 10 * DBL_EPSILON);
  }
}
END_TEST

/* The same fit in other units gives the same numbers in those units, to the last digit. */
START_TEST(units_of_the_unknowns_do_not_matter)
{
  enum { M = 8, N = 3, SEED = 29 };
  static const int EXPONENTS[N] = {0, 60, -60};
  struct random random = random_start(SEED);
  double a[M * N], scaled[M * N], b[M], c[M], x[N], y[N], covariance[N * N], other[N * N];
  struct error error;

  random_matrix(&random, a, M * N);
  random_matrix(&random, b, M);
  memcpy(c, b, sizeof c);
  for (size_t i = 0; i < M * N; i++) {
    scaled[i] = ldexp(a[i], EXPONENTS[i % N]);
  }
  ck_assert(solve_linear(M, N, a, b, x, covariance, &error));
  ck_assert_msg(solve_linear(M, N, scaled, c, y, other, &error), "%s", error.text);
  for (size_t k = 0; k < N; k++) {
    ck_assert_double_eq(ldexp(y[k], EXPONENTS[k]), x[k]);
    for (size_t j = 0; j < N; j++) {
      ck_assert_double_eq(ldexp(other[k * N + j], EXPONENTS[k] + EXPONENTS[j]), covariance[k * N + j]);
    }
  }
}
END_TEST

static const struct {
  const char *name;
  size_t rows, columns;
  double a[6];
} DEPENDENT[] = {
    {"two columns alike", 3, 2, {1, 1, 2, 2, 3, 3}},
    {"a column of zeros", 3, 2, {1, 0, 2, 0, 3, 0}},
    {"all zeros", 2, 2, {0}},
    {"fewer rows than columns", 2, 3, {1, 0, 0, 0, 1, 0}},
    {"alike to 1e-13", 3, 2, {1, 1 + 1e-13, 2, 2, 3, 3}},
    {"not a number", 3, 2, {1, 0, 0, (double)NAN, 0, 1}},
    {"infinite", 3, 2, {1, 0, 0, (double)INFINITY, 0, 1}},
};

START_TEST(dependent_columns_are_refused)
{
  double a[6], b[3] = {1, 2, 3}, x[3];
  struct error error = {0};

  memcpy(a, DEPENDENT[_i].a, sizeof a);
  ck_assert_msg(!solve_linear(DEPENDENT[_i].rows, DEPENDENT[_i].columns, a, b, x, NULL, &error), "%s",
                DEPENDENT[_i].name);
  ck_assert_str_eq(error.code, "rank");
  ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
}
END_TEST

/* H. H. Rosenbrock (1960): residuals 10 (y - x^2) and 1 - x, from (-1.2, 1) to the least at (1, 1). */
static bool rosenbrock(const double *x, double *residual, void *context)
{
  (void)context;
  residual[0] = 10 * (x[1] - x[0] * x[0]);
  residual[1] = 1 - x[0];
  return true;
}

START_TEST(rosenbrock_s_valley_is_walked_through)
{
  struct solve_problem problem = {2, 2, rosenbrock, NULL};
  double x[2] = {-1.2, 1}, sum;
  struct error error;

  ck_assert(solve_fit(&problem, 200, x, NULL, &sum, &error));
  ck_assert_double_eq_tol(x[0], 1, 1e-8);
  ck_assert_double_eq_tol(x[1], 1, 1e-8);
  ck_assert_double_lt(sum, 1e-18);
}
END_TEST

/* NIST Statistical Reference Datasets, Misra1a: y = b1 (1 - exp(-b2 x)), certified values and both published starts (from
 * memory; agreement in six digits is possible only if data and values are right). */
enum { MISRA_ROWS = 14 };
static const double MISRA_X[MISRA_ROWS] = {77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                                           378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
static const double MISRA_Y[MISRA_ROWS] = {10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                                           44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};

static bool misra(const double *b, double *residual, void *context)
{
  (void)context;
  for (int i = 0; i < MISRA_ROWS; i++) {
    residual[i] = MISRA_Y[i] - b[0] * (1 - exp(-b[1] * MISRA_X[i]));
  }
  return true;
}

/* Differences instead of derivatives, a step of 1e-7 on b2 = 5.5e-4, and the end at a gain of 1e-10 of the sum leave the
 * estimates right to six digits and their deviations to three. */
START_TEST(misra_s_figures_are_met)
{
  static const double STARTS[2][2] = {{500, 0.0001}, {250, 0.0005}};
  struct solve_problem problem = {2, MISRA_ROWS, misra, NULL};
  double b[2] = {STARTS[_i][0], STARTS[_i][1]}, covariance[4], sum;
  struct error error;

  ck_assert(solve_fit(&problem, 200, b, covariance, &sum, &error));
  double deviation = sqrt(sum / (MISRA_ROWS - 2));
  assert_near(b[0], 2.3894212918e+02, 1e-6, "b", 1);
  assert_near(b[1], 5.5015643181e-04, 1e-6, "b", 2);
  assert_near(sum, 1.2455138894e-01, 1e-9, "sum", 0);
  assert_near(deviation * sqrt(covariance[0]), 2.7070075241e+00, 1e-3, "deviation", 1);
  assert_near(deviation * sqrt(covariance[3]), 7.2668688436e-06, 1e-3, "deviation", 2);
}
END_TEST

/* log x = 0 from far away: full steps leave the domain x > 0 and have to be shortened. */
static bool logarithm(const double *x, double *residual, void *context)
{
  (void)context;
  residual[0] = x[0] > 0 ? log(x[0]) : 0;
  return x[0] > 0;
}

START_TEST(steps_out_of_the_domain_are_shortened)
{
  struct solve_problem problem = {1, 1, logarithm, NULL};
  double x = 50, sum, covariance;
  struct error error = {0};

  ck_assert(solve_fit(&problem, 100, &x, &covariance, &sum, &error));
  ck_assert_double_eq_tol(x, 1, 1e-9);
  ck_assert_double_eq_tol(covariance, 1, 1e-5);
  x = -1;
  ck_assert(!solve_fit(&problem, 100, &x, NULL, &sum, &error));
  ck_assert_str_eq(error.code, "fit-start");
  ck_assert_int_eq(error.kind, ERROR_INTERNAL);
}
END_TEST

static bool not_a_number(const double *x, double *residual, void *context)
{
  (void)context;
  residual[0] = sqrt(x[0]);
  return true;
}

START_TEST(a_start_without_a_number_is_refused)
{
  struct solve_problem problem = {1, 1, not_a_number, NULL};
  double x = -1, sum;
  struct error error = {0};

  ck_assert(!solve_fit(&problem, 10, &x, NULL, &sum, &error));
  ck_assert_str_eq(error.code, "fit-start");
}
END_TEST

/* Residuals that never depend on the second parameter. */
static bool one_idle(const double *x, double *residual, void *context)
{
  (void)context;
  residual[0] = x[0] - 3;
  residual[1] = 2 * x[0] - 6;
  return true;
}

START_TEST(idle_parameters_have_no_covariance)
{
  struct solve_problem problem = {2, 2, one_idle, NULL};
  double x[2] = {0, 5}, covariance[4], sum;
  struct error error = {0};

  ck_assert(solve_fit(&problem, 50, x, NULL, &sum, &error));
  ck_assert_double_eq_tol(x[0], 3, 1e-9);
  ck_assert_double_eq_tol(x[1], 5, 1e-9); /* rounding of steps that ought to be 0 */
  ck_assert(!solve_fit(&problem, 50, x, covariance, &sum, &error));
  ck_assert_str_eq(error.code, "rank");
}
END_TEST

/* A domain of one point: nothing to differentiate. */
static bool one_point(const double *x, double *residual, void *context)
{
  (void)context;
  residual[0] = 1;
  return x[0] == 2;
}

START_TEST(an_end_without_room_is_told)
{
  struct solve_problem problem = {1, 1, one_point, NULL};
  double x = 2, covariance, sum;
  struct error error = {0};

  ck_assert(!solve_fit(&problem, 10, &x, &covariance, &sum, &error));
  ck_assert_str_eq(error.code, "fit-edge");
  ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
}
END_TEST

static double gamma_of(double x, const void *context)
{
  (void)context;
  return tgamma(x);
}

/* The gamma function is least at 1.461632 with 0.885603 (Abramowitz & Stegun 1964, 6.1); flat at its foot, so the place is less sure. */
START_TEST(the_least_between_two_ends_is_found)
{
  double at, least = solve_between(gamma_of, NULL, 0.5, 3, 40, &at);

  ck_assert_double_eq_tol(at, 1.461632, 1e-6);
  ck_assert_double_eq_tol(least, 0.885603, 1e-6);
}
END_TEST

/* The Hilbert matrix of 4 rows has the determinant 1/6048000, and the rows of its inverse, 16 -120 240 -140 and so on, sum to -4, 60,
 * -180, 140 (Choi 1983, Amer. Math. Monthly 90, 301-312; from memory). Its condition is 15514, so that of 16 digits 11 are left. */
START_TEST(hilbert_s_matrix_is_solved_by_its_triangle)
{
  const double sums[4] = {-4, 60, -180, 140};
  double a[16], l[16], x[4] = {1, 1, 1, 1};

  for (int i = 0; i < 16; i++) {
    a[i] = 1.0 / (i / 4 + i % 4 + 1);
  }
  solve_cholesky(4, a, l);
  ck_assert_double_eq_tol(solve_triangles(4, l, x), -log(6048000), 1e-10);
  for (int i = 0; i < 4; i++) {
    ck_assert_double_eq_tol(x[i], sums[i], 1e-9);
  }
}
END_TEST

/* Two unknowns that are one: the second has no pivot, and is left at 0. */
START_TEST(an_unknown_without_a_pivot_is_left_at_zero)
{
  const double a[9] = {4, 4, 0, 4, 4, 0, 0, 0, 2};
  double l[9], x[3] = {8, 8, 6};

  solve_cholesky(3, a, l);
  ck_assert_double_eq_tol(solve_triangles(3, l, x), log(8), 1e-12);
  ck_assert_double_eq_tol(x[0], 2, 1e-12);
  ck_assert_double_eq(x[1], 0);
  ck_assert_double_eq_tol(x[2], 3, 1e-12);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("base/solve");
  TCase *cases = tcase_create("solve");

  tcase_add_test(cases, longley_s_figures_are_met);
  tcase_add_test(cases, residual_is_normal_to_the_columns);
  tcase_add_test(cases, ill_conditioned_columns_are_solved);
  tcase_add_test(cases, the_least_between_two_ends_is_found);
  tcase_add_test(cases, hilbert_s_matrix_is_solved_by_its_triangle);
  tcase_add_test(cases, an_unknown_without_a_pivot_is_left_at_zero);
  tcase_add_test(cases, units_of_the_unknowns_do_not_matter);
  tcase_add_loop_test(cases, dependent_columns_are_refused, 0, sizeof DEPENDENT / sizeof *DEPENDENT);
  tcase_add_test(cases, rosenbrock_s_valley_is_walked_through);
  tcase_add_loop_test(cases, misra_s_figures_are_met, 0, 2);
  tcase_add_test(cases, steps_out_of_the_domain_are_shortened);
  tcase_add_test(cases, a_start_without_a_number_is_refused);
  tcase_add_test(cases, idle_parameters_have_no_covariance);
  tcase_add_test(cases, an_end_without_room_is_told);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
