/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/matrix.h"
#include "random.h"
#include "suite.h"

enum { SEED = 17, RUNS = 4000 };

/* Rounding of some thirty operations on numbers of size 1. */
static const double ROUNDING = 1e-14;

static struct vec3 random_vec(struct random *random)
{
  return (struct vec3){{random_normal(random), random_normal(random), random_normal(random)}};
}

static struct mat3 random_mat(struct random *random)
{
  struct mat3 a;

  for (int i = 0; i < 9; i++) {
    a.m[i / 3][i % 3] = random_normal(random);
  }
  return a;
}

static double largest(struct mat3 a)
{
  double most = 0;

  for (int i = 0; i < 9; i++) {
    most = fmax(most, fabs(a.m[i / 3][i % 3]));
  }
  return most;
}

static double distance(struct mat3 a, struct mat3 b)
{
  return largest(mat3_add(a, mat3_scale(b, -1)));
}

START_TEST(vectors_by_hand)
{
  struct vec3 a = {{1, 2, 3}}, b = {{4, -5, 8}};

  ck_assert(vec3_add(a, b).v[1] == -3 && vec3_subtract(a, b).v[2] == -5 && vec3_scale(a, 3).v[2] == 9);
  ck_assert(vec3_multiply(a, b).v[2] == 24 && vec3_divide(b, a).v[1] == -2.5 && vec3_dot(a, b) == 18);
  ck_assert(vec3_is_finite(a) && !vec3_is_finite((struct vec3){{0, (double)NAN, 0}}));
  ck_assert(!vec3_is_finite((struct vec3){{0, 0, -(double)INFINITY}}));
}
END_TEST

START_TEST(matrices_by_hand)
{
  struct mat3 a = {{{1, 2, 3}, {4, 5, 6}, {7, 8, 10}}}, b = {{{0, 1, 0}, {0, 0, 2}, {3, 0, 0}}};
  struct mat3 product = {{{9, 1, 4}, {18, 4, 10}, {30, 7, 16}}};
  struct mat3 inverse = {{{-2.0 / 3, -4.0 / 3, 1}, {-2.0 / 3, 11.0 / 3, -2}, {1, -2, 1}}}, found;
  struct vec3 image = mat3_apply(a, (struct vec3){{1, 0, -1}});

  ck_assert(distance(mat3_multiply(a, b), product) == 0);
  ck_assert(image.v[0] == -2 && image.v[1] == -2 && image.v[2] == -3);
  ck_assert(mat3_transpose(a).m[0][2] == 7);
  ck_assert(mat3_outer((struct vec3){{1, 2, 3}}, (struct vec3){{4, 5, 6}}).m[2][0] == 12);
  ck_assert(mat3_invert(a, &found));
  ck_assert_double_lt(distance(found, inverse), 10 * ROUNDING); /* condition about 90 */
  ck_assert(distance(mat3_multiply(mat3_identity(), a), a) == 0);
}
END_TEST

START_TEST(inverse_times_matrix_is_one)
{
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    struct mat3 a = random_mat(&random), inverse;
    ck_assert(mat3_invert(a, &inverse));
    double condition = largest(a) * largest(inverse);
    ck_assert_msg(distance(mat3_multiply(a, inverse), mat3_identity()) < 100 * ROUNDING * condition,
                  "seed %d run %d", SEED, run);
  }
}
END_TEST

/* Units of rows or columns, as of a covariance of unlike things, don't make a matrix singular. */
START_TEST(inverse_does_not_mind_units)
{
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    struct vec3 left, right;
    struct mat3 a = random_mat(&random), plain, scaled;
    for (int i = 0; i < 3; i++) {
      left.v[i] = ldexp(1, random_below(&random, 80) - 40);
      right.v[i] = ldexp(1, random_below(&random, 80) - 40);
    }
    struct mat3 b = mat3_multiply(mat3_multiply(mat3_diagonal(left), a), mat3_diagonal(right));
    ck_assert(mat3_invert(a, &plain));
    ck_assert_msg(mat3_invert(b, &scaled), "seed %d run %d", SEED, run);
    struct mat3 back = mat3_multiply(mat3_multiply(mat3_diagonal(right), scaled), mat3_diagonal(left));
    ck_assert_msg(distance(back, plain) <= ROUNDING * largest(plain) * largest(plain) * 10,
                  "seed %d run %d: %g", SEED, run, distance(back, plain));
  }
}
END_TEST

START_TEST(singular_matrices_have_no_inverse)
{
  struct random random = random_start(SEED);
  struct mat3 untouched = mat3_identity();

  for (int run = 0; run < RUNS; run++) {
    struct vec3 a = random_vec(&random), b = random_vec(&random);
    struct mat3 plane = mat3_add(mat3_outer(a, random_vec(&random)), mat3_outer(b, random_vec(&random)));
    ck_assert_msg(!mat3_invert(plane, &untouched), "seed %d run %d", SEED, run);
  }
  ck_assert(!mat3_invert((struct mat3){{{0}}}, &untouched));
  ck_assert(!mat3_invert((struct mat3){{{1, 0, 0}, {0, (double)NAN, 0}, {0, 0, 1}}}, &untouched));
  ck_assert(!mat3_invert((struct mat3){{{1, 0, 0}, {0, (double)INFINITY, 0}, {0, 0, 1}}}, &untouched));
  ck_assert(!mat3_invert((struct mat3){{{1, 2, 3}, {0, 0, 0}, {4, 5, 6}}}, &untouched));
  ck_assert(distance(untouched, mat3_identity()) == 0);
}
END_TEST

/* A matrix of rank 2 can lack positive semidefiniteness by its own rounding e, and without pivoting the gap grows to its
 * root at worst: a11 = 0, not 1e-16, beside a21 = 1e-9 and a22 = 0.01. */
static const double ROOT_OF_ROUNDING = 1.5e-8, FULL_RANK = 1e-13;

/* Covariances of full rank, and of rank 2 and 1, where rounding makes pivots that ought to be 0. */
START_TEST(cholesky_gives_the_matrix_back)
{
  struct random random = random_start(SEED + (uint64_t)_i);

  double worst = 0;

  for (int run = 0; run < 50 * RUNS; run++) {
    struct mat3 a = {{{0}}};
    for (int term = 0; term < _i; term++) {
      struct vec3 v = vec3_scale(random_vec(&random), pow(10, random_between(&random, -3, 3)));
      a = mat3_add(a, mat3_outer(v, v));
    }
    struct mat3 l = mat3_cholesky(a), back = mat3_multiply(l, mat3_transpose(l));
    double above = fabs(l.m[0][1]) + fabs(l.m[0][2]) + fabs(l.m[1][2]);
    worst = fmax(worst, above + distance(back, a) / largest(a));
  }
  printf("rank %d, seed %d: off by at most %.1e\n", _i < 3 ? _i : 3, SEED + _i, worst);
  ck_assert_double_le(worst, _i == 2 ? ROOT_OF_ROUNDING : FULL_RANK);
}
END_TEST

START_TEST(cholesky_of_rounding_below_zero_is_finite)
{
  struct mat3 l = mat3_cholesky((struct mat3){{{1, 1, 0}, {1, 1 - DBL_EPSILON, 0}, {0, 0, -1e-18}}});

  ck_assert(l.m[0][0] == 1 && l.m[1][0] == 1 && l.m[1][1] == 0 && l.m[2][2] == 0);
}
END_TEST

static void assert_eigen(struct mat3 a, const char *what, int run)
{
  struct mat3 vectors;
  struct vec3 values = mat3_eigen(a, &vectors);
  struct mat3 back = mat3_congruence(vectors, mat3_diagonal(values));

  ck_assert_msg(values.v[0] >= values.v[1] && values.v[1] >= values.v[2], "%s, run %d", what, run);
  ck_assert_msg(distance(back, a) <= 10 * ROUNDING * fmax(largest(a), DBL_MIN), "%s, run %d: off by %g", what,
                run, distance(back, a));
  ck_assert_msg(distance(mat3_multiply(mat3_transpose(vectors), vectors), mat3_identity()) < 10 * ROUNDING,
                "%s, run %d: not orthonormal", what, run);
}

START_TEST(eigenvectors_give_the_matrix_back)
{
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    struct mat3 a = random_mat(&random);
    a = mat3_add(a, mat3_transpose(a));
    assert_eigen(a, "random", run);
    struct vec3 scale = {
        {1, pow(10, random_between(&random, -8, 0)), pow(10, random_between(&random, -8, 0))}};
    assert_eigen(mat3_congruence(mat3_diagonal(scale), a), "scaled", run);
    struct vec3 v = random_vec(&random);
    assert_eigen(mat3_add(mat3_identity(), mat3_outer(v, v)), "two values alike", run);
  }
  assert_eigen(mat3_identity(), "identity", 0);
  assert_eigen((struct mat3){{{0}}}, "zero", 0);
}
END_TEST

/* x^3 - 6 x^2 + 9 x - 4 + ... of the classic tridiagonal matrix 2, -1: values 2 - 2 cos(k pi / 4). */
START_TEST(eigenvalues_by_formula)
{
  struct mat3 vectors;
  struct vec3 values = mat3_eigen((struct mat3){{{2, -1, 0}, {-1, 2, -1}, {0, -1, 2}}}, &vectors);

  ck_assert_double_eq_tol(values.v[0], 2 + sqrt(2), ROUNDING);
  ck_assert_double_eq_tol(values.v[1], 2, ROUNDING);
  ck_assert_double_eq_tol(values.v[2], 2 - sqrt(2), ROUNDING);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("base/matrix");
  TCase *cases = tcase_create("matrix");

  tcase_set_timeout(cases, 60);
  tcase_add_test(cases, vectors_by_hand);
  tcase_add_test(cases, matrices_by_hand);
  tcase_add_test(cases, inverse_times_matrix_is_one);
  tcase_add_test(cases, inverse_does_not_mind_units);
  tcase_add_test(cases, singular_matrices_have_no_inverse);
  tcase_add_loop_test(cases, cholesky_gives_the_matrix_back, 1, 5);
  tcase_add_test(cases, cholesky_of_rounding_below_zero_is_finite);
  tcase_add_test(cases, eigenvectors_give_the_matrix_back);
  tcase_add_test(cases, eigenvalues_by_formula);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
