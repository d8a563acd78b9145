/* SPDX-License-Identifier: MIT */
#include "profile/model.h"

#include <math.h>

/* Of the kernel whose leading terms the bend has, CIELAB. */
static const double WIDTH = 60;

struct vec3 model_units(struct lab c)
{
  double off = (c.L - 50) * (c.L - 50), chroma = 1 + 0.045 * hypot(c.a, c.b);

  return (struct vec3){{1 + 0.015 * off / sqrt(20 + off), chroma, chroma}};
}

void model_bend_functions(struct lab c, double function[PROFILE_BENDS])
{
  double hold = 1 / (1 + 0.02 * hypot(c.a, c.b));
  double u[3] = {(c.L - 50) / WIDTH, c.a * hold / WIDTH, c.b * hold / WIDTH};
  int at = 4;

  function[0] = 1;
  for (int i = 0; i < 3; i++) {
    function[1 + i] = u[i];
    for (int j = i; j < 3; j++) {
      function[at++] = i == j ? u[i] * u[i] / sqrt(2) : u[i] * u[j];
    }
  }
}

struct lab model_bend(struct lab c, const double *bend)
{
  double function[PROFILE_BENDS];
  struct vec3 moved = {{0, 0, 0}};

  model_bend_functions(c, function);
  for (int row = 0; row < 3; row++) {
    for (int k = 0; k < PROFILE_BENDS; k++) {
      moved.v[row] += bend[row * PROFILE_BENDS + k] * function[k];
    }
  }
  moved = vec3_multiply(moved, model_units(c));
  return colour_lab_from_vec(vec3_add(colour_vec_from_lab(c), moved));
}

struct lab model_lab(const double *matrix, const double *bend, struct vec3 linear)
{
  struct vec3 xyz;

  for (int row = 0; row < 3; row++) {
    xyz.v[row] =
        matrix[3 * row] * linear.v[0] + matrix[3 * row + 1] * linear.v[1] + matrix[3 * row + 2] * linear.v[2];
  }
  struct lab c = colour_lab_from_xyz(colour_xyz_from_vec(xyz), COLOUR_WHITE_D50);
  return bend ? model_bend(c, bend) : c;
}
