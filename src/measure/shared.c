/* SPDX-License-Identifier: MIT */
#include "measure/shared.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "base/solve.h"
#include "measure/glint.h"

/* Columns of reading.shared: profile, light, then the camera's common part and, where it is shared, the lean; the doubtful step is
 * last. */
enum {
  COLUMN_LIGHT = PROFILE_PARAMETERS,
  COLUMN_CAMERA = PROFILE_PARAMETERS + LIGHT_TERMS,
  COLUMN_LEAN = COLUMN_CAMERA + 3 /* 0 but for readings of one plane */
};

_Static_assert((int)COLUMN_LEAN < (int)READING_UNSURE, "reading.shared is too narrow");

/* Share of the variance of what a camera is off by (no patch can tell) that all soils of a photo have in common: their
 * reflectances are of one smooth family. */
static const double CAMERA_COMMON = 0.6;

/* A straight step that is left may be the edge of a shadow as likely as the rim of a deposit: the light beyond is off by the whole
 * step or by nothing, in the square mean by this share of it. */
static const double UNSURE = 0.70710678118654752;

/* Standard deviation in degrees by which a card laid flat on the face still leans against it, and the light's angle from
 * the normal for which it counts. Common practice in docs/field-guide.md; a card that leans more is not seen by the photo. */
static const double TILT_DEGREES = 0.5;
static const double LIGHT_DEGREES = 45;

void shared_unknowns_make(const struct profile *profile, const struct light *light,
                          struct shared_unknowns *shared)
{
  solve_cholesky(PROFILE_PARAMETERS, &profile->covariance[0][0], &shared->profile[0][0]);
  solve_cholesky(LIGHT_TERMS, &light->covariance[0][0], &shared->light[0][0]);
}

/* Adds to columns from `first` of reading.shared the effect of `count` parameters through their factor l. */
static void add_columns(struct reading *reading, size_t first, size_t count, const double *jacobian,
                        const double *l)
{
  for (size_t row = 0; row < 3; row++) {
    for (size_t k = 0; k < count; k++) {
      double sum = 0;
      for (size_t j = k; j < count; j++) {
        sum += jacobian[row * count + j] * l[j * count + k];
      }
      reading->shared[row][first + k] = sum;
    }
  }
}

static struct mat3 covariance_of_columns(const struct reading *reading, size_t first, size_t count)
{
  struct mat3 covariance = {{{0}}};

  for (size_t k = first; k < first + count; k++) {
    struct vec3 column = {{reading->shared[0][k], reading->shared[1][k], reading->shared[2][k]}};
    covariance = mat3_add(covariance, mat3_outer(column, column));
  }
  return covariance;
}

static void add_fit(const struct profile *profile, const struct shared_unknowns *shared,
                    struct reading *reading)
{
  double jacobian[3][PROFILE_PARAMETERS];

  profile_parameter_jacobian(profile, reading->statistics.linear, reading->statistics.gain, jacobian);
  add_columns(reading, 0, PROFILE_PARAMETERS, &jacobian[0][0], &shared->profile[0][0]);
  reading->cause[BUDGET_FIT] = covariance_of_columns(reading, 0, PROFILE_PARAMETERS);
}

/* Evened linear light is light over gain, so d linear / d log gain = -linear, channel by channel. */
static void add_light(const struct light *light, const struct shared_unknowns *shared,
                      struct mat3 lab_from_log, struct reading *reading)
{
  double field[3][LIGHT_TERMS], jacobian[3][LIGHT_TERMS];

  light_jacobian(light, reading->statistics.centre, field);
  for (size_t row = 0; row < 3; row++) {
    for (size_t k = 0; k < LIGHT_TERMS; k++) {
      jacobian[row][k] = -(lab_from_log.m[row][0] * field[0][k] + lab_from_log.m[row][1] * field[1][k] +
                           lab_from_log.m[row][2] * field[2][k]);
    }
  }
  add_columns(reading, COLUMN_LIGHT, LIGHT_TERMS, &jacobian[0][0], &shared->light[0][0]);
  reading->cause[BUDGET_LIGHT] = covariance_of_columns(reading, COLUMN_LIGHT, LIGHT_TERMS);
}

static void add_doubt(const struct light *light, struct mat3 lab_from_log, struct reading *reading)
{
  if (!light_is_unsure(light, reading->statistics.centre)) {
    return;
  }
  struct vec3 effect = mat3_apply(lab_from_log, vec3_scale(light->unsure_step, -UNSURE));
  for (size_t row = 0; row < 3; row++) {
    reading->shared[row][READING_UNSURE] = effect.v[row];
  }
  reading->cause[BUDGET_LIGHT] = mat3_add(reading->cause[BUDGET_LIGHT], mat3_outer(effect, effect));
}

static void add_camera(const struct profile *profile, struct reading *reading)
{
  struct mat3 all = mat3_add(profile_metamerism(reading->lab_d50), profile_misfit(profile, reading->lab_d50));
  struct mat3 root = mat3_cholesky(mat3_scale(all, CAMERA_COMMON));

  for (size_t row = 0; row < 3; row++) {
    for (size_t k = 0; k < 3; k++) {
      reading->shared[row][COLUMN_CAMERA + k] = root.m[row][k];
    }
  }
  reading->cause[BUDGET_CAMERA] = all;
}

/* A face that leans by d against the card gets light cos(t + d) / cos(t): log gain changes by tan(t) d in all channels. */
static struct mat3 tilt_covariance(struct mat3 lab_from_log)
{
  const double degree = 3.14159265358979323846 / 180;
  double log_gain = tan(LIGHT_DEGREES * degree) * TILT_DEGREES * degree;
  struct vec3 effect = mat3_apply(lab_from_log, (struct vec3){{log_gain, log_gain, log_gain}});

  return mat3_outer(effect, effect);
}

/* Whether a zone is named a glaze: as a word of its own, in any case. */
static bool is_glaze(const char *zone)
{
  const char *const word = "glaze";
  const size_t length = strlen(word);

  for (const char *at = zone; (at = strcasestr(at, word)); at += length) {
    bool begins = at == zone || !isalpha((unsigned char)at[-1]);
    if (begins && !isalpha((unsigned char)at[length])) {
      return true;
    }
  }
  return false;
}

/* Stray mirrored light that is left after glint was dropped lifts lightness and greys the colour; sizes are our own
 * estimate, from rendered faces with glint (docs/method.md). */
static struct mat3 surface_covariance(const struct profile *profile, const struct reading *reading,
                                      struct mat3 lab_from_log)
{
  const struct region *region = reading->region;
  double stray = region->moisture == MOISTURE_WET ? 0.0008 : region->moisture == MOISTURE_MOIST ? 0.0004 : 0;
  struct vec3 share, white = vec3_scale(glint_white(profile), reading->glint_doubt);

  if (is_glaze(region->zone)) {
    stray = 0.004;
  }
  for (int k = 0; k < 3; k++) {
    share.v[k] = stray / fmax(reading->statistics.linear.v[k], 0.01);
  }
  struct vec3 effect = mat3_apply(lab_from_log, share);
  struct vec3 smeared = mat3_apply(lab_from_log, vec3_divide(white, reading->statistics.linear));
  return mat3_add(mat3_outer(effect, effect), mat3_outer(smeared, smeared));
}

void shared_propagate(const struct profile *profile, const struct light *light,
                      const struct shared_unknowns *shared, struct reading *reading)
{
  struct mat3 lab_from_linear = profile_jacobian(profile, reading->statistics.linear);
  struct mat3 lab_from_log = mat3_multiply(lab_from_linear, mat3_diagonal(reading->statistics.linear));

  memset(reading->shared, 0, sizeof reading->shared);
  add_fit(profile, shared, reading);
  add_light(light, shared, lab_from_log, reading);
  add_doubt(light, lab_from_log, reading);
  add_camera(profile, reading);
  reading->cause[BUDGET_REGION] = mat3_congruence(lab_from_linear, reading->statistics.covariance);
  reading->cause[BUDGET_TILT] = tilt_covariance(lab_from_log);
  reading->cause[BUDGET_SURFACE] = surface_covariance(profile, reading, lab_from_log);

  reading->own = mat3_scale(reading->cause[BUDGET_CAMERA], 1 - CAMERA_COMMON);
  reading->own = mat3_add(reading->own, reading->cause[BUDGET_REGION]);
  reading->own = mat3_add(reading->own, reading->cause[BUDGET_TILT]);
  reading->own = mat3_add(reading->own, reading->cause[BUDGET_SURFACE]);
  reading->covariance = mat3_add(covariance_of_columns(reading, 0, READING_SHARED), reading->own);
}

/* The lean's covariance is e e', and more light makes all lighter: e has the sign of its lightness. */
void shared_one_plane(struct reading *reading)
{
  struct mat3 lean = reading->cause[BUDGET_TILT];

  reading->own = mat3_add(reading->own, mat3_scale(lean, -1));
  for (size_t row = 0; row < 3 && lean.m[0][0] > 0; row++) {
    reading->shared[row][COLUMN_LEAN] = lean.m[row][0] / sqrt(lean.m[0][0]);
  }
}
