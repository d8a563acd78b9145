/* SPDX-License-Identifier: MIT */
#include "object_matrix.h"

#include <math.h>
#include <stdlib.h>

#include "base/solve.h"
#include "colour/difference.h"

enum { UNKNOWNS = 6 };

static double gauss(double distance)
{
  return exp(-0.5 * distance * distance);
}

struct spectrum object_reflectance(struct random *random)
{
  double base = random_between(random, 0.02, 0.12);
  double height = exp(random_between(random, log(0.05), log(0.5)));
  double middle = random_between(random, 490, 630), width = random_between(random, 30, 90);
  double tilt = random_between(random, -0.10, 0.25);
  double place[3], spread[3], depth[3];
  const double low[3] = {430, 520, 620}, high[3] = {520, 600, 720};
  struct spectrum r;

  for (int k = 0; k < 3; k++) {
    place[k] = random_between(random, low[k], high[k]);
    spread[k] = random_between(random, 20, 45);
    depth[k] = random_between(random, -0.02, 0.06);
  }
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    double nm = 380 + 5 * i;
    r.band[i] = (base + height / (1 + exp((middle - nm) / width))) * (1 + tilt * (nm - 560) / 200);
    for (int k = 0; k < 3; k++) {
      r.band[i] *= 1 - depth[k] * gauss((nm - place[k]) / spread[k]);
    }
  }
  return r;
}

/* XYZ scaled so that the perfect diffuser is `white`. */
static struct xyz scaled_xyz(const struct spectrum *reflectance, enum spectrum_illuminant illuminant,
                             struct xyz white)
{
  struct spectrum light = spectrum_of_illuminant(illuminant), diffuser;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    diffuser.band[i] = 1;
  }
  struct vec3 scale =
      vec3_divide(colour_vec_from_xyz(white), colour_vec_from_xyz(spectrum_xyz(&diffuser, &light)));
  return colour_xyz_from_vec(vec3_multiply(scale, colour_vec_from_xyz(spectrum_xyz(reflectance, &light))));
}

struct object_colours object_colours_of(const struct spectrum *reflectance)
{
  return (struct object_colours){scaled_xyz(reflectance, ILLUMINANT_D50, COLOUR_WHITE_D50),
                                 scaled_xyz(reflectance, ILLUMINANT_C, COLOUR_WHITE_C)};
}

/* N_k: in row k / 2, x_j / w_j - x_q / w_q with (j, q) = (X, Y) or (Z, Y), times 100. */
static struct mat3 direction(int k)
{
  struct vec3 white = colour_vec_from_xyz(COLOUR_WHITE_D50);
  struct mat3 n = {{{0}}};
  int row = k / 2, column = k % 2 ? 2 : 0;

  n.m[row][column] = 100 / white.v[column];
  n.m[row][1] = -100 / white.v[1];
  return n;
}

static struct mat3 start(void)
{
  return mat3_diagonal(
      vec3_divide(colour_vec_from_xyz(COLOUR_WHITE_C), colour_vec_from_xyz(COLOUR_WHITE_D50)));
}

/* S with S' S = J' G J. */
static struct mat3 weight_at(struct xyz c)
{
  struct mat3 jacobian = colour_lab_jacobian(c, COLOUR_WHITE_C);
  struct mat3 metric = colour_de00_metric(colour_lab_from_xyz(c, COLOUR_WHITE_C));

  return mat3_multiply(mat3_transpose(mat3_cholesky(metric)), jacobian);
}

static void fill_rows(const struct object_colours *object, double *a, double *b)
{
  struct vec3 x = colour_vec_from_xyz(object->d50), c = colour_vec_from_xyz(object->c);
  struct mat3 weight = weight_at(object->c);
  struct vec3 rest = mat3_apply(weight, vec3_subtract(c, mat3_apply(start(), x)));

  for (int k = 0; k < UNKNOWNS; k++) {
    struct vec3 effect = mat3_apply(weight, mat3_apply(direction(k), x));
    for (int row = 0; row < 3; row++) {
      a[row * UNKNOWNS + k] = effect.v[row];
    }
  }
  for (int row = 0; row < 3; row++) {
    b[row] = rest.v[row];
  }
}

struct mat3 object_matrix_fit(uint64_t seed, size_t count)
{
  struct random random = random_start(seed);
  double *a = calloc(3 * count * UNKNOWNS, sizeof *a), *b = calloc(3 * count, sizeof *b);
  double p[UNKNOWNS] = {0};
  struct error error;
  struct mat3 matrix = start();

  for (size_t i = 0; a && b && i < count; i++) {
    struct spectrum reflectance = object_reflectance(&random);
    struct object_colours object = object_colours_of(&reflectance);
    fill_rows(&object, a + 3 * i * UNKNOWNS, b + 3 * i);
  }
  if (a && b && solve_linear(3 * count, UNKNOWNS, a, b, p, NULL, &error)) {
    for (int k = 0; k < UNKNOWNS; k++) {
      matrix = mat3_add(matrix, mat3_scale(direction(k), p[k]));
    }
  }
  free(a);
  free(b);
  return matrix;
}
