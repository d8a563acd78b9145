/* SPDX-License-Identifier: MIT */
/* render_scene TIER SEED NAME [measured]
 *
 * Writes a random scene of the tier (clean, field, hard): the picture NAME.jpg or NAME.png, NAME-regions.csv, NAME-truth.csv.
 * With `measured`, spectra come from ../shared/spectra. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "render.h"
#include "truth.h"

static bool parse(int argc, char **argv, enum scene_tier *tier, uint64_t *seed)
{
  static const char *const words[] = {"clean", "field", "hard"};
  char *end;

  if (argc < 4 || argc > 5 || (argc == 5 && strcmp(argv[4], "measured") != 0)) {
    return false;
  }
  *seed = strtoull(argv[2], &end, 10);
  for (int i = 0; i < 3; i++) {
    if (!strcmp(argv[1], words[i])) {
      *tier = (enum scene_tier)i;
      return *end == '\0';
    }
  }
  return false;
}

static bool write_text(const char *name, const char *ending, const struct text *text, struct error *error)
{
  char path[512];

  snprintf(path, sizeof path, "%s%s", name, ending);
  return file_write(path, text->data, text->length, error);
}

static bool write_scene(const struct scene *scene, const char *name, struct error *error)
{
  struct text regions = {0}, lines = {0};
  struct file_bytes file = {0};
  struct truth truth;
  char path[512];

  snprintf(path, sizeof path, "%s.%s", name, scene->file.jpeg_quality ? "jpg" : "png");
  truth_of_scene(scene, &truth);
  truth_regions_csv(scene, file_name(path), true, &regions);
  truth_csv(&truth, file_name(path), true, &lines);
  bool done = render_file(scene, &file, error) && file_write(path, file.data, file.size, error) &&
              write_text(name, "-regions.csv", &regions, error) &&
              write_text(name, "-truth.csv", &lines, error);
  file_bytes_clear(&file);
  text_clear(&regions);
  text_clear(&lines);
  return done;
}

int main(int argc, char **argv)
{
  static struct scene scene;
  static struct spectra_source source;
  struct error error = {0};
  enum scene_tier tier;
  uint64_t seed;

  if (!parse(argc, argv, &tier, &seed)) {
    fprintf(stderr, "usage: render_scene clean|field|hard SEED NAME [measured]\n");
    return 2;
  }
  bool done = argc == 5 ? source_measured(&source, &error) : source_made(&source, &error);
  if (done) {
    scene_random(tier, seed, &source, &scene);
    done = write_scene(&scene, argv[3], &error);
    source_clear(&source);
  }
  if (!done) {
    fprintf(stderr, "render_scene: %s\n", error.text);
  }
  return done ? 0 : error_exit_status(error.kind);
}
