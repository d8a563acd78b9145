/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "card/find.h"
#include "card/find_parts.h"

enum {
  SEARCH_PIXELS = 400000, /* of the first picture, about          */
  GROWN_MAX = 4000,       /* seeds that are grown in a picture     */
  PATCH_MIN = 8           /* pixels: smaller can't be measured     */
};
#define EVIDENCE_FOUND 60.0
#define WEAKEST_FOUND 0.50
#define UNEVEN_FOUND 0.5
#define AGREE_FOUND 0.80 /* of the patches */
#define EVIDENCE_NEAR 40.0

/* Why nothing is found, in rising order of how much it tells. */
enum verdict_of_search { NOTHING, OTHER_CARD, CUT, MIRRORED, TOO_SMALL, FOUND };

struct hunt {
  const struct image *image;
  const struct image_blocks *blocks;
  const struct card_list *list;
  struct find_tone tone;
  struct find_layout layout[FIND_LAYOUTS];
  int layouts;
  enum verdict_of_search nearest;
  struct card_search *search;
};

static double side_pixels(const struct find_match *match)
{
  double least = INFINITY;

  for (int k = 0; k < 4; k++) {
    double c = k % 2 ? match->layout->columns - 1 : 0, r = k / 2 ? match->layout->rows - 1 : 0;
    double x = match->layout->fill_x / 2, y = match->layout->fill_y / 2;
    struct point left = find_map_apply(&match->map, c - x, r), right = find_map_apply(&match->map, c + x, r);
    struct point top = find_map_apply(&match->map, c, r - y), bottom = find_map_apply(&match->map, c, r + y);

    least = fmin(least,
                 fmin(hypot(right.x - left.x, right.y - left.y), hypot(bottom.x - top.x, bottom.y - top.y)));
  }
  return least;
}

static enum verdict_of_search judge(const struct find_match *match)
{
  int cells = match->layout->columns * match->layout->rows;
  const struct find_score *score = &match->score;

  if (score->evidence < EVIDENCE_NEAR || score->weakest < WEAKEST_FOUND)
    return NOTHING;
  if (score->uneven > UNEVEN_FOUND || score->evidence < EVIDENCE_FOUND)
    return NOTHING;
  if (match->mirrored)
    return MIRRORED;
  if (score->agree < AGREE_FOUND * cells || score->inside < cells)
    return CUT;
  if (side_pixels(match) < PATCH_MIN)
    return TOO_SMALL;
  return FOUND;
}

static void pose_fill(const struct hunt *hunt, const struct find_match *match, struct card_pose *pose)
{
  *pose = (struct card_pose){.card = match->layout->card};
  pose->photo_from_card = mat3_multiply(match->map, match->layout->grid_from_mm);
  pose->photo_from_card = mat3_scale(pose->photo_from_card, 1 / pose->photo_from_card.m[2][2]);
  card_pose_complete(&hunt->list->card[pose->card], pose);
  pose->fit = match->score.weakest;
}

static bool overlaps(const struct card_search *search, const struct card_pose *pose)
{
  for (size_t i = 0; i < search->count; i++) {
    const struct point *a = search->pose[i].corner, *b = pose->corner;
    double ax = (a[0].x + a[2].x) / 2, ay = (a[0].y + a[2].y) / 2, bx = (b[0].x + b[2].x) / 2,
           by = (b[0].y + b[2].y) / 2;

    if (hypot(ax - bx, ay - by) < 0.5 * hypot(a[0].x - a[2].x, a[0].y - a[2].y))
      return true;
  }
  return false;
}

/* Refines a placement, scores it on the photo itself and keeps it if it is a card. */
static void consider(struct hunt *hunt, struct find_match *match)
{
  struct find_sample sample[FIND_CELLS];
  bool agrees[FIND_CELLS];
  enum verdict_of_search verdict;
  struct card_pose pose;

  find_refine(hunt->image, match);
  find_samples_read(hunt->image, match, sample);
  match->score = find_score_full(match->layout, sample, agrees);
  verdict = judge(match);
  hunt->nearest = verdict > hunt->nearest ? verdict : hunt->nearest;
  if (verdict != FOUND || hunt->search->count == CARD_FOUND_MAX)
    return;
  pose_fill(hunt, match, &pose);
  if (!overlaps(hunt->search, &pose))
    hunt->search->pose[hunt->search->count++] = pose;
}

static void lattices_try(struct hunt *hunt, const struct find_picture *picture,
                         const struct find_blobs *blobs, const struct find_seeds *seeds, bool *used)
{
  for (int i = 0; i < seeds->count && i < GROWN_MAX; i++) {
    struct find_lattice lattice;
    struct find_match match;

    if (used[seeds->seed[i].blob] || !find_lattice_grow(blobs, &seeds->seed[i], &lattice))
      continue;
    for (int c = 0; c < FIND_SPAN; c++)
      for (int r = 0; r < FIND_SPAN; r++)
        if (lattice.blob[c][r] >= 0)
          used[lattice.blob[c][r]] = true;
    if (find_match_best(picture, &hunt->tone, &lattice, hunt->layout, hunt->layouts, &match))
      consider(hunt, &match);
  }
}

static bool window_search(struct hunt *hunt, struct find_window window, int step, struct error *error)
{
  struct find_picture picture = {0};
  struct find_blobs blobs = {0};
  struct find_seeds seeds = {0};
  bool *used = NULL, done = false;

  if (!find_picture_make(hunt->image, hunt->blocks, &hunt->tone, window, step, &picture, error) ||
      !find_blobs_make(&picture, &blobs, error) || !find_seeds_make(&blobs, &seeds, error))
    goto out;
  used = calloc((size_t)blobs.count + 1, sizeof *used);
  if (used == NULL) {
    error_no_memory(error, "the search for the card");
    goto out;
  }
  lattices_try(hunt, &picture, &blobs, &seeds, used);
  done = true;
out:
  free(used);
  free(seeds.seed);
  find_blobs_clear(&blobs);
  find_picture_clear(&picture);
  return done;
}

static bool nothing_found(enum verdict_of_search nearest, struct error *error)
{
  switch (nearest) {
  case TOO_SMALL:
    return error_set(
        error, ERROR_UNMEASURABLE, "card-too-small",
        "the card's patches are under %d pixels wide in the photo; go nearer or use a longer lens",
        PATCH_MIN);
  case MIRRORED:
    return error_set(error, ERROR_UNMEASURABLE, "card-mirrored",
                     "the card appears mirrored; mirror the photo back before reading it");
  case CUT:
    return error_set(error, ERROR_UNMEASURABLE, "card-cut",
                     "the card is cut off by the frame or partly hidden; show the whole card");
  case OTHER_CARD:
    return error_set(error, ERROR_UNMEASURABLE, "other-card",
                     "there is a colour chart, but none that is known; name its card file with --card");
  default:
    return error_set(
        error, ERROR_UNMEASURABLE, "no-card",
        "no colour card found in the photo; give the centres of its corner patches with --patches");
  }
}

bool card_find(const struct image *image, const struct image_blocks *blocks, const struct card_list *list,
               struct card_search *search, struct error *error)
{
  struct hunt hunt = {.image = image, .blocks = blocks, .list = list, .search = search};
  struct find_window whole = {0, 0, image->width, image->height};
  int step = 1;

  *search = (struct card_search){0};
  hunt.layouts = find_layouts_make(list, hunt.layout);
  find_tone_make(blocks, &hunt.tone);
  while ((long)(image->width / step) * (image->height / step) > SEARCH_PIXELS)
    step *= 2;
  for (; step >= 1 && search->count == 0; step /= 2)
    if (!window_search(&hunt, whole, step, error))
      return false;
  return search->count > 0 || nothing_found(hunt.nearest, error);
}
