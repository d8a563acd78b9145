/* SPDX-License-Identifier: MIT */
#include "profile/profile.h"

#include <math.h>
#include <string.h>

#include "colour/difference.h"
#include "profile/model.h"
#include "profile/pigment.h"
#include "profile/tone.h"

double profile_tone(const struct profile *profile, double nominal)
{
  return tone_apply(profile->knot, nominal);
}

double profile_tone_inverse(const struct profile *profile, double linear)
{
  return tone_invert(profile->knot, linear);
}

struct vec3 profile_linear(const struct profile *profile, struct vec3 code)
{
  struct vec3 linear;

  for (int k = 0; k < 3; k++) {
    linear.v[k] = tone_apply(profile->knot, encoding_linear(&profile->encoding, k, code.v[k]));
  }
  return linear;
}

struct vec3 profile_code(const struct profile *profile, struct vec3 linear)
{
  struct vec3 code;

  for (int k = 0; k < 3; k++) {
    code.v[k] = encoding_code(&profile->encoding, k, tone_invert(profile->knot, linear.v[k]));
  }
  return code;
}

static const double *bend_of(const struct profile *profile)
{
  return profile->bent ? &profile->bend[0][0] : NULL;
}

struct lab profile_lab(const struct profile *profile, struct vec3 linear)
{
  return model_lab(&profile->matrix[0][0], bend_of(profile), linear);
}

struct mat3 profile_jacobian(const struct profile *profile, struct vec3 linear)
{
  struct mat3 jacobian;

  for (int k = 0; k < 3; k++) {
    double h = 1e-5 * fmax(fabs(linear.v[k]), 1e-3);
    struct vec3 up = linear, down = linear;
    up.v[k] += h;
    down.v[k] -= h;
    struct vec3 change = vec3_subtract(colour_vec_from_lab(profile_lab(profile, up)),
                                       colour_vec_from_lab(profile_lab(profile, down)));
    for (int row = 0; row < 3; row++) {
      jacobian.m[row][k] = change.v[row] / (2 * h);
    }
  }
  return jacobian;
}

/* Columns of the tone curve: through the linear light of each channel, which the gain scales. */
static void tone_columns(const struct profile *profile, struct vec3 linear, struct vec3 gain,
                         double jacobian[3][PROFILE_PARAMETERS])
{
  struct mat3 lab_from_linear = profile_jacobian(profile, linear);

  for (int k = 0; k < 3; k++) {
    double gradient[PROFILE_KNOTS];
    tone_gradient(profile->knot, tone_invert(profile->knot, linear.v[k] * gain.v[k]), gradient);
    for (int row = 0; row < 3; row++) {
      for (int j = 0; j < PROFILE_KNOTS; j++) {
        jacobian[row][j] += lab_from_linear.m[row][k] * gradient[j] / gain.v[k];
      }
    }
  }
}

/* Columns of the matrix: a change of an element moves X, Y or Z by that channel's light; the bend then carries it on. */
static void matrix_columns(const struct profile *profile, struct vec3 linear,
                           double jacobian[3][PROFILE_PARAMETERS])
{
  double matrix[9];

  memcpy(matrix, profile->matrix, sizeof matrix);
  for (int j = 0; j < 9; j++) {
    double kept = matrix[j], h = 1e-5 * fmax(fabs(kept), 1);
    matrix[j] = kept + h;
    struct vec3 up = colour_vec_from_lab(model_lab(matrix, bend_of(profile), linear));
    matrix[j] = kept - h;
    struct vec3 down = colour_vec_from_lab(model_lab(matrix, bend_of(profile), linear));
    matrix[j] = kept;
    for (int row = 0; row < 3; row++) {
      jacobian[row][PROFILE_MATRIX_AT + j] = (up.v[row] - down.v[row]) / (2 * h);
    }
  }
}

/* Columns of the bend, which is linear in its coefficients. */
static void bend_columns(const struct profile *profile, struct vec3 linear,
                         double jacobian[3][PROFILE_PARAMETERS])
{
  struct lab plain = model_lab(&profile->matrix[0][0], NULL, linear);
  struct vec3 units = model_units(plain);
  double function[PROFILE_BENDS];

  model_bend_functions(plain, function);
  for (int row = 0; row < 3; row++) {
    for (int k = 0; k < PROFILE_BENDS; k++) {
      jacobian[row][PROFILE_BEND_AT + row * PROFILE_BENDS + k] = units.v[row] * function[k];
    }
  }
}

void profile_parameter_jacobian(const struct profile *profile, struct vec3 linear, struct vec3 gain,
                                double jacobian[3][PROFILE_PARAMETERS])
{
  memset(jacobian, 0, 3 * sizeof *jacobian);
  tone_columns(profile, linear, gain, jacobian);
  matrix_columns(profile, linear, jacobian);
  if (profile->bent) {
    bend_columns(profile, linear, jacobian);
  }
}

/* Standard deviations in Lab of what the 3x3 that is best for all soils is off by on one soil. The formula-made cameras, lights and
 * soils of calibration/cameras/README.md leave 0.06, 0.23, 0.31; real cameras are less tidy, and these are rounded up. They are
 * those of a soil of chroma 22, and go with chroma: what reflects all light alike can't be told wrong. */
static const struct vec3 SOIL_OFF = {{0.1, 0.25, 0.4}};
static const double OFF_AT_CHROMA = 22, OFF_LEAST = 0.4, OFF_MOST = 1.3;

/* Soils lie between these hue angles and up to this chroma; within this distance of that, CIEDE2000, colours count as theirs. */
static const double SOIL_HUE_LEAST = 40, SOIL_HUE_MOST = 85, SOIL_CHROMA = 45, SOIL_NEAR = 10;

/* 0 for colours that soils have, rising to 1 for those of pigments. */
static double unlike_soil(struct lab c)
{
  struct lch near = colour_lch_from_lab(c);

  near.h = fmin(fmax(near.h, SOIL_HUE_LEAST), SOIL_HUE_MOST);
  near.C = fmin(near.C, SOIL_CHROMA);
  double far = colour_de00(c, colour_lab_from_lch(near)) / SOIL_NEAR;
  return 1 - exp(-far * far * far * far);
}

struct mat3 profile_metamerism(struct lab lab_d50)
{
  double grows = fmin(fmax(hypot(lab_d50.a, lab_d50.b) / OFF_AT_CHROMA, OFF_LEAST), OFF_MOST);
  struct vec3 off = vec3_scale(SOIL_OFF, grows);
  struct mat3 soil = mat3_diagonal(vec3_multiply(off, off));

  return mat3_add(soil, mat3_scale(pigment_size(lab_d50), unlike_soil(lab_d50)));
}

struct mat3 profile_misfit(const struct profile *profile, struct lab lab_d50)
{
  struct mat3 inverse;

  if (!mat3_invert(colour_de00_metric(lab_d50), &inverse)) {
    inverse = mat3_identity();
  }
  return mat3_scale(inverse, profile->misfit * profile->misfit);
}
