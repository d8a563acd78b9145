/* SPDX-License-Identifier: MIT */
#include "camera.h"

#include <math.h>

#include "base/solve.h"
#include "colour/srgb.h"
#include "made.h"

enum { FIT_COUNT = 200, FIT_SEED = 24 };

static const double WHITE_WEIGHT = 100;

struct vec3 camera_response(const struct spectrum sensitivity[3], const struct spectrum *reflectance,
                            const struct spectrum *light)
{
  struct vec3 sum = {{0, 0, 0}};

  for (int k = 0; k < 3; k++) {
    for (int i = 0; i < SPECTRUM_BANDS; i++) {
      sum.v[k] += sensitivity[k].band[i] * light->band[i] * reflectance->band[i];
    }
  }
  return sum;
}

/* spectrum_xyz() is relative to the light, so the light is taken as a reflectance under an even light. */
struct spectrum camera_light_scaled(const struct spectrum *light)
{
  struct spectrum even = made_flat(1), scaled = *light;
  double luminance = spectrum_xyz(light, &even).Y;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    scaled.band[i] /= luminance;
  }
  return scaled;
}

struct mat3 camera_xyz_d50_from_linear(void)
{
  const struct srgb primary[3] = {{255, 0, 0, true}, {0, 255, 0, true}, {0, 0, 255, true}};
  struct mat3 columns;

  for (int k = 0; k < 3; k++) {
    struct vec3 xyz = colour_vec_from_xyz(colour_xyz_d50_from_srgb(primary[k]));
    for (int row = 0; row < 3; row++) {
      columns.m[row][k] = xyz.v[row];
    }
  }
  return columns;
}

struct fit_samples {
  struct vec3 raw[FIT_COUNT], linear[FIT_COUNT];
  double weight[FIT_COUNT];
};

static void fill_samples(const struct scene_camera *camera, const struct spectrum *light,
                         struct fit_samples *samples)
{
  struct spectrum d50 = spectrum_of_illuminant(ILLUMINANT_D50);
  struct random random = random_start(FIT_SEED);
  struct mat3 from_xyz = mat3_identity();

  mat3_invert(camera_xyz_d50_from_linear(), &from_xyz);
  for (int i = 0; i < FIT_COUNT; i++) {
    struct spectrum r = i ? made_reflectance(&random) : made_flat(1);
    struct vec3 response = camera_response(camera->sensitivity, &r, light);
    samples->raw[i] = vec3_multiply(camera->balance, response);
    samples->linear[i] = mat3_apply(from_xyz, colour_vec_from_xyz(spectrum_xyz(&r, &d50)));
    samples->weight[i] = i ? 1 : WHITE_WEIGHT;
  }
}

static void fit_row(const struct fit_samples *samples, int row, double matrix_row[3])
{
  double a[FIT_COUNT][3], b[FIT_COUNT];
  struct error error;

  for (int i = 0; i < FIT_COUNT; i++) {
    for (int k = 0; k < 3; k++) {
      a[i][k] = samples->weight[i] * samples->raw[i].v[k];
    }
    b[i] = samples->weight[i] * samples->linear[i].v[row];
  }
  solve_linear(FIT_COUNT, 3, &a[0][0], b, matrix_row, NULL, &error);
}

void camera_adjust(struct scene_camera *camera, const struct spectrum *light)
{
  struct spectrum white = made_flat(1);
  struct vec3 response = camera_response(camera->sensitivity, &white, light);
  struct fit_samples samples;

  camera->balance = vec3_divide((struct vec3){{1, 1, 1}}, response);
  fill_samples(camera, light, &samples);
  for (int row = 0; row < 3; row++) {
    fit_row(&samples, row, camera->matrix.m[row]);
  }
  /* raw signals are relative to green */
  camera->balance = vec3_scale(camera->balance, response.v[1]);
}

void camera_saturate(struct scene_camera *camera, double factor)
{
  const double luma[3] = {0.2126, 0.7152, 0.0722};
  struct mat3 mix;

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      mix.m[i][j] = (1 - factor) * luma[j] + (i == j ? factor : 0);
    }
  }
  camera->matrix = mat3_multiply(mix, camera->matrix);
}

double camera_tone(const struct scene_camera *camera, double linear)
{
  double code = colour_srgb_encode(fmin(fmax(linear, 0), 1));
  double bent = code * code * (3 - 2 * code);

  return camera->black + (1 - camera->black) * (code + camera->contrast * (bent - code));
}

struct vec3 camera_linear(const struct scene_camera *camera, struct vec3 raw)
{
  return mat3_apply(camera->matrix, vec3_multiply(camera->balance, raw));
}
