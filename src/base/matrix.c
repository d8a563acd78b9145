/* SPDX-License-Identifier: MIT */
#include "base/matrix.h"

#include <float.h>
#include <math.h>

struct vec3 vec3_add(struct vec3 a, struct vec3 b)
{
  return (struct vec3){{a.v[0] + b.v[0], a.v[1] + b.v[1], a.v[2] + b.v[2]}};
}

struct vec3 vec3_subtract(struct vec3 a, struct vec3 b)
{
  return (struct vec3){{a.v[0] - b.v[0], a.v[1] - b.v[1], a.v[2] - b.v[2]}};
}

struct vec3 vec3_scale(struct vec3 a, double factor)
{
  return (struct vec3){{a.v[0] * factor, a.v[1] * factor, a.v[2] * factor}};
}

struct vec3 vec3_multiply(struct vec3 a, struct vec3 b)
{
  return (struct vec3){{a.v[0] * b.v[0], a.v[1] * b.v[1], a.v[2] * b.v[2]}};
}

struct vec3 vec3_divide(struct vec3 a, struct vec3 b)
{
  return (struct vec3){{a.v[0] / b.v[0], a.v[1] / b.v[1], a.v[2] / b.v[2]}};
}

double vec3_dot(struct vec3 a, struct vec3 b)
{
  return a.v[0] * b.v[0] + a.v[1] * b.v[1] + a.v[2] * b.v[2];
}

bool vec3_is_finite(struct vec3 a)
{
  return isfinite(a.v[0]) && isfinite(a.v[1]) && isfinite(a.v[2]);
}

struct mat3 mat3_diagonal(struct vec3 d)
{
  return (struct mat3){{{d.v[0], 0, 0}, {0, d.v[1], 0}, {0, 0, d.v[2]}}};
}

struct mat3 mat3_identity(void)
{
  return mat3_diagonal((struct vec3){{1, 1, 1}});
}

struct mat3 mat3_add(struct mat3 a, struct mat3 b)
{
  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      a.m[i][j] += b.m[i][j];
    }
  }
  return a;
}

struct mat3 mat3_scale(struct mat3 a, double factor)
{
  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      a.m[i][j] *= factor;
    }
  }
  return a;
}

struct mat3 mat3_multiply(struct mat3 a, struct mat3 b)
{
  struct mat3 product;

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      product.m[i][j] = a.m[i][0] * b.m[0][j] + a.m[i][1] * b.m[1][j] + a.m[i][2] * b.m[2][j];
    }
  }
  return product;
}

struct mat3 mat3_transpose(struct mat3 a)
{
  struct mat3 turned;

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      turned.m[i][j] = a.m[j][i];
    }
  }
  return turned;
}

struct mat3 mat3_outer(struct vec3 a, struct vec3 b)
{
  struct mat3 product;

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      product.m[i][j] = a.v[i] * b.v[j];
    }
  }
  return product;
}

struct vec3 mat3_apply(struct mat3 a, struct vec3 b)
{
  struct vec3 product;

  for (int i = 0; i < 3; i++) {
    product.v[i] = a.m[i][0] * b.v[0] + a.m[i][1] * b.v[1] + a.m[i][2] * b.v[2];
  }
  return product;
}

struct mat3 mat3_congruence(struct mat3 j, struct mat3 c)
{
  return mat3_multiply(mat3_multiply(j, c), mat3_transpose(j));
}

static double cofactor(const struct mat3 *a, int i, int j)
{
  int i1 = (i + 1) % 3, i2 = (i + 2) % 3, j1 = (j + 1) % 3, j2 = (j + 2) % 3;

  return a->m[i1][j1] * a->m[i2][j2] - a->m[i1][j2] * a->m[i2][j1];
}

/* The determinant's six terms without their signs. Unlike a norm it scales with each row and column just as the determinant
 * does, so that the ratio of the two doesn't depend on units. */
static double permanent(const struct mat3 *a)
{
  double sum = 0;

  for (int j = 0; j < 3; j++) {
    int j1 = (j + 1) % 3, j2 = (j + 2) % 3;
    sum += fabs(a->m[0][j]) * (fabs(a->m[1][j1] * a->m[2][j2]) + fabs(a->m[1][j2] * a->m[2][j1]));
  }
  return sum;
}

bool mat3_invert(struct mat3 a, struct mat3 *inverse)
{
  struct mat3 result;

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      result.m[j][i] = cofactor(&a, i, j);
    }
  }
  double determinant = a.m[0][0] * result.m[0][0] + a.m[0][1] * result.m[1][0] + a.m[0][2] * result.m[2][0];
  if (!isfinite(determinant) || fabs(determinant) <= 1e-14 * permanent(&a)) {
    return false;
  }
  *inverse = mat3_scale(result, 1 / determinant);
  return true;
}

/* Where a pivot is nothing but rounding, its column would be noise divided by almost nothing: no element may be larger
 * than what is left of its own diagonal (Cauchy and Schwarz) and the rounding of that. */
struct mat3 mat3_cholesky(struct mat3 a)
{
  struct mat3 l = {{{0}}};
  double left[3] = {a.m[0][0], a.m[1][1], a.m[2][2]};

  for (int j = 0; j < 3; j++) {
    l.m[j][j] = sqrt(fmax(left[j], 0));
    for (int i = j + 1; i < 3 && l.m[j][j] > 0; i++) {
      double sum = a.m[i][j], most = sqrt(fmax(left[i], 0) + 16 * DBL_EPSILON * fabs(a.m[i][i]));
      for (int k = 0; k < j; k++) {
        sum -= l.m[i][k] * l.m[j][k];
      }
      l.m[i][j] = fmax(fmin(sum / l.m[j][j], most), -most);
      left[i] -= l.m[i][j] * l.m[i][j];
    }
  }
  return l;
}

/* One Jacobi rotation in the plane (p, q) that brings a[p][q] to zero. */
static void rotate(struct mat3 *a, struct mat3 *vectors, int p, int q)
{
  if (a->m[p][q] == 0) {
    return;
  }
  double theta = (a->m[q][q] - a->m[p][p]) / (2 * a->m[p][q]);
  double t = (theta >= 0 ? 1 : -1) / (fabs(theta) + sqrt(theta * theta + 1));
  double c = 1 / sqrt(t * t + 1), s = t * c;
  struct mat3 turn = mat3_identity();

  turn.m[p][p] = turn.m[q][q] = c;
  turn.m[p][q] = s;
  turn.m[q][p] = -s;
  *a = mat3_multiply(mat3_multiply(mat3_transpose(turn), *a), turn);
  *vectors = mat3_multiply(*vectors, turn);
}

static void swap_columns(struct vec3 *values, struct mat3 *vectors, int p, int q)
{
  double value = values->v[p];

  values->v[p] = values->v[q];
  values->v[q] = value;
  for (int i = 0; i < 3; i++) {
    double component = vectors->m[i][p];
    vectors->m[i][p] = vectors->m[i][q];
    vectors->m[i][q] = component;
  }
}

struct vec3 mat3_eigen(struct mat3 a, struct mat3 *vectors)
{
  *vectors = mat3_identity();
  for (int sweep = 0; sweep < 12; sweep++) { /* converges quadratically: 5 or 6 suffice */
    rotate(&a, vectors, 0, 1);
    rotate(&a, vectors, 0, 2);
    rotate(&a, vectors, 1, 2);
  }
  struct vec3 values = {{a.m[0][0], a.m[1][1], a.m[2][2]}};
  for (int pass = 0; pass < 2; pass++) {
    for (int i = 0; i < 2; i++) {
      if (values.v[i] < values.v[i + 1]) {
        swap_columns(&values, vectors, i, i + 1);
      }
    }
  }
  return values;
}
