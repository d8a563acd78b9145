/* SPDX-License-Identifier: MIT */
#include "colour/adapt.h"

/* Least squares in CIEDE2000 over 2000 formula-made reflectances, white held; tests/support/object_matrix.h derives it and
 * tests/colour/test_adapt.c refits it and judges it on others. */
struct mat3 colour_object_matrix_c_from_d50(void)
{
  return (struct mat3){{{0.89127778182896, 0.038815478106915, 0.100036921218961},
                        {-0.0616000745299156, 1.0387409294946, 0.0250380195989137},
                        {0.0517563075173226, -0.081485311488868, 1.47148911832682}}};
}

struct mat3 colour_object_matrix_d50_from_c(void)
{
  struct mat3 inverse = mat3_identity();

  mat3_invert(colour_object_matrix_c_from_d50(), &inverse);
  return inverse;
}

struct xyz colour_object_c_from_d50(struct xyz c)
{
  return colour_xyz_from_vec(mat3_apply(colour_object_matrix_c_from_d50(), colour_vec_from_xyz(c)));
}

struct xyz colour_object_d50_from_c(struct xyz c)
{
  return colour_xyz_from_vec(mat3_apply(colour_object_matrix_d50_from_c(), colour_vec_from_xyz(c)));
}

/* Cone responses from XYZ. */
static struct mat3 cone_matrix(enum colour_adaptation method)
{
  if (method == COLOUR_BRADFORD) { /* ICC.1:2010, annex E */
    return (struct mat3){{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}};
  }
  return (struct mat3){{{0.401288, 0.650173, -0.051461}, /* Li et al. 2017 */
                        {-0.250268, 1.204414, 0.045854},
                        {-0.002079, 0.048952, 0.953127}}};
}

struct mat3 colour_adaptation_matrix(enum colour_adaptation method, struct xyz from, struct xyz to)
{
  struct mat3 cone = cone_matrix(method), xyz_from_cone = mat3_identity();
  struct vec3 gain =
      vec3_divide(mat3_apply(cone, colour_vec_from_xyz(to)), mat3_apply(cone, colour_vec_from_xyz(from)));

  mat3_invert(cone, &xyz_from_cone);
  return mat3_multiply(xyz_from_cone, mat3_multiply(mat3_diagonal(gain), cone));
}
