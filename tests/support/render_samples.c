/* SPDX-License-Identifier: MIT */
/* render_samples FOLDER
 *
 * Renders the sample photos of an invented site into FOLDER, with their regions and truth: a section with the fill of a ditch, dry;
 * the same face sprayed; the fresh break of a sherd. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "camera.h"
#include "made.h"
#include "render.h"
#include "section.h"
#include "truth.h"

static const struct soil_recipe TOPSOIL = {0.6, 1.6, 160, 0.9, 0.1, 25, 0.06, 0.1};
static const struct soil_recipe SURROUNDING = {0.14, 0.35, 150, 1.0, 0.1, 25, 0.06, 0.1};
static const struct soil_recipe FILL = {0.7, 1.4, 190, 0.35, 0.1, 25, 0.06, 0.1};
static const struct soil_recipe LOWER = {0.1, 0.2, 150, 1.6, 0.35, 22, 0.06, 0.15};
static const struct soil_recipe CORE = {1.2, 0.8, 300, 0.15, 0, 25, 0.06, 0.1};
static const struct soil_recipe OUTER = {0.12, 0.15, 150, 2.2, 0.75, 20, 0.06, 0.15};
static const struct soil_recipe INNER = {0.10, 0.15, 150, 1.6, 0.6, 20, 0.06, 0.15};
static const struct soil_recipe BOARD = {0.35, 0.05, 150, 0.02, 0, 25, 0, 0};

static void common_camera(struct scene *scene, double exposure)
{
  struct scene_camera *camera = &scene->camera;

  camera_adjust(camera, &scene->light.direct);
  camera->balance.v[0] *= 1.02;
  camera->balance.v[2] *= 0.98;
  camera->exposure = exposure;
  camera->blur = 0.6;
  camera->veil = 0.003;
  camera->read_noise = 0.001;
  camera->shot_noise = 6e-5;
  camera->contrast = 0.25;
  camera->black = 0.005;
  scene->file = (struct scene_file){85, true, 1, "Rendered"};
}

static struct scene_deposit *add(struct scene *scene, const char *context, const char *role,
                                 const struct soil_recipe *recipe, struct scene_texture texture)
{
  struct scene_deposit *deposit = &scene->deposit[scene->deposits++];

  memset(deposit, 0, sizeof *deposit);
  deposit->reflectance = made_soil_of(recipe);
  deposit->texture = texture;
  deposit->moisture = MOISTURE_DRY;
  snprintf(deposit->context, sizeof deposit->context, "%s", context);
  snprintf(deposit->role, sizeof deposit->role, "%s", role);
  return deposit;
}

/* The ground above the uneven line: the layer below it, turned over. */
static void outline_above(const struct scene *scene, struct scene_deposit *deposit, double level,
                          uint64_t seed)
{
  section_outline_layer(scene, deposit, level, seed);
  deposit->vertex[deposit->vertices - 2].y = 0;
  deposit->vertex[deposit->vertices - 1].y = 0;
}

static void add_rectangle(struct scene *scene, const char *label, int deposit, double x, double y, double w,
                          double h)
{
  struct scene_region *region = &scene->region[scene->regions++];

  *region = (struct scene_region){.deposit = deposit, .shape = REGION_RECTANGLE, .vertices = 2};
  region->vertex[0] = (struct point){x, y};
  region->vertex[1] = (struct point){x + w, y + h};
  snprintf(region->label, sizeof region->label, "%s", label);
}

static void add_face(struct scene *scene)
{
  section_outline_layer(scene,
                        add(scene, "103", "surrounding deposit", &SURROUNDING,
                            (struct scene_texture){0.08, 1.8, 0.06, 0.012, 0.008, 3, 0}),
                        0, 1);
  section_outline_layer(scene,
                        add(scene, "104", "surrounding deposit", &LOWER,
                            (struct scene_texture){0.07, 1.5, 0.06, 0.015, 0.02, 6, 0}),
                        0.78, 2);
  section_outline_cut(
      scene, add(scene, "102", "fill", &FILL, (struct scene_texture){0.10, 2.4, 0.08, 0.015, 0.03, 4, 0}),
      0.12, 0.60, 0.19, 0.55, 3);
  outline_above(
      scene,
      add(scene, "101", "topsoil", &TOPSOIL, (struct scene_texture){0.12, 2.2, 0.06, 0.015, 0.01, 3, 0}), 0.2,
      4);
}

static void add_face_regions(struct scene *scene)
{
  struct scene_region *circle;

  add_rectangle(scene, "topsoil", 3, 700, 60, 300, 110);
  add_rectangle(scene, "surrounding-left", 0, 380, 420, 180, 240);
  add_rectangle(scene, "surrounding-right", 0, 1330, 420, 190, 240);
  add_rectangle(scene, "lower", 1, 600, 1010, 360, 130);
  circle = &scene->region[scene->regions++];
  *circle = (struct scene_region){
      .deposit = 2, .shape = REGION_CIRCLE, .vertex = {{960, 420}}, .vertices = 1, .radius = 90};
  snprintf(circle->label, sizeof circle->label, "fill-upper");
  circle = &scene->region[scene->regions++];
  *circle = (struct scene_region){.deposit = 2,
                                  .shape = REGION_POLYGON,
                                  .vertices = 5,
                                  .vertex = {{880, 580}, {1040, 580}, {1060, 650}, {960, 720}, {870, 660}}};
  snprintf(circle->label, sizeof circle->label, "fill-lower");
}

static void section_scene(struct scene *scene, const struct spectra_source *source)
{
  scene_plain(scene, 1600, 1200, 20260504);
  scene->deposits = 0;
  add_face(scene);
  add_face_regions(scene);
  scene_card_chart24(scene, source->chart[CHART24_AFTER_2014], 0.7);
  scene->card.centre = (struct point){210, 690};
  scene->card.mm_per_pixel = 0.95;
  scene->card.rotation_degrees = -2.5;
  scene->card.tilt_degrees = 4;
  scene->card.tilt_direction_degrees = 70;
  scene->light = (struct scene_light){.direct = spectrum_of_daylight(5600),
                                      .sky = spectrum_of_daylight(11000),
                                      .sky_share = 0.25,
                                      .gradient = {0.07, -0.04},
                                      .sky_gradient = {-0.1, -0.2},
                                      .vignette = 0.22};
  common_camera(scene, 0.8);
}

/* Sprayed: every soil moist, a little glint, a somewhat later sun. The card stays dry. */
static void spray(struct scene *scene)
{
  for (int i = 0; i < scene->deposits; i++) {
    struct scene_deposit *deposit = &scene->deposit[i];
    deposit->reflectance = made_wet(&deposit->reflectance, 1.15);
    deposit->moisture = MOISTURE_MOIST;
    deposit->texture.glint = 0.001;
  }
  scene->light.direct = spectrum_of_daylight(5300);
  scene->light.gradient[0] = 0.11;
  common_camera(scene, 0.85);
}

/* A band between two arcs over the width of the sherd, from one depth to another (0 outer face, 1 inner face). */
static void outline_band(struct scene_deposit *zone, double from, double to)
{
  enum { STEPS = 40 };

  for (int i = 0; i < 2 * STEPS; i++) {
    bool back = i >= STEPS;
    double t = back ? 2 * STEPS - 1 - i : i, x = 2 * t / (STEPS - 1) - 1;
    double depth = back ? to : from, ragged = 3 * sin(9 * x + 5 * depth) + 2 * sin(23 * x + 3 * depth);
    zone->vertex[i] = (struct point){840 + x * (330 + 6 * depth), 985 + 55 * x * x + 96 * depth + ragged};
  }
  zone->vertices = 2 * STEPS;
}

static void add_zone(struct scene *scene, const char *zone, const struct soil_recipe *recipe, double from,
                     double to)
{
  struct scene_texture fabric = {0.06, 1.2, 0.05, 0.01, 0.02, 1.5, 0};
  struct scene_deposit *deposit = add(scene, "", "", recipe, fabric);

  snprintf(deposit->find, sizeof deposit->find, "F12");
  snprintf(deposit->zone, sizeof deposit->zone, "%s", zone);
  outline_band(deposit, from, to);
}

static void sherd_scene(struct scene *scene, const struct spectra_source *source)
{
  scene_plain(scene, 1600, 1200, 12);
  scene->deposits = 0;
  section_outline_layer(
      scene, add(scene, "", "", &BOARD, (struct scene_texture){0.02, 1.5, 0.02, 0.002, 0, 1, 0}), 0, 1);
  add_zone(scene, "outer margin", &OUTER, 0, 0.36);
  add_zone(scene, "core", &CORE, 0.33, 0.72);
  add_zone(scene, "inner margin", &INNER, 0.69, 1);
  add_rectangle(scene, "outer-margin", 1, 780, 994, 120, 16);
  add_rectangle(scene, "core", 2, 780, 1029, 120, 18);
  add_rectangle(scene, "inner-margin", 3, 780, 1063, 120, 13);
  scene_card_chart24(scene, source->chart[CHART24_AFTER_2014], 0.7);
  scene->card.centre = (struct point){800, 480};
  scene->card.mm_per_pixel = 0.27;
  scene->card.rotation_degrees = 1.2;
  scene->card.tilt_degrees = 1.5;
  scene->light = (struct scene_light){.direct = made_led(0.8, 565, 56),
                                      .sky = spectrum_of_daylight(6500),
                                      .sky_share = 0.1,
                                      .gradient = {-0.05, 0.08},
                                      .vignette = 0.15};
  common_camera(scene, 0.82);
}

static bool write_photo(const struct scene *scene, const char *folder, const char *photo,
                        struct text *regions, struct text *lines, struct error *error)
{
  struct file_bytes file = {0};
  struct truth truth;
  char path[512];

  snprintf(path, sizeof path, "%s/%s", folder, photo);
  truth_of_scene(scene, &truth);
  truth_regions_csv(scene, photo, !regions->length, regions);
  truth_csv(&truth, photo, !lines->length, lines);
  bool done = render_file(scene, &file, error) && file_write(path, file.data, file.size, error);
  file_bytes_clear(&file);
  return done;
}

static bool write_samples(const struct spectra_source *source, const char *folder, struct error *error)
{
  static struct scene scene;
  struct text regions = {0}, lines = {0};
  char path[512];

  section_scene(&scene, source);
  bool done = write_photo(&scene, folder, "section-dry.jpg", &regions, &lines, error);
  spray(&scene);
  done = done && write_photo(&scene, folder, "section-moist.jpg", &regions, &lines, error);
  sherd_scene(&scene, source);
  done = done && write_photo(&scene, folder, "sherd.jpg", &regions, &lines, error);
  snprintf(path, sizeof path, "%s/regions.csv", folder);
  done = done && file_write(path, regions.data, regions.length, error);
  snprintf(path, sizeof path, "%s/truth.csv", folder);
  done = done && file_write(path, lines.data, lines.length, error);
  text_clear(&regions);
  text_clear(&lines);
  return done;
}

int main(int argc, char **argv)
{
  static struct spectra_source source;
  struct error error = {0};

  if (argc != 2) {
    fprintf(stderr, "usage: render_samples FOLDER\n");
    return 2;
  }
  if (!source_made(&source, &error) || !write_samples(&source, argv[1], &error)) {
    fprintf(stderr, "render_samples: %s\n", error.text);
    return error_exit_status(error.kind);
  }
  return 0;
}
