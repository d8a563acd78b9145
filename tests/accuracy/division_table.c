/* SPDX-License-Identifier: MIT */
/* division_table KIND SEED OUTLINES.json [measured]
 *
 * Holds proposed outlines against the layout of the rendered scene KIND SEED and prints a line of figures: letters proposed,
 * deposits there are, share of pixels right after the best matching of letters with deposits, pixels of the true boundary (clear
 * of the card), median and 95th percentile of their distance from a proposed boundary, share of the card and share of things
 * that lies inside outlines. KIND is clean, field, hard, section (one deposit), near (two, 2.0 CIEDE2000 apart) or things. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "region/file.h"
#include "region/outline.h"
#include "scene.h"
#include "texture.h"

enum { LETTERS = 64, FAR = 100000 };

struct layout {
  int width, height;
  uint8_t *truth, *letter, *card; /* owned; a byte a pixel; letter 0: outside all outlines */
  int letters;
};

static bool make_scene(const char *kind, uint64_t seed, const struct spectra_source *source,
                       struct scene *scene, struct error *error)
{
  static const char *const tier[] = {"clean", "field", "hard"};

  for (int i = 0; i < 3; i++) {
    if (strcmp(kind, tier[i]) == 0) {
      scene_random((enum scene_tier)i, seed, source, scene);
      return true;
    }
  }
  if (strcmp(kind, "section") == 0) {
    scene_random_edge(false, seed, source, scene);
  } else if (strcmp(kind, "near") == 0) {
    scene_random_near(2, seed, source, scene);
  } else if (strcmp(kind, "things") == 0) {
    scene_random_things(seed, source, scene);
  } else {
    return error_set(error, ERROR_USAGE, "kind",
                     "no kind of scene is called \"%s\"; give clean, field, hard, section, near or things",
                     kind);
  }
  return true;
}

/* The number from 1 of a label without its own number; 0 where there are more letters than are counted. */
static int letter_of(const char *label, char known[][96], int *count)
{
  char letter[96];
  int k = 0;

  snprintf(letter, sizeof letter, "%.*s", (int)strcspn(label, "-"), label);
  while (k < *count && strcmp(known[k], letter) != 0) {
    k++;
  }
  if (k == LETTERS - 1) {
    return 0;
  }
  if (k == *count) {
    memcpy(known[(*count)++], letter, sizeof letter);
  }
  return k + 1;
}

static bool paint_outline(const struct region *region, int letter, struct layout *layout)
{
  double *crossing = calloc(region->vertices + 1, sizeof *crossing);
  struct outline_span *span = calloc(region->vertices + 1, sizeof *span);
  bool done = crossing && span;

  for (int y = 0; done && y < layout->height; y++) {
    size_t spans = outline_row(region, y, layout->width, crossing, span);
    for (size_t k = 0; k < spans; k++) {
      memset(layout->letter + (size_t)y * (size_t)layout->width + (size_t)span[k].begin, letter,
             (size_t)(span[k].end - span[k].begin));
    }
  }
  free(crossing);
  free(span);
  return done;
}

static bool paint_outlines(const struct region_list *list, struct layout *layout, struct error *error)
{
  char known[LETTERS][96];

  for (size_t i = 0; i < list->count; i++) {
    int letter = letter_of(list->region[i].label, known, &layout->letters);
    if (letter == 0) {
      return error_set(error, ERROR_USAGE, "letters",
                       "the outlines have more than %d letters; raise LETTERS to score them", LETTERS - 1);
    }
    if (!paint_outline(&list->region[i], letter, layout)) {
      return error_no_memory(error, "the outlines");
    }
  }
  return true;
}

/* The card's pixels, through its plane. */
static void paint_card(const struct scene *scene, struct layout *layout)
{
  struct mat3 inverse;
  struct point size = scene_card_size_mm(&scene->card.geometry);
  double border = scene->card.geometry.border_mm;

  if (!scene->card.present || !mat3_invert(scene_card_plane(scene), &inverse)) {
    return;
  }
  for (int y = 0; y < layout->height; y++) {
    for (int x = 0; x < layout->width; x++) {
      struct point at = scene_project(inverse, x + 0.5, y + 0.5);
      layout->card[(size_t)y * (size_t)layout->width + (size_t)x] =
          at.x > -border && at.y > -border && at.x < size.x - border && at.y < size.y - border;
    }
  }
}

/* Pixels of things count apart: they belong to no deposit. */
static bool is_thing(const struct scene *scene, int deposit)
{
  return strcmp(scene->deposit[deposit].role, "thing") == 0;
}

struct figures {
  double right, face, on_card, card, on_things, things;
};

/* One letter for one deposit, the pair with most pixels first. */
static double match(long overlap[LETTERS][SCENE_DEPOSITS_MAX])
{
  double right = 0;

  for (int turn = 0; turn < SCENE_DEPOSITS_MAX; turn++) {
    int a = -1, b = -1;
    long most = 0;
    for (int i = 1; i < LETTERS; i++) {
      for (int j = 0; j < SCENE_DEPOSITS_MAX; j++) {
        if (overlap[i][j] > most) {
          most = overlap[i][j];
          a = i;
          b = j;
        }
      }
    }
    right += (double)most;
    for (int i = 0; i < LETTERS && a >= 0; i++) {
      overlap[i][b] = 0;
    }
    for (int j = 0; j < SCENE_DEPOSITS_MAX && a >= 0; j++) {
      overlap[a][j] = 0;
    }
  }
  return right;
}

static void count_pixels(const struct scene *scene, const struct layout *layout, struct figures *figures)
{
  static long overlap[LETTERS][SCENE_DEPOSITS_MAX];
  size_t pixels = (size_t)layout->width * (size_t)layout->height;

  for (size_t i = 0; i < pixels; i++) {
    bool inside = layout->letter[i] > 0;
    if (layout->card[i]) {
      figures->card++;
      figures->on_card += inside;
    } else if (is_thing(scene, layout->truth[i])) {
      figures->things++;
      figures->on_things += inside;
    } else {
      figures->face++;
      overlap[layout->letter[i]][layout->truth[i]]++;
    }
  }
  figures->right = match(overlap);
}

static bool is_rim(const uint8_t *map, int width, int height, int x, int y)
{
  size_t at = (size_t)y * (size_t)width + (size_t)x;

  return (x + 1 < width && map[at] != map[at + 1]) || (y + 1 < height && map[at] != map[at + (size_t)width]);
}

/* Distance in tenths of a pixel from the nearest rim of the letters, by steps of 10 and 14. */
static void distances(const struct layout *layout, int *distance)
{
  int w = layout->width, h = layout->height;

  for (int y = 0; y < h; y++) {
    for (int x = 0; x < w; x++) {
      distance[y * w + x] = is_rim(layout->letter, w, h, x, y) ? 0 : FAR;
    }
  }
  for (int back = 0; back < 2; back++) {
    int sign = back ? 1 : -1;
    for (int n = 0; n < w * h; n++) {
      int i = back ? w * h - 1 - n : n, x = i % w, y = i / w;
      const int dx[4] = {sign, 0, sign, -sign}, dy[4] = {0, sign, sign, sign}, cost[4] = {10, 10, 14, 14};
      for (int k = 0; k < 4; k++) {
        int u = x + dx[k], v = y + dy[k];
        if (u >= 0 && v >= 0 && u < w && v < h && distance[v * w + u] + cost[k] < distance[i]) {
          distance[i] = distance[v * w + u] + cost[k];
        }
      }
    }
  }
}

static int compare_ints(const void *a, const void *b)
{
  return (*(const int *)a > *(const int *)b) - (*(const int *)a < *(const int *)b);
}

/* Distances of the true boundary's pixels, those within 3 % of the frame of the card left out; sorted. */
static size_t boundary_distances(const struct scene *scene, const struct layout *layout, const int *distance,
                                 int *found)
{
  struct point size = scene_card_size_mm(&scene->card.geometry);
  double clear = 0.52 * hypot(size.x, size.y) / scene->card.mm_per_pixel + 0.03 * layout->width;
  size_t count = 0;

  for (int y = 0; y < layout->height; y++) {
    for (int x = 0; x < layout->width; x++) {
      size_t at = (size_t)y * (size_t)layout->width + (size_t)x;
      if (is_rim(layout->truth, layout->width, layout->height, x, y) && !is_thing(scene, layout->truth[at]) &&
          hypot(x - scene->card.centre.x, y - scene->card.centre.y) > clear) {
        found[count++] = distance[at];
      }
    }
  }
  qsort(found, count, sizeof *found, compare_ints);
  return count;
}

static void print_figures(const struct scene *scene, const struct layout *layout, int *distance, int *found)
{
  struct figures figures = {0};
  int deposits = 0;

  count_pixels(scene, layout, &figures);
  distances(layout, distance);
  size_t count = boundary_distances(scene, layout, distance, found);
  for (int i = 0; i < scene->deposits; i++) {
    deposits += !is_thing(scene, i);
  }
  printf("%d %d %.4f %zu %.1f %.1f %.4f %.4f\n", layout->letters, deposits, figures.right / figures.face,
         count, count ? found[count / 2] / 10.0 : 0, count ? found[count * 95 / 100] / 10.0 : 0,
         figures.on_card / fmax(figures.card, 1), figures.on_things / fmax(figures.things, 1));
}

static bool compare_layouts(const struct scene *scene, const struct region_list *list, struct error *error)
{
  size_t pixels = (size_t)scene->width * (size_t)scene->height;
  struct layout layout = {scene->width,      scene->height,     calloc(pixels, 1),
                          calloc(pixels, 1), calloc(pixels, 1), 0};
  int *distance = calloc(pixels, sizeof *distance), *found = calloc(pixels, sizeof *found);
  bool ready = layout.truth && layout.letter && layout.card && distance && found;
  bool done = ready ? paint_outlines(list, &layout, error) : error_no_memory(error, "the layout");

  if (done) {
    texture_paint_deposits(scene, layout.truth);
    paint_card(scene, &layout);
    print_figures(scene, &layout, distance, found);
  }
  free(layout.truth);
  free(layout.letter);
  free(layout.card);
  free(distance);
  free(found);
  return done;
}

int main(int argc, char **argv)
{
  static struct scene scene;
  static struct spectra_source source;
  struct region_list list = {0};
  struct error error = {0};

  if (argc < 4 || argc > 5 || (argc == 5 && strcmp(argv[4], "measured") != 0)) {
    fprintf(stderr, "usage: division_table KIND SEED OUTLINES.json [measured]\n");
    return 2;
  }
  bool done = (argc == 5 ? source_measured(&source, &error) : source_made(&source, &error)) &&
              region_file_read(argv[3], &list, &error) &&
              make_scene(argv[1], strtoull(argv[2], NULL, 10), &source, &scene, &error) &&
              compare_layouts(&scene, &list, &error);
  source_clear(&source);
  region_list_clear(&list);
  if (!done) {
    fprintf(stderr, "division_table: %s\n", error.text);
  }
  return done ? 0 : 1;
}
