/* SPDX-License-Identifier: MIT */
/* Random scenes of three tiers. Every part draws from its own stream, so that a change to one leaves the others as they are. */
#include <math.h>

#include "camera.h"
#include "made.h"
#include "section.h"

enum stream {
  STREAM_FACE,
  STREAM_CARD,
  STREAM_LIGHT,
  STREAM_CAMERA,
  STREAM_REGIONS,
  STREAM_TROUBLE,
  STREAMS
};

static struct random stream(uint64_t seed, enum stream part)
{
  return random_start(seed * STREAMS + (uint64_t)part);
}

static void random_face(struct scene *scene, const struct spectra_source *source)
{
  const enum region_moisture states[3] = {MOISTURE_DRY, MOISTURE_MOIST, MOISTURE_WET};
  struct random random = stream(scene->seed, STREAM_FACE);
  enum region_moisture state = states[random_below(&random, 3)];
  int cuts = random_below(&random, 3);

  section_face(scene, source, 2 + random_below(&random, 4), cuts ? cuts : 1, state, &random);
}

static void place_card(struct scene *scene, double width_share, struct random *random)
{
  struct scene_card *card = &scene->card;
  struct point size = scene_card_size_mm(&card->geometry);

  card->mm_per_pixel = size.x / (width_share * scene->width);
  double reach = 0.55 * hypot(size.x, size.y) / card->mm_per_pixel;
  card->centre.x =
      random_between(random, fmin(reach, scene->width / 2.0), fmax(scene->width - reach, scene->width / 2.0));
  card->centre.y = random_between(random, fmin(reach, scene->height / 2.0),
                                  fmax(scene->height - reach, scene->height / 2.0));
}

static void random_card(enum scene_tier tier, struct scene *scene, const struct spectra_source *source)
{
  struct random random = stream(scene->seed, STREAM_CARD);
  const struct spectrum *chart = source->chart[random_below(&random, source->charts)];

  scene_card_chart24(scene, chart, tier == SCENE_CLEAN ? 0.5 : 1);
  if (tier == SCENE_CLEAN) {
    place_card(scene, random_between(&random, 0.25, 0.4), &random);
    scene->card.rotation_degrees = random_between(&random, -3, 3);
    return;
  }
  place_card(scene, random_between(&random, 0.08, 0.25), &random);
  scene->card.rotation_degrees = random_unit(&random) < 0.2
                                     ? random_between(&random, -180, 180)
                                     : 90 * random_below(&random, 4) + 5 * random_normal(&random);
  scene->card.tilt_degrees = random_between(&random, 0, tier == SCENE_HARD ? 18 : 10);
  scene->card.tilt_direction_degrees = random_between(&random, 0, 360);
}

/* A vector of random direction and length up to `most`. */
static void random_slope(struct random *random, double most, double slope[2])
{
  double size = random_between(random, 0, most), angle = random_between(random, 0, 2 * 3.14159265358979);

  slope[0] = size * cos(angle);
  slope[1] = size * sin(angle);
}

static void random_light(enum scene_tier tier, struct scene *scene, const struct spectra_source *source)
{
  struct random random = stream(scene->seed, STREAM_LIGHT);
  struct scene_light *light = &scene->light;

  light->direct = source_light(source, &random, tier == SCENE_CLEAN && random_unit(&random) < 0.4);
  light->sky = source_sky(&random);
  if (tier == SCENE_CLEAN) {
    return;
  }
  light->sky_share = random_between(&random, 0.08, 0.3);
  random_slope(&random, 0.18, light->gradient);
  random_slope(&random, 0.4, light->sky_gradient);
  light->bulge = random_between(&random, -0.08, 0.08);
  light->vignette = random_between(&random, 0.1, 0.35);
}

static void random_camera(enum scene_tier tier, struct scene *scene, const struct spectra_source *source)
{
  struct random random = stream(scene->seed, STREAM_CAMERA);
  struct scene_camera *camera = &scene->camera;

  source_camera(source, &random, camera->sensitivity);
  camera_adjust(camera, &scene->light.direct);
  camera->exposure = random_between(&random, 0.65, 0.95);
  camera->read_noise = 0.0003;
  camera->shot_noise = 1e-5;
  if (tier == SCENE_CLEAN) {
    return;
  }
  for (int k = 0; k < 3; k++) {
    camera->balance.v[k] *= exp(0.04 * random_normal(&random));
  }
  camera_saturate(camera, random_between(&random, 0.92, 1.12));
  camera->blur = random_between(&random, 0.5, 1);
  camera->veil = random_between(&random, 0, 0.008);
  camera->read_noise = random_between(&random, 0.0005, 0.002);
  camera->shot_noise = exp(random_between(&random, log(2e-5), log(3e-4)));
  camera->contrast = random_between(&random, 0.05, 0.5);
  camera->black = random_between(&random, 0, 0.015);
  scene->file.jpeg_quality = 85 + random_below(&random, 11);
  scene->file.exif = true;
}

/* Half the time across the card, else through any place of the frame. */
static void add_shadow(struct scene *scene, struct random *random)
{
  struct scene_edge *edge = &scene->light.edge[0];
  bool over_card = random_unit(random) < 0.5;
  double off = over_card ? 0.05 * scene->width : scene->width;
  struct point from =
      over_card ? scene->card.centre : (struct point){scene->width / 2.0, scene->height / 2.0};

  edge->place = (struct point){from.x + off * random_between(random, -0.4, 0.4),
                               from.y + off * random_between(random, -0.3, 0.3)};
  edge->degrees = random_between(random, 0, 360);
  edge->softness = random_between(random, 4, 60);
  scene->light.edges = 1;
  scene->light.depth = random_between(random, 0.6, 0.95);
}

static void add_glare(struct scene *scene, struct random *random)
{
  int count = 1 + random_below(random, 4);

  for (int i = 0; i < count; i++) {
    scene->card.glare[random_below(random, CHART24_PATCHES)] = random_between(random, 0.02, 0.4);
  }
}

enum trouble { TROUBLE_SHADOW, TROUBLE_CLIPPED, TROUBLE_GLARE, TROUBLE_BLUR, TROUBLE_VEIL, TROUBLES };

static void add_trouble(struct scene *scene, enum trouble trouble, struct random *random)
{
  if (trouble == TROUBLE_SHADOW) {
    add_shadow(scene, random);
  } else if (trouble == TROUBLE_CLIPPED) {
    scene->camera.exposure = random_between(random, 1.12, 1.5);
  } else if (trouble == TROUBLE_GLARE) {
    add_glare(scene, random);
  } else if (trouble == TROUBLE_BLUR) {
    scene->camera.blur = random_between(random, 1.5, 3);
  } else {
    scene->camera.veil = random_between(random, 0.02, 0.06);
  }
}

void scene_random(enum scene_tier tier, uint64_t seed, const struct spectra_source *source,
                  struct scene *scene)
{
  struct random trouble = stream(seed, STREAM_TROUBLE), regions = stream(seed, STREAM_REGIONS);
  bool upright = tier != SCENE_CLEAN && random_unit(&regions) < 0.2;

  scene_plain(scene, upright ? 1050 : 1400, upright ? 1400 : 1050, seed);
  random_face(scene, source);
  random_card(tier, scene, source);
  random_light(tier, scene, source);
  random_camera(tier, scene, source);
  for (int i = 1 + random_below(&trouble, 3); tier == SCENE_HARD && i > 0; i--) {
    add_trouble(scene, (enum trouble)random_below(&trouble, TROUBLES), &trouble);
  }
  section_regions(scene, 2, &regions);
}
