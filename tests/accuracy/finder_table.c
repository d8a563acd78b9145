/* SPDX-License-Identifier: MIT */
/* What the card finder does on real photos: a table in Markdown.
 *
 *   finder_table FOLDER CROPS [-v]
 *
 * FOLDER holds photos and truth.csv (id, repository, path, commit, width, height, x and y of patches 1, 6, 24, 19 counted from
 * pixel centres, difficulty, notes). CROPS pieces of photos without the card show how often a card is seen where none is. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "card/find.h"
#include "photos.h"
#include "random.h"

enum { PHOTOS_MAX = 400, CROP_MIN = 160 };
#define WRONG 0.15 /* of the patch spacing: a corner patch's centre farther off is wrong */
static const uint64_t SEED = 20260504;

struct tally {
  int photos, found, declined, wrong;
  double error[PHOTOS_MAX];
};

struct totals {
  struct tally tally[PHOTO_DIFFICULTIES];
  double milliseconds[PHOTOS_MAX];
  int timed;
  long crops, crop_hits;
};

/* Largest error of a corner in patch spacings, of the found card that fits best. */
static double error_of(const struct card_search *search, const struct photo_truth *truth)
{
  double best = INFINITY;

  for (size_t i = 0; i < search->count; i++) {
    double worst = 0;

    for (int k = 0; k < 4; k++)
      worst = fmax(worst, hypot(search->pose[i].corner[k].x - truth->corner[k][0],
                                search->pose[i].corner[k].y - truth->corner[k][1]));
    best = fmin(best, worst / photo_spacing(truth));
  }
  return best;
}

static bool search_photo(const struct image *image, const struct card_list *cards, struct card_search *search,
                         struct error *error, double *milliseconds)
{
  struct image_blocks blocks = {0};
  clock_t start;
  bool found;

  if (!image_blocks_make(image, 8, &blocks, error))
    return false;
  start = clock();
  found = card_find(image, &blocks, cards, search, error);
  *milliseconds = 1000.0 * (double)(clock() - start) / CLOCKS_PER_SEC;
  image_blocks_clear(&blocks);
  return found;
}

static void photo_count(const struct photo_truth *truth, const struct image *image,
                        const struct card_list *cards, struct totals *totals, bool verbose)
{
  struct tally *tally = &totals->tally[truth->difficulty];
  struct card_search search;
  struct error error = {0};
  double milliseconds = 0, off = INFINITY;
  bool found = search_photo(image, cards, &search, &error, &milliseconds);

  totals->milliseconds[totals->timed++] = milliseconds;
  if (found && truth->has_card)
    off = error_of(&search, truth);
  if (!found)
    tally->declined++;
  else if (off <= WRONG)
    tally->error[tally->found++] = off;
  else
    tally->wrong++;
  if (verbose)
    printf("%-14s %-6s %-14s %6.3f %5.0f ms\n", truth->id, photo_difficulty_word[truth->difficulty],
           found ? "found" : error.code, found ? off : 0.0, milliseconds);
}

static bool crop_meets_card(const struct photo_truth *truth, int left, int top, int width, int height)
{
  double x0 = INFINITY, x1 = -INFINITY, y0 = INFINITY, y1 = -INFINITY, rim;

  if (!truth->has_card)
    return false;
  rim = photo_spacing(truth);
  for (int k = 0; k < 4; k++) {
    x0 = fmin(x0, truth->corner[k][0] - rim);
    x1 = fmax(x1, truth->corner[k][0] + rim);
    y0 = fmin(y0, truth->corner[k][1] - rim);
    y1 = fmax(y1, truth->corner[k][1] + rim);
  }
  return left < x1 && left + width > x0 && top < y1 && top + height > y0;
}

static bool crop_make(const struct image *image, int left, int top, int width, int height, struct image *crop)
{
  size_t bytes = (size_t)image->bits / 8 * 3;

  *crop = (struct image){.width = width, .height = height, .bits = image->bits};
  crop->codes = malloc(bytes * (size_t)width * (size_t)height);
  if (crop->codes == NULL)
    return false;
  for (int y = 0; y < height; y++)
    memcpy((char *)crop->codes + bytes * (size_t)y * (size_t)width,
           (const char *)image->codes + bytes * ((size_t)(top + y) * (size_t)image->width + (size_t)left),
           bytes * (size_t)width);
  return true;
}

static void crop_count(const struct photo_truth *truth, const struct image *image,
                       const struct card_list *cards, struct random *random, struct totals *totals,
                       bool verbose)
{
  int width = (int)(image->width * random_between(random, 0.15, 1.0));
  int height = (int)(image->height * random_between(random, 0.15, 1.0));
  int left = random_below(random, image->width - width + 1),
      top = random_below(random, image->height - height + 1);
  struct card_search search;
  struct error error = {0};
  struct image crop;
  double milliseconds;

  if (width < CROP_MIN || height < CROP_MIN || crop_meets_card(truth, left, top, width, height) ||
      !crop_make(image, left, top, width, height, &crop))
    return;
  totals->crops++;
  if (search_photo(&crop, cards, &search, &error, &milliseconds)) {
    totals->crop_hits++;
    printf("false alarm in %s, %d x %d at %d, %d\n", truth->id, width, height, left, top);
  } else if (verbose && strcmp(error.code, "no-card") != 0) {
    printf("%s in %s, %d x %d at %d, %d\n", error.code, truth->id, width, height, left, top);
  }
  image_clear(&crop);
}

static int number_order(const void *a, const void *b)
{
  double one = *(const double *)a, two = *(const double *)b;

  return (one > two) - (one < two);
}

static double quantile(double *list, int count, double share)
{
  qsort(list, (size_t)count, sizeof *list, number_order);
  return count ? list[(int)(share * (count - 1))] : 0;
}

static void totals_print(struct totals *totals)
{
  printf("\n| photos | number | found | declined | wrong | centre error median | 95 %% |\n");
  printf("| --- | --- | --- | --- | --- | --- | --- |\n");
  for (int i = 0; i < PHOTO_DIFFICULTIES; i++) {
    struct tally *tally = &totals->tally[i];

    printf("| %s | %d | %d | %d | %d | %.3f | %.3f |\n", photo_difficulty_word[i], tally->photos,
           tally->found, tally->declined, tally->wrong, quantile(tally->error, tally->found, 0.5),
           quantile(tally->error, tally->found, 0.95));
  }
  printf("\nSearch: median %.0f ms, longest %.0f ms CPU. Pieces without a card: %ld, false alarms %ld.\n",
         quantile(totals->milliseconds, totals->timed, 0.5), quantile(totals->milliseconds, totals->timed, 1),
         totals->crops, totals->crop_hits);
}

static void photo_run(const char *folder, const struct photo_truth *truth, const struct card_list *cards,
                      int crops, struct random *random, struct totals *totals, bool verbose)
{
  struct image image = {0};
  struct error error;

  totals->tally[truth->difficulty].photos++;
  if (!photo_open(folder, truth->id, &image, &error)) {
    totals->tally[truth->difficulty].declined++;
    printf("%s\n", error.text);
    return;
  }
  photo_count(truth, &image, cards, totals, verbose);
  for (int i = 0; i < crops && !truth->part_of_card; i++)
    crop_count(truth, &image, cards, random, totals, verbose);
  image_clear(&image);
}

int main(int argc, char **argv)
{
  static struct photo_truth truth[PHOTOS_MAX];
  static struct totals totals;
  struct random random = random_start(SEED);
  struct card_list cards;
  struct error error;
  int count;

  if (argc < 3 || (count = photo_truths_read(argv[1], truth, PHOTOS_MAX)) == 0) {
    fprintf(stderr,
            "finder_table FOLDER CROPS [-v]: a folder of photos with truth.csv, tries of pieces a photo\n");
    return 2;
  }
  if (!card_list_open("chart24", &cards, &error)) {
    fprintf(stderr, "%s\n", error.text);
    return 4;
  }
  for (int i = 0; i < count; i++)
    photo_run(argv[1], &truth[i], &cards, (int)strtol(argv[2], NULL, 10), &random, &totals, argc > 3);
  totals_print(&totals);
  card_list_clear(&cards);
  return 0;
}
