/* SPDX-License-Identifier: MIT */
#include "shot.h"

#include <check.h>
#include <math.h>
#include <string.h>

#include "camera.h"
#include "chart24.h"
#include "colour/difference.h"
#include "made.h"
#include "random.h"

static struct spectrum CHART[PATCHES]; /* filled once before the tests run */

bool fill_chart(void)
{
  bool done = true;

  for (int i = 0; i < PATCHES; i++) {
    done = chart24_smoothest(chart24_lab_d50(CHART24_BEFORE_2014, i), &CHART[i]) && done;
  }
  return done;
}

static struct encoding srgb_encoding(void)
{
  struct image image = {.width = 1, .height = 1, .bits = 8};
  struct encoding encoding;
  struct error error;

  ck_assert_msg(encoding_of_image(&image, "made", &encoding, &error), "%s", error.text);
  return encoding;
}

/* Nominal linear light of a reflectance, codes not rounded. */
static struct vec3 seen_by(const struct scene_camera *camera, const struct encoding *encoding,
                           const struct spectrum *light, const struct spectrum *reflectance)
{
  struct spectrum flat = made_flat(1);
  struct vec3 white = camera_response(camera->sensitivity, &flat, light);
  struct vec3 raw = camera_response(camera->sensitivity, reflectance, light), linear;

  linear = camera_linear(camera, vec3_scale(raw, camera->exposure / white.v[1]));
  for (int k = 0; k < 3; k++) {
    linear.v[k] = encoding_linear(encoding, k, camera_tone(camera, fmin(fmax(linear.v[k], 0), 1)));
  }
  return linear;
}

/* Moves a colour by a random vector of `size` root mean square CIEDE2000. */
static struct lab moved(struct lab c, double size, struct random *random)
{
  struct mat3 inverse;
  struct vec3 step;

  ck_assert(mat3_invert(colour_de00_metric(c), &inverse));
  for (int k = 0; k < 3; k++) {
    step.v[k] = size / sqrt(3) * random_normal(random);
  }
  return colour_lab_from_vec(vec3_add(colour_vec_from_lab(c), mat3_apply(mat3_cholesky(inverse), step)));
}

/* A clipped channel is what card_patches_read() would name. */
bool is_clipped(struct vec3 linear)
{
  for (int k = 0; k < 3; k++) {
    if (linear.v[k] < 0.0006 || linear.v[k] > 0.995) {
      return true;
    }
  }
  return false;
}

void make_shot(uint64_t seed, double differs, double contrast, struct shot *shot)
{
  struct random random = random_start(seed);
  struct scene_camera camera = {.exposure = random_between(&random, 0.6, 0.9), .contrast = contrast};
  struct spectrum light = spectrum_of_daylight(random_between(&random, 5000, 7500));

  memset(shot, 0, sizeof *shot);
  shot->encoding = srgb_encoding();
  made_camera(&random, camera.sensitivity);
  camera_adjust(&camera, &light);
  for (int i = 0; i < PATCHES; i++) {
    struct lab truth = chart24_lab_d50(CHART24_BEFORE_2014, i);
    struct profile_sample *sample = &shot->sample[i];
    *sample = (struct profile_sample){.linear = seen_by(&camera, &shot->encoding, &light, &CHART[i]),
                                      .gain = {{1, 1, 1}},
                                      .noise = mat3_scale(mat3_identity(), 1e-8),
                                      .place = {40 + 45 * (i % 6), 40 + 45 * (i / 6)},
                                      .reference_d50 = moved(truth, differs, &random),
                                      .tolerance = fmax(differs, 0.3),
                                      .grey = i >= 18};
    sample->cause = is_clipped(sample->linear) ? CARD_CLIPPED : CARD_USED;
  }
  for (int i = 0; i < SOILS; i++) {
    struct spectrum soil = made_soil(&random);
    shot->soil[i] = seen_by(&camera, &shot->encoding, &light, &soil);
    shot->soil_lab[i] = made_lab(&soil);
  }
}

struct profile fit(struct shot *shot)
{
  struct profile profile;
  struct error error = {0};

  ck_assert_msg(
      profile_fit(&shot->encoding, PROFILE_SLOPE_ESTIMATED, shot->sample, PATCHES, &profile, &error), "%s",
      error.text);
  return profile;
}

struct vec3 toned(const struct profile *profile, struct vec3 nominal)
{
  for (int k = 0; k < 3; k++) {
    nominal.v[k] = profile_tone(profile, nominal.v[k]);
  }
  return nominal;
}

struct lab soil_read(const struct profile *profile, const struct shot *shot, int i)
{
  return profile_lab(profile, toned(profile, shot->soil[i]));
}

double worst_soil(const struct profile *profile, const struct shot *shot)
{
  double worst = 0;

  for (int i = 0; i < SOILS; i++) {
    worst = fmax(worst, colour_de00(soil_read(profile, shot, i), shot->soil_lab[i]));
  }
  return worst;
}
