/* SPDX-License-Identifier: MIT */
/* render_scene KIND SEED NAME [measured]
 *
 * Writes a random scene: the picture NAME.jpg or NAME.png, and what is true of it. KIND is a tier (clean, field, hard), with
 * NAME-regions.csv and NAME-truth.csv; or `edge`, two deposits and a line across their boundary, or `section`, one deposit and a
 * line, with NAME-edge.csv; or `near`, two deposits 2.0 CIEDE2000 apart, and `things`, a face with things on it, pictures alone. With `measured`, spectra come from ../shared/spectra. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "render.h"
#include "truth.h"

enum kind { EDGE = SCENE_HARD + 1, SECTION, NEAR, THINGS, KINDS }; /* behind the tiers */

static bool parse(int argc, char **argv, int *kind, uint64_t *seed)
{
  static const char *const words[KINDS] = {"clean", "field", "hard", "edge", "section", "near", "things"};
  char *end;

  if (argc < 4 || argc > 5 || (argc == 5 && strcmp(argv[4], "measured") != 0)) {
    return false;
  }
  *seed = strtoull(argv[2], &end, 10);
  for (int i = 0; i < KINDS; i++) {
    if (!strcmp(argv[1], words[i])) {
      *kind = i;
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

static bool write_picture(const struct scene *scene, const char *path, struct error *error)
{
  struct file_bytes file = {0};
  bool done = render_file(scene, &file, error) && file_write(path, file.data, file.size, error);

  file_bytes_clear(&file);
  return done;
}

static bool write_regions(const struct scene *scene, const char *name, const char *path, struct error *error)
{
  struct text regions = {0}, lines = {0};
  struct truth truth;

  truth_of_scene(scene, &truth);
  truth_regions_csv(scene, file_name(path), true, &regions);
  truth_csv(&truth, file_name(path), true, &lines);
  bool done =
      write_text(name, "-regions.csv", &regions, error) && write_text(name, "-truth.csv", &lines, error);
  text_clear(&regions);
  text_clear(&lines);
  return done;
}

static bool write_edge(const struct scene *scene, const char *name, const char *path, struct error *error)
{
  struct text lines = {0};

  truth_edge_csv(scene, file_name(path), true, &lines);
  bool done = write_text(name, "-edge.csv", &lines, error);
  text_clear(&lines);
  return done;
}

static bool write_scene(const struct scene *scene, int kind, const char *name, struct error *error)
{
  char path[512];

  snprintf(path, sizeof path, "%s.%s", name, scene->file.jpeg_quality ? "jpg" : "png");
  return write_picture(scene, path, error) &&
         (kind >= NEAR || (kind < EDGE ? write_regions : write_edge)(scene, name, path, error));
}

int main(int argc, char **argv)
{
  static struct scene scene;
  static struct spectra_source source;
  struct error error = {0};
  int kind;
  uint64_t seed;

  if (!parse(argc, argv, &kind, &seed)) {
    fprintf(stderr, "usage: render_scene clean|field|hard|edge|section|near|things SEED NAME [measured]\n");
    return 2;
  }
  bool done = argc == 5 ? source_measured(&source, &error) : source_made(&source, &error);
  if (done) {
    if (kind < EDGE) {
      scene_random((enum scene_tier)kind, seed, &source, &scene);
    } else if (kind < NEAR) {
      scene_random_edge(kind == EDGE, seed, &source, &scene);
    } else if (kind == NEAR) {
      scene_random_near(2, seed, &source, &scene);
    } else {
      scene_random_things(seed, &source, &scene);
    }
    done = write_scene(&scene, kind, argv[3], &error);
    source_clear(&source);
  }
  if (!done) {
    fprintf(stderr, "render_scene: %s\n", error.text);
  }
  return done ? 0 : error_exit_status(error.kind);
}
