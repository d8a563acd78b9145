/* SPDX-License-Identifier: MIT */
/* Vectors and matrices of three, handed by value. Rows come first: m[row][column], and a matrix acts
 * on a column vector from the left. */
#ifndef TAWNY_BASE_MATRIX_H
#define TAWNY_BASE_MATRIX_H

#include <stdbool.h>

struct vec3 {
  double v[3];
};

struct mat3 {
  double m[3][3];
};

struct vec3 vec3_add(struct vec3 a, struct vec3 b);
struct vec3 vec3_subtract(struct vec3 a, struct vec3 b);
struct vec3 vec3_scale(struct vec3 a, double factor);
struct vec3 vec3_multiply(struct vec3 a, struct vec3 b); /* element by element */
struct vec3 vec3_divide(struct vec3 a, struct vec3 b);   /* element by element */
double vec3_dot(struct vec3 a, struct vec3 b);
bool vec3_is_finite(struct vec3 a);

struct mat3 mat3_identity(void);
struct mat3 mat3_diagonal(struct vec3 d);
struct mat3 mat3_add(struct mat3 a, struct mat3 b);
struct mat3 mat3_scale(struct mat3 a, double factor);
struct mat3 mat3_multiply(struct mat3 a, struct mat3 b);
struct mat3 mat3_transpose(struct mat3 a);
struct mat3 mat3_outer(struct vec3 a, struct vec3 b); /* a b' */
struct vec3 mat3_apply(struct mat3 a, struct vec3 b);

/* j c j': how a covariance c goes through a linear map j. */
struct mat3 mat3_congruence(struct mat3 j, struct mat3 c);

/* False, and *inverse untouched, when the matrix is singular to working precision or not finite. */
bool mat3_invert(struct mat3 a, struct mat3 *inverse);

/* Lower triangle l with l l' = a for a symmetric, positive semidefinite a; negative pivots from rounding
 * count as zero. */
struct mat3 mat3_cholesky(struct mat3 a);

/* Eigenvalues of a symmetric matrix in falling order and unit eigenvectors in the columns of *vectors
 * (cyclic Jacobi rotations). */
struct vec3 mat3_eigen(struct mat3 a, struct mat3 *vectors);

#endif
