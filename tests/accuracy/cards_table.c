/* SPDX-License-Identifier: MIT */
/* cards_table FOLDER < CHECKS.jsonl
 *
 * FOLDER holds photos and truth.csv (photos.h), the input is what `tawny check - --json` says of them. Prints how far each patch
 * of a genuine chart is read off by a camera fitted to the others, and how often that lies within what the fit expects. */
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/order.h"
#include "photos.h"
#include "score.h"

enum { PHOTOS_MAX = 400, PATCHES = 24 };

/* Charts that are full and of 24 patches but not of the maker whose colours the card files hold. */
static const char *const OTHERS[] = {"jar1", "jar2", "jar3",  "jar4",      "jar5",
                                     "jar6", "jar7", "ufmg1", "pcv_ctrax", "pcv_seedhead"};

/* Even and odd ones of the genuine charts found, in the order of truth.csv: one half to improve on, one to look at. */
enum group {
  GROUP_EASY,
  GROUP_MEDIUM,
  GROUP_HARD,
  GROUP_EVEN,
  GROUP_ODD,
  GROUP_ALL,
  GROUPS,
};
static const char *const GROUP_WORD[GROUPS] = {
    "easy", "medium", "hard", "first, third ...", "second, fourth ...", "all"};

struct tally {
  size_t charts, found, left_out;
  double median[PHOTOS_MAX], p90[PHOTOS_MAX]; /* of each photo found */
  struct score_list patches;
};

struct patch_tally {
  char name[32];
  size_t left_out;
  struct score_list errors;
};

struct totals {
  struct tally group[GROUPS];
  struct patch_tally patch[PATCHES];
};

static void stop(const char *why)
{
  fprintf(stderr, "cards_table: %s\n", why);
  exit(1);
}

static bool is_genuine(const struct photo_truth *truth)
{
  for (size_t i = 0; i < sizeof OTHERS / sizeof *OTHERS; i++) {
    if (strcmp(truth->id, OTHERS[i]) == 0) {
      return false;
    }
  }
  return truth->difficulty <= PHOTO_HARD;
}

/* The line about a photo: its file is called ID.jpg or ID.png. */
static json_t *find_check(json_t *checks, const char *id)
{
  size_t i, length = strlen(id);
  json_t *check;

  json_array_foreach(checks, i, check)
  {
    const char *file = json_string_value(json_object_get(json_object_get(check, "photo"), "file"));
    if (file && strncmp(file, id, length) == 0 && file[length] == '.') {
      return check;
    }
  }
  return NULL;
}

static void add(struct score_list *list, double error, double radius)
{
  if (!score_add(list, (struct score_case){.error = error, .radius = radius})) {
    stop("no memory");
  }
}

static void tally_patches(struct totals *totals, const enum group *groups, json_t *patches)
{
  size_t i;
  json_t *patch;

  json_array_foreach(patches, i, patch)
  {
    json_t *error = json_object_get(patch, "left_one_out"), *radius = json_object_get(patch, "expected95");
    struct patch_tally *kind = &totals->patch[i % PATCHES];
    snprintf(kind->name, sizeof kind->name, "%s", json_string_value(json_object_get(patch, "patch")));
    kind->left_out += json_is_null(error);
    for (int k = 0; k < 3; k++) {
      totals->group[groups[k]].left_out += json_is_null(error);
    }
    if (json_is_null(error)) {
      continue;
    }
    add(&kind->errors, json_number_value(error), json_number_value(radius));
    for (int k = 0; k < 3; k++) {
      add(&totals->group[groups[k]].patches, json_number_value(error), json_number_value(radius));
    }
  }
}

static void tally_card(struct totals *totals, const struct photo_truth *truth, json_t *card)
{
  json_t *summary = json_object_get(card, "left_one_out");
  size_t before = totals->group[GROUP_ALL].found;
  enum group groups[3] = {(enum group)truth->difficulty, before % 2 ? GROUP_ODD : GROUP_EVEN, GROUP_ALL};
  double median = json_number_value(json_object_get(summary, "median"));
  double p90 = json_number_value(json_object_get(summary, "p90"));

  for (int k = 0; k < 3; k++) {
    struct tally *tally = &totals->group[groups[k]];
    tally->median[tally->found] = median;
    tally->p90[tally->found++] = p90;
  }
  tally_patches(totals, groups, json_object_get(card, "patches"));
  printf("| %s | %s | %s | %lld | %.2f | %.2f |\n", truth->id, photo_difficulty_word[truth->difficulty],
         json_string_value(json_object_get(card, "name")),
         (long long)json_integer_value(json_object_get(card, "patches_used")), median, p90);
}

static void tally_photos(struct totals *totals, const char *folder, json_t *checks)
{
  static struct photo_truth truth[PHOTOS_MAX];
  int count = photo_truths_read(folder, truth, PHOTOS_MAX);

  printf("| photo | | edition | patches used | median | 90 %% |\n| --- | --- | --- | --- | --- | --- |\n");
  for (int i = 0; i < count; i++) {
    json_t *card = json_object_get(find_check(checks, truth[i].id), "card");
    if (!is_genuine(&truth[i])) {
      continue;
    }
    totals->group[truth[i].difficulty].charts++;
    totals->group[GROUP_ALL].charts++;
    if (json_is_true(json_object_get(card, "found"))) {
      tally_card(totals, &truth[i], card);
    }
  }
}

/* Of none it is not known. */
static double median_of(double *value, size_t count)
{
  return count ? order_median(value, count) : (double)NAN;
}

static void print_groups(struct totals *totals)
{
  printf("\n| charts | number | found | median of medians | of 90th percentiles | patches | left out | "
         "within expected 95 %% |"
         " by thirds of it | score, best constant |\n");
  printf("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
  for (int i = 0; i < GROUPS; i++) {
    struct tally *tally = &totals->group[i];
    const struct score_list *list = &tally->patches;
    bool half = i == GROUP_EVEN || i == GROUP_ODD;
    printf("| %s | %zu | %zu | %.2f | %.2f | %zu | %zu | %.1f %% | %.1f, %.1f, %.1f %% | %.2f, %.2f |\n",
           GROUP_WORD[i], half ? tally->found : tally->charts, tally->found,
           median_of(tally->median, tally->found), median_of(tally->p90, tally->found), list->count,
           tally->left_out, 100 * score_coverage(list, -1), 100 * score_coverage(list, 0),
           100 * score_coverage(list, 1), 100 * score_coverage(list, 2), score_interval(list),
           score_interval_constant(list));
  }
}

static void print_patches(const struct totals *totals)
{
  printf("\n| patch | scored | left out | median | 90 %% | within expected 95 %% |\n| --- | --- | --- | --- "
         "| --- | --- |\n");
  for (int i = 0; i < PATCHES; i++) {
    const struct patch_tally *patch = &totals->patch[i];
    printf("| %s | %zu | %zu | %.2f | %.2f | %.0f %% |\n", patch->name, patch->errors.count, patch->left_out,
           score_error_quantile(&patch->errors, 0.5), score_error_quantile(&patch->errors, 0.9),
           100 * score_coverage(&patch->errors, -1));
  }
}

/* Whether anything but white space follows. */
static bool more_follows(FILE *file)
{
  int c = fgetc(file);

  while (c == ' ' || c == '\t' || c == '\r' || c == '\n') {
    c = fgetc(file);
  }
  ungetc(c, file);
  return c != EOF;
}

static json_t *read_checks(void)
{
  json_t *checks = json_array();

  while (more_follows(stdin)) {
    json_error_t error;
    json_t *check = json_loadf(stdin, JSON_DISABLE_EOF_CHECK, &error);
    if (!check || json_array_append_new(checks, check) != 0) {
      char why[JSON_ERROR_TEXT_LENGTH + 48];
      snprintf(why, sizeof why, "photo %zu of the input: %s", json_array_size(checks) + 1,
               check ? "no memory" : error.text);
      stop(why);
    }
  }
  return checks;
}

int main(int argc, char **argv)
{
  static struct totals totals;

  if (argc != 2) {
    stop("usage: cards_table FOLDER < CHECKS.jsonl");
  }
  json_t *checks = read_checks();
  tally_photos(&totals, argv[1], checks);
  print_groups(&totals);
  print_patches(&totals);
  for (int i = 0; i < GROUPS; i++) {
    score_clear(&totals.group[i].patches);
  }
  for (int i = 0; i < PATCHES; i++) {
    score_clear(&totals.patch[i].errors);
  }
  json_decref(checks);
  return 0;
}
