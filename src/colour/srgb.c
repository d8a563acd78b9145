/* SPDX-License-Identifier: MIT */
#include "colour/srgb.h"

#include <math.h>

#include "colour/adapt.h"

/* IEC 61966-2-1. */
double colour_srgb_decode(double code)
{
  double size = fabs(code);
  double linear = size <= 0.04045 ? size / 12.92 : pow((size + 0.055) / 1.055, 2.4);

  return copysign(linear, code);
}

double colour_srgb_encode(double linear)
{
  double size = fabs(linear);
  double code = size <= 0.0031308 ? size * 12.92 : 1.055 * pow(size, 1 / 2.4) - 0.055;

  return copysign(code, linear);
}

/* XYZ under D65 (Y = 100) from linear RGB: the matrix that takes the primaries of ITU-R BT.709, x y = 0.64 0.33, 0.30 0.60,
 * 0.15 0.06, to a white of 0.3127 0.3290, to the four decimals that the standard prints. */
static struct mat3 xyz_from_linear(void)
{
  return (struct mat3){{{41.24, 35.76, 18.05}, {21.26, 71.52, 7.22}, {1.93, 11.92, 95.05}}};
}

/* The white of that matrix, so that code 255 255 255 is D50 exactly after adaptation. */
static struct xyz white_of_srgb(void)
{
  return colour_xyz_from_vec(mat3_apply(xyz_from_linear(), (struct vec3){{1, 1, 1}}));
}

static uint8_t code_byte(double linear, bool *in_gamut)
{
  const double slack = 0.5 / 255; /* codes that round to the edge are no clipping */
  double code = colour_srgb_encode(linear);

  *in_gamut = *in_gamut && code >= -slack && code <= 1 + slack;
  return (uint8_t)lround(255 * fmin(fmax(code, 0), 1));
}

struct srgb colour_srgb_from_lab_d50(struct lab c)
{
  struct mat3 to_d65 = colour_adaptation_matrix(COLOUR_BRADFORD, COLOUR_WHITE_D50, white_of_srgb());
  struct xyz d50 = colour_xyz_from_lab(c, COLOUR_WHITE_D50);
  struct mat3 linear_from_xyz = mat3_identity();
  struct srgb result = {.in_gamut = true};

  mat3_invert(xyz_from_linear(), &linear_from_xyz);
  struct vec3 linear = mat3_apply(mat3_multiply(linear_from_xyz, to_d65), colour_vec_from_xyz(d50));
  result.red = code_byte(linear.v[0], &result.in_gamut);
  result.green = code_byte(linear.v[1], &result.in_gamut);
  result.blue = code_byte(linear.v[2], &result.in_gamut);
  return result;
}

struct xyz colour_xyz_d50_from_srgb(struct srgb c)
{
  struct mat3 to_d50 = colour_adaptation_matrix(COLOUR_BRADFORD, white_of_srgb(), COLOUR_WHITE_D50);
  struct vec3 linear = {{colour_srgb_decode(c.red / 255.0), colour_srgb_decode(c.green / 255.0),
                         colour_srgb_decode(c.blue / 255.0)}};

  return colour_xyz_from_vec(mat3_apply(mat3_multiply(to_d50, xyz_from_linear()), linear));
}
