/* SPDX-License-Identifier: MIT */
/* mottle_table TIER FIRST SCENES [measured] [list|check]
 *
 * Renders scenes of the tier from seed FIRST on, mottled ones and plain ones, reads them, and prints how often mottles are found
 * where there are some and where there are none, and how right shares, sizes and their classes are. `list` adds a line a region;
 * `check` is the short form for the tests: the exit status is 1 where the figures are worse than stated in docs/accuracy.md. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "compare/classes.h"
#include "compare/mottle.h"
#include "mottled.h"
#include "render.h"
#include "truth.h"

static const double DIFFERS = 6; /* CIEDE2000 between the soils, at least */

/* Lumps of 64 pixels or more in a region that should show that it is mottled. */
enum { CLEAR_LUMPS = 5 };

struct tally {
  size_t regions, found, clear, clear_found, more_parts, share_held, share_in_region, share_cases;
  size_t class_cases[2], class_right[2], size_cases, size_known, size_right[2], size_held, sizes;
  double share_error, contrast_error, size_error;
};

enum kind { MOTTLED, PLAIN, STONY, KINDS };

static void fail(const struct error *error)
{
  fprintf(stderr, "mottle_table: %s\n", error->text);
  exit(error_exit_status(error->kind));
}

/* The regions of a scene as the program holds them. */
static void take_regions(const struct scene *scene, struct region_list *list)
{
  list->region = calloc(SCENE_REGIONS_MAX, sizeof *list->region);
  list->count = 0;
  for (int i = 0; list->region && i < scene->regions; i++) {
    const struct scene_region *from = &scene->region[i];
    struct region *to = &list->region[list->count++];
    int corners = from->shape == REGION_POLYGON ? from->vertices : from->shape == REGION_CIRCLE ? 64 : 4;
    to->vertex = calloc((size_t)corners, sizeof *to->vertex);
    to->vertices = (size_t)corners;
    to->shape = from->shape;
    to->moisture = scene->deposit[from->deposit].moisture;
    snprintf(to->label, sizeof to->label, "%s", from->label);
    for (int k = 0; to->vertex && k < corners; k++) {
      double angle = 2 * M_PI * k / corners;
      to->vertex[k] = from->shape == REGION_POLYGON ? from->vertex[k]
                      : from->shape == REGION_CIRCLE
                          ? (struct point){from->vertex[0].x + from->radius * cos(angle),
                                           from->vertex[0].y + from->radius * sin(angle)}
                          : (struct point){from->vertex[k == 1 || k == 2].x, from->vertex[k >= 2].y};
    }
  }
}

/* Renders a scene and measures it. */
static bool measure(const struct scene *scene, const struct card_list *cards, struct region_list *list,
                    struct measurement *measurement)
{
  struct measure_options options = {.cards = cards, .regions = list};
  char path[] = "/tmp/mottled-XXXXXX";
  int handle = mkstemp(path);
  struct file_bytes file;
  struct error error;

  if (handle < 0 || !render_file(scene, &file, &error) || !file_write(path, file.data, file.size, &error)) {
    fprintf(stderr, "mottle_table: no scene\n");
    exit(3);
  }
  close(handle);
  file_bytes_clear(&file);
  take_regions(scene, list);
  if (!measure_photo(path, &options, measurement, &error)) {
    fail(&error);
  }
  unlink(path);
  return measurement->card_found;
}

/* No limit of the class lies in the interval. */
static bool class_sure(enum class_system system, enum class_attribute attribute, struct mottle_figure f,
                       double scale)
{
  return class_of(system, attribute, scale * f.low) == class_of(system, attribute, scale * f.high);
}

static void judge_size(const struct scene *scene, const struct mottle_part *part,
                       const struct mottled_truth *truth, struct tally *t)
{
  double mm = truth->diameter * scene->card.mm_per_pixel;

  t->size_cases++;
  if (!part->sized || truth->lumps == 0) {
    return;
  }
  t->size_known++;
  t->size_error += fabs(log(part->size.value / mm));
  t->size_held += part->size.low <= mm && mm <= part->size.high;
  if (class_sure(CLASS_USDA, CLASS_SIZE, part->size, 1)) {
    t->sizes++;
    t->size_right[0] +=
        class_of(CLASS_USDA, CLASS_SIZE, part->size.value) == class_of(CLASS_USDA, CLASS_SIZE, mm);
    t->size_right[1] +=
        class_of(CLASS_FAO, CLASS_SIZE, part->size.value) == class_of(CLASS_FAO, CLASS_SIZE, mm);
  }
}

static void print_region(const struct scene *scene, const struct scene_region *region,
                         const struct mottled_truth *truth, const struct mottles *found)
{
  printf("# %llu %s share %.3f (here %.3f) %.0f px contrast %.1f lumps %zu:", (unsigned long long)scene->seed,
         region->label, scene->lumps.share, truth->share, truth->diameter, mottled_contrast(scene),
         truth->lumps);
  for (size_t k = 0; found && k < found->parts; k++) {
    const struct mottle_part *p = &found->part[k];
    printf(" %.3f (%.3f-%.3f) de %.1f n %zu size %.1f;", p->share.value, p->share.low, p->share.high,
           p->difference.de00, p->lumps, p->sized ? p->size.value / scene->card.mm_per_pixel : 0);
  }
  printf("\n");
}

static void judge_classes(const struct scene *scene, const struct mottle_part *part, struct tally *t)
{
  for (int k = 0; k < CLASS_SYSTEMS; k++) {
    enum class_system system = (enum class_system)k;
    if (class_sure(system, CLASS_ABUNDANCE, part->share, 100)) {
      t->class_cases[k]++;
      t->class_right[k] += class_of(system, CLASS_ABUNDANCE, 100 * part->share.value) ==
                           class_of(system, CLASS_ABUNDANCE, 100 * scene->lumps.share);
    }
  }
}

/* The lumps' part is the second, as parts stand by share, unless lumps cover more than half of the region. */
static void judge_two(const struct scene *scene, const struct mottled_truth *truth,
                      const struct mottles *found, struct tally *t)
{
  const struct mottle_part *part = &found->part[truth->share > 0.5 ? 0 : 1];

  t->share_cases++;
  t->share_held += part->share.low <= scene->lumps.share && scene->lumps.share <= part->share.high;
  t->share_in_region += part->share.low <= truth->share && truth->share <= part->share.high;
  t->share_error += fabs(part->share.value - truth->share);
  t->contrast_error += fabs(found->part[1].difference.de00 - mottled_contrast(scene));
  judge_classes(scene, part, t);
  judge_size(scene, part, truth, t);
}

static void judge_region(const struct scene *scene, const struct scene_region *region,
                         const struct mottles *found, struct tally *t, bool list)
{
  struct mottled_truth truth;

  t->regions++;
  if (!mottled_truth_of(scene, region, 64, &truth)) {
    exit(4);
  }
  if (list) {
    print_region(scene, region, &truth, found);
  }
  bool clear = truth.lumps >= CLEAR_LUMPS;
  t->clear += clear;
  t->clear_found += clear && found;
  t->found += found != NULL;
  if (found && found->parts > 2) {
    t->more_parts++;
  } else if (found) {
    judge_two(scene, &truth, found, t);
  }
}

static void judge_scene(const struct scene *scene, const struct card_list *cards, struct tally *t, bool list)
{
  struct region_list regions = {0};
  struct measurement m;
  struct mottle_list found;
  struct error error;

  if (measure(scene, cards, &regions, &m)) {
    if (!mottles_find(&m, &found, &error)) {
      fail(&error);
    }
    for (size_t i = 0; i < m.readings; i++) {
      if (m.reading[i].measured) {
        judge_region(scene, &scene->region[i], mottles_of(&found, i), t, list);
      }
    }
    mottle_list_clear(&found);
  }
  measurement_clear(&m);
  region_list_clear(&regions);
}

static double percent(size_t part, size_t all)
{
  return all ? 100 * (double)part / (double)all : (double)NAN;
}

static void print_mottled(const char *name, const struct tally *t)
{
  double n = (double)t->share_cases;

  printf(
      "%s: %zu regions, mottles found in %.1f %%, in %.1f %% of the %zu with %d lumps or more; more than two "
      "colours in %.1f %%\n",
      name, t->regions, percent(t->found, t->regions), percent(t->clear_found, t->clear), t->clear,
      CLEAR_LUMPS, percent(t->more_parts, t->found));
  printf("  share: interval holds the deposit's in %.1f %%, the region's in %.1f %%; mean error %.2f %% of "
         "the area\n",
         percent(t->share_held, t->share_cases), percent(t->share_in_region, t->share_cases),
         100 * t->share_error / n);
  printf("  abundance class right where no limit lies in the interval: USDA %.1f %% of %zu, FAO %.1f %% of "
         "%zu\n",
         percent(t->class_right[0], t->class_cases[0]), t->class_cases[0],
         percent(t->class_right[1], t->class_cases[1]), t->class_cases[1]);
  printf(
      "  size: known in %.1f %%; mean error %.1f %%; interval holds it in %.1f %%; class right USDA %.1f %%, "
      "FAO %.1f %% of %zu\n",
      percent(t->size_known, t->size_cases), 100 * t->size_error / (double)t->size_known,
      percent(t->size_held, t->size_known), percent(t->size_right[0], t->sizes),
      percent(t->size_right[1], t->sizes), t->sizes);
  printf("  contrast: mean error %.2f CIEDE2000\n", t->contrast_error / n);
}

/* A few regions know shares of them only roughly: one in six may fail where one in twenty does in the long run; a face of one colour
 * never. Where there is none of what is looked at, nothing is as stated. */
static bool as_stated(const struct tally *mottled, const struct tally *plain)
{
  return plain->regions > 0 && plain->found == 0 && mottled->clear > 0 && mottled->share_cases > 0 &&
         mottled->size_known > 0 && 2 * mottled->clear_found >= mottled->clear &&
         6 * mottled->share_held >= 5 * mottled->share_cases &&
         6 * mottled->size_held >= 5 * mottled->size_known &&
         mottled->share_error < 0.02 * (double)mottled->share_cases;
}

static bool parse(int argc, char **argv, enum scene_tier *tier)
{
  static const char *const words[] = {"clean", "field", "hard"};

  for (int k = 0; argc >= 4 && k < 3; k++) {
    if (strcmp(argv[1], words[k]) == 0) {
      *tier = (enum scene_tier)k;
      return true;
    }
  }
  return false;
}

/* Each scene with lumps, the same face without, and what the tier has. */
static void judge_all(enum scene_tier tier, uint64_t first, uint64_t scenes,
                      const struct spectra_source *source, const struct card_list *cards,
                      struct tally tally[KINDS], bool list)
{
  static struct scene scene;

  for (uint64_t seed = first; seed < first + scenes; seed++) {
    mottled_scene(tier, seed, source, DIFFERS, false, &scene);
    judge_scene(&scene, cards, &tally[MOTTLED], list);
    scene.lumps.share = 0;
    judge_scene(&scene, cards, &tally[PLAIN], list);
    scene_random(tier, seed, source, &scene);
    judge_scene(&scene, cards, &tally[STONY], list);
  }
}

static void print_all(const struct tally tally[KINDS])
{
  const struct tally *plain = &tally[PLAIN], *stony = &tally[STONY];

  print_mottled("mottled", &tally[MOTTLED]);
  printf("one colour, no stones: %zu regions, one colour found in %.1f %%\n", plain->regions,
         100 - percent(plain->found, plain->regions));
  printf("scenes of the tier, with stones: %zu regions, one colour found in %.1f %%\n", stony->regions,
         100 - percent(stony->found, stony->regions));
}

int main(int argc, char **argv)
{
  static struct spectra_source source;
  struct tally tally[KINDS] = {{0}};
  struct card_list cards;
  struct error error;
  enum scene_tier tier;

  if (!parse(argc, argv, &tier)) {
    fprintf(stderr, "usage: mottle_table clean|field|hard FIRST SCENES [measured] [list|check]\n");
    return 2;
  }
  const char *last = argv[argc - 1];
  bool measured = argc > 4 && strcmp(argv[4], "measured") == 0;
  if (!card_list_open("chart24", &cards, &error) ||
      !(measured ? source_measured(&source, &error) : source_made(&source, &error))) {
    fail(&error);
  }
  judge_all(tier, strtoull(argv[2], NULL, 10), strtoull(argv[3], NULL, 10), &source, &cards, tally,
            strcmp(last, "list") == 0);
  print_all(tally);
  bool good = strcmp(last, "check") != 0 || as_stated(&tally[MOTTLED], &tally[PLAIN]);
  source_clear(&source);
  card_list_clear(&cards);
  return good ? 0 : 1;
}
