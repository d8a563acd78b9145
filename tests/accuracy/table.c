/* SPDX-License-Identifier: MIT */
/* accuracy_table TITLE TRUTH.csv < READINGS.jsonl
 *
 * Prints the scores of readings (the program's own --json output, a line a photo) against the truth that render_scene wrote
 * (tests/support/truth.h). */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "colour/difference.h"
#include "munsell/chip.h"
#include "score.h"

enum { NAME = 128 };

struct truth {
  char photo[NAME], region[NAME];
  struct lab lab;
  const struct munsell_chip *chip;
  bool lit;
  double light;
};

struct truth_list {
  struct truth *item; /* owned */
  size_t count;
};

struct tally {
  struct score_list lit, shaded;
  size_t photos, cards, expected, read;
  size_t off_by_6, off_by_6_warned, within_2, within_2_warned, photos_warned;
};

static void stop(const char *why)
{
  fprintf(stderr, "accuracy_table: %s\n", why);
  exit(1);
}

/* False for the rows of the card's corners, which carry no colour. */
static bool truth_of_line(const char *line, struct truth *truth)
{
  struct xyz c;
  char light[16];

  *truth = (struct truth){0};
  if (sscanf(line,
             "%127[^,],%127[^,],%*[^,],%*[^,],%*[^,],%lf,%lf,%lf,%lf,%lf,%lf,%lf,%*[^,],%*[^,],%*[^,],%15s",
             truth->photo, truth->region, &truth->lab.L, &truth->lab.a, &truth->lab.b, &c.X, &c.Y, &c.Z,
             &truth->light, light) != 10) {
    return false;
  }
  truth->lit = strcmp(light, "lit") == 0;
  truth->chip = munsell_nearest_soil_chip(colour_lab_from_xyz(c, COLOUR_WHITE_C), NULL);
  return true;
}

static struct truth_list read_truth(const char *path)
{
  struct truth_list list = {0};
  FILE *in = fopen(path, "r");
  char line[1024];

  if (!in || !fgets(line, sizeof line, in)) {
    stop("the truth can't be read");
  }
  while (fgets(line, sizeof line, in)) {
    struct truth truth;
    if (!truth_of_line(line, &truth)) {
      continue;
    }
    list.item = realloc(list.item, (list.count + 1) * sizeof *list.item);
    if (!list.item) {
      stop("no memory");
    }
    list.item[list.count++] = truth;
  }
  fclose(in);
  return list;
}

static const struct truth *find_truth(const struct truth_list *list, const char *photo, const char *region)
{
  for (size_t i = 0; i < list->count; i++) {
    if (strcmp(list->item[i].photo, photo) == 0 && strcmp(list->item[i].region, region) == 0) {
      return &list->item[i];
    }
  }
  return NULL;
}

/* A warning about this region or about the whole photo. */
static bool is_warned(json_t *photo, const char *region)
{
  size_t i;
  json_t *warning;

  json_array_foreach(json_object_get(photo, "warnings"), i, warning)
  {
    const char *about = json_string_value(json_object_get(warning, "region"));
    if (!about || strcmp(about, region) == 0) {
      return true;
    }
  }
  return false;
}

static double number(json_t *array, size_t index)
{
  return json_number_value(json_array_get(array, index));
}

static bool same_chip(json_t *reading, const char *key, const struct munsell_chip *chip)
{
  const char *notation = json_string_value(json_object_get(reading, key));

  return notation && strcmp(notation, chip->notation) == 0;
}

static struct score_case score_reading(json_t *photo, json_t *reading, const struct truth *truth)
{
  json_t *lab = json_object_get(reading, "lab_d50");
  struct lab read = {number(lab, 0), number(lab, 1), number(lab, 2)};
  bool right = same_chip(reading, "chip", truth->chip);

  return (struct score_case){
      .error = colour_de00(read, truth->lab),
      .radius = json_number_value(json_object_get(json_object_get(reading, "uncertainty"), "de00")),
      .chance = json_number_value(json_object_get(reading, "chip_chance")),
      .chip_right = right,
      .either_right = right || same_chip(reading, "runner_up", truth->chip),
      .lit = truth->lit,
      .warned = is_warned(photo, truth->region),
      .light_error = log(json_number_value(json_object_get(reading, "light_gain")) / truth->light)};
}

static void count_warning(struct tally *tally, const struct score_case *item)
{
  tally->off_by_6 += item->error > 6;
  tally->off_by_6_warned += item->error > 6 && item->warned;
  tally->within_2 += item->error <= 2;
  tally->within_2_warned += item->error <= 2 && item->warned;
}

static void tally_photo(struct tally *tally, const struct truth_list *truths, json_t *photo)
{
  const char *file = json_string_value(json_object_get(json_object_get(photo, "photo"), "file"));
  json_t *readings = json_object_get(photo, "readings"), *reading;
  size_t i;

  tally->photos++;
  tally->cards += json_is_true(json_object_get(json_object_get(photo, "card"), "found"));
  tally->photos_warned += json_array_size(json_object_get(photo, "warnings")) > 0;
  json_array_foreach(readings, i, reading)
  {
    const char *region = json_string_value(json_object_get(reading, "region"));
    const struct truth *truth = file && region ? find_truth(truths, file, region) : NULL;
    if (!truth || !json_is_array(json_object_get(reading, "lab_d50"))) {
      continue;
    }
    struct score_case item = score_reading(photo, reading, truth);
    tally->read++;
    count_warning(tally, &item);
    if (!score_add(item.lit ? &tally->lit : &tally->shaded, item)) {
      stop("no memory");
    }
  }
}

static void tally_lines(struct tally *tally, const struct truth_list *truths)
{
  char *line = NULL;
  size_t room = 0;

  while (getline(&line, &room, stdin) > 0) {
    json_t *photo = json_loads(line, 0, NULL);
    if (!photo) {
      stop("a line of the readings is no JSON");
    }
    tally_photo(tally, truths, photo);
    json_decref(photo);
  }
  free(line);
  tally->expected = truths->count;
}

static double share_of(size_t part, size_t whole)
{
  return whole ? 100.0 * (double)part / (double)whole : (double)NAN;
}

static void print_chips(const struct score_list *list)
{
  size_t right = 0, either = 0;

  for (size_t i = 0; i < list->count; i++) {
    right += list->item[i].chip_right;
    either += list->item[i].either_right;
  }
  printf("  nearest chip right %.1f %%, it or the runner-up %.1f %%\n", share_of(right, list->count),
         share_of(either, list->count));
  printf("  chip chance stated/right:");
  for (int bin = 0; bin < 5; bin++) {
    double stated, true_share;
    size_t count = score_chance_bin(list, bin, &stated, &true_share);
    printf("  %.2f/%.2f (%zu)", stated, true_share, count);
  }
  printf("\n");
}

static void print_light(const struct score_list *list)
{
  double sum = 0;
  size_t count = 0;

  for (size_t i = 0; i < list->count; i++) {
    if (isfinite(list->item[i].light_error)) {
      sum += list->item[i].light_error * list->item[i].light_error;
      count++;
    }
  }
  printf("  light at the region: %.2f %% rms off\n", count ? 100 * sqrt(sum / (double)count) : (double)NAN);
}

static void print_list(const char *name, const struct score_list *list)
{
  if (list->count == 0) {
    return;
  }
  printf("%s: %zu regions\n", name, list->count);
  printf("  CIEDE2000 median %.2f, 95th %.2f, largest %.2f\n", score_error_quantile(list, 0.5),
         score_error_quantile(list, 0.95), score_error_quantile(list, 1));
  printf("  stated radius covers %.1f %%; by thirds of radius %.1f, %.1f, %.1f %%\n",
         100 * score_coverage(list, -1), 100 * score_coverage(list, 0), 100 * score_coverage(list, 1),
         100 * score_coverage(list, 2));
  printf("  interval score %.2f, best constant radius %.2f\n", score_interval(list),
         score_interval_constant(list));
  print_chips(list);
  print_light(list);
}

int main(int argc, char **argv)
{
  if (argc != 3) {
    stop("usage: accuracy_table TITLE TRUTH.csv < READINGS.jsonl");
  }
  struct truth_list truths = read_truth(argv[2]);
  struct tally tally = {0};

  tally_lines(&tally, &truths);
  printf("== %s: %zu photos, card found in %zu, %zu of %zu regions read, %.1f %% of photos with a warning\n",
         argv[1], tally.photos, tally.cards, tally.read, tally.expected,
         share_of(tally.photos_warned, tally.photos));
  print_list("lit", &tally.lit);
  print_list("shaded", &tally.shaded);
  printf("off by more than 6 and warned: %zu of %zu; within 2 and warned all the same: %.1f %% of %zu\n",
         tally.off_by_6_warned, tally.off_by_6, share_of(tally.within_2_warned, tally.within_2),
         tally.within_2);
  free(truths.item);
  score_clear(&tally.lit);
  score_clear(&tally.shaded);
  return 0;
}
