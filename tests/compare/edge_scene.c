/* SPDX-License-Identifier: MIT */
#include "edge_scene.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/file.h"
#include "made.h"
#include "render.h"

static void texture(struct scene_deposit *deposit)
{
  deposit->texture = (struct scene_texture){
      .size = 0.08, .grain = 2, .coarse = 0.05, .mottle = 0.01, .stones = 0.004, .stone_pixels = 3};
}

void edge_scene_plain(uint64_t seed, struct scene *scene)
{
  struct spectra_source source;
  struct error error;

  ck_assert_msg(source_made(&source, &error), "%s", error.text);
  scene_plain(scene, FACE_WIDTH, FACE_HEIGHT, seed);
  scene_card_chart24(scene, source.chart[0], 0);
  scene->card.centre = (struct point){190, 160};
  scene->card.mm_per_pixel = 1;
  scene->deposit[0].reflectance = made_soil_of(&(struct soil_recipe){
      .flat = 0.35, .humus = 0.5, .fall = 120, .iron = 0.5, .redness = 0.5, .width = 25});
  texture(&scene->deposit[0]);
  scene->camera.blur = 0.7;
  scene->camera.read_noise = 0.001;
  source_clear(&source);
}

void edge_scene(double thick, double degrees, uint64_t seed, struct scene *scene)
{
  double c = cos(degrees * M_PI / 180), s = sin(degrees * M_PI / 180), far = 4000;
  struct scene_deposit *second = &scene->deposit[1];

  edge_scene_plain(seed, scene);
  *second = scene->deposit[0];
  second->reflectance = made_soil_of(&(struct soil_recipe){
      .flat = 0.2, .humus = 0.25, .fall = 120, .iron = 0.8, .redness = 0.2, .width = 25});
  scene->deposits = 2;
  scene->boundary = (struct scene_boundary){true, 0, 1, {620, 320}, degrees, thick};
  second->vertices = 4;
  second->vertex[0] = (struct point){620 - far * s, 320 + far * c};
  second->vertex[1] = (struct point){620 + far * s, 320 - far * c};
  second->vertex[2] = (struct point){second->vertex[1].x + far * c, second->vertex[1].y + far * s};
  second->vertex[3] = (struct point){second->vertex[0].x + far * c, second->vertex[0].y + far * s};
}

void edge_scene_measure(const struct scene *scene, const struct card_list *cards, struct measurement *m)
{
  char path[] = "/tmp/tawny-edge-XXXXXX";
  struct file_bytes file;
  struct error error;
  int handle = mkstemp(path);

  ck_assert_int_ge(handle, 0);
  close(handle);
  ck_assert_msg(render_file(scene, &file, &error), "%s", error.text);
  ck_assert_msg(file_write(path, file.data, file.size, &error), "%s", error.text);
  file_bytes_clear(&file);
  bool done = measure_photo(path, &(struct measure_options){.cards = cards}, m, &error);
  unlink(path);
  ck_assert_msg(done, "%s", error.text);
}
