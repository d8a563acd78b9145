/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>

#include "card/find_parts.h"

enum {
  GROWN_MAX = 4000, /* seeds that are grown in a picture                */
  BEYOND_MAX = 7    /* patches round the card, of 28 round one of 6 x 4 */
};
#define EVIDENCE_FOUND 60.0
#define WEAKEST_FOUND 0.35
#define UNEVEN_FOUND 0.5
#define PITCH_FINE 10.0  /* pixels between patches from which blobs sit well */
#define AGREE_FOUND 0.75 /* of the patches */

static void pose_fill(const struct find_hunt *hunt, const struct find_match *match, struct card_pose *pose)
{
  *pose = (struct card_pose){.card = match->layout->card};
  pose->photo_from_card = mat3_multiply(match->map, match->layout->grid_from_mm);
  pose->bend = match->bend;
  pose->photo_from_card = mat3_scale(pose->photo_from_card, 1 / pose->photo_from_card.m[2][2]);
  card_pose_complete(&hunt->list->card[pose->card], pose);
  pose->fit = match->score.weakest;
}

static enum find_nearest judge(const struct find_hunt *hunt, const struct find_match *match,
                               const struct card_pose *pose)
{
  int cells = match->layout->columns * match->layout->rows;
  const struct find_score *score = &match->score;

  if (score->evidence < EVIDENCE_FOUND || score->weakest < WEAKEST_FOUND || score->uneven > UNEVEN_FOUND)
    return FIND_NOTHING;
  if (find_patches_beyond(hunt->image, match) > BEYOND_MAX)
    return FIND_OTHER_CARD;
  if (match->mirrored)
    return FIND_MIRRORED;
  if (score->agree < AGREE_FOUND * cells || score->inside < cells)
    return FIND_CUT;
  if (pose->patch_pixels < FIND_PATCH_MIN)
    return FIND_TOO_SMALL;
  return FIND_FOUND;
}

/* Whether a card already found lies there. */
static bool known(const struct card_search *search, const struct find_match *match)
{
  struct point middle =
      find_match_place(match, (match->layout->columns - 1) / 2.0, (match->layout->rows - 1) / 2.0);

  for (size_t i = 0; i < search->count; i++) {
    const struct point *a = search->pose[i].corner;
    double x = (a[0].x + a[1].x + a[2].x + a[3].x) / 4, y = (a[0].y + a[1].y + a[2].y + a[3].y) / 4;

    if (hypot(middle.x - x, middle.y - y) < 0.5 * hypot(a[0].x - a[2].x, a[0].y - a[2].y))
      return true;
  }
  return false;
}

/* The part of the photo that holds the card, a patch spacing beyond it. */
static struct find_window window_of(const struct image *image, const struct find_match *match)
{
  double left = INFINITY, right = 0, top = INFINITY, bottom = 0, rim = 1.5;

  for (int k = 0; k < 4; k++) {
    bool right_side = k % 2 == 1, bottom_side = k / 2 == 1;
    struct point p = find_map_apply(&match->map, right_side ? match->layout->columns - 1 + rim : -rim,
                                    bottom_side ? match->layout->rows - 1 + rim : -rim);

    left = fmin(left, fmax(p.x, 0));
    right = fmax(right, fmin(p.x, image->width));
    top = fmin(top, fmax(p.y, 0));
    bottom = fmax(bottom, fmin(p.y, image->height));
  }
  return (struct find_window){(int)left, (int)top, (int)(right - left), (int)(bottom - top)};
}

/* A map found where patches measure a few pixels only is moved onto the blobs of a finer picture first. */
static bool adjust(struct find_hunt *hunt, int step, struct find_match *match, struct error *error)
{
  struct find_window window = window_of(hunt->image, match);
  struct find_picture picture = {0};
  struct find_blobs blobs = {0};
  int finer = step;
  bool done;

  while (finer > 1 && find_match_pitch(match) < PITCH_FINE * finer)
    finer /= 2;
  if (finer >= step || window.width < 4 * finer || window.height < 4 * finer)
    return true;
  done = find_picture_make(hunt->image, hunt->blocks, &hunt->tone, window, finer, &picture, error) &&
         find_blobs_make(&picture, &blobs, error);
  if (done) {
    struct mat3 to_photo = {{{finer, 0, picture.left}, {0, finer, picture.top}, {0, 0, 1}}};
    struct mat3 to_picture = {{{1.0 / finer, 0, -(double)picture.left / finer},
                               {0, 1.0 / finer, -(double)picture.top / finer},
                               {0, 0, 1}}};
    struct mat3 map = mat3_multiply(to_picture, match->map);

    find_lattice_adjust(&blobs, match->layout->columns, match->layout->rows, &map);
    match->map = mat3_multiply(to_photo, map);
  }
  find_blobs_clear(&blobs);
  find_picture_clear(&picture);
  return done;
}

/* Refines a placement, scores it on the photo itself and keeps it if it is a card. */
static bool consider(struct find_hunt *hunt, int step, struct find_match *match, struct error *error)
{
  struct find_sample sample[FIND_CELLS];
  enum find_nearest verdict;
  struct card_pose pose;

  if (known(hunt->search, match))
    return true;
  if (!adjust(hunt, step, match, error))
    return false;
  find_refine(hunt->image, match);
  find_samples_read(hunt->image, match, sample);
  match->score = find_score_full(match->layout, sample);
  pose_fill(hunt, match, &pose);
  verdict = judge(hunt, match, &pose);
  hunt->nearest = verdict > hunt->nearest ? verdict : hunt->nearest;
  if (verdict == FIND_FOUND && hunt->search->count < CARD_FOUND_MAX && !known(hunt->search, match))
    hunt->search->pose[hunt->search->count++] = pose;
  return true;
}

static void nodes_mark(const struct find_lattice *lattice, bool *used)
{
  for (int column = 0; column < FIND_SPAN; column++)
    for (int row = 0; row < FIND_SPAN; row++)
      if (lattice->blob[column][row] >= 0)
        used[lattice->blob[column][row]] = true;
}

static bool lattices_try(struct find_hunt *hunt, const struct find_picture *picture,
                         const struct find_blobs *blobs, const struct find_seeds *seeds, bool *used,
                         struct error *error)
{
  for (int i = 0; i < seeds->count && i < GROWN_MAX; i++) {
    struct find_lattice lattice;
    struct find_match match;

    if (used[seeds->seed[i].blob] || !find_lattice_grow(blobs, &seeds->seed[i], &lattice))
      continue;
    nodes_mark(&lattice, used);
    if (find_match_best(picture, &hunt->tone, &lattice, hunt->layout, hunt->layouts, &match) &&
        !consider(hunt, picture->step, &match, error))
      return false;
    if (hunt->nearest == FIND_NOTHING && find_match_is_chart(picture, &hunt->tone, &lattice))
      hunt->nearest = FIND_OTHER_CARD;
  }
  return true;
}

bool find_hunt_picture(struct find_hunt *hunt, const struct find_picture *picture, struct error *error)
{
  struct find_blobs blobs = {0};
  struct find_seeds seeds = {0};
  bool *used = NULL, done = false;

  if (!find_blobs_make(picture, &blobs, error) || !find_seeds_make(&blobs, &seeds, error))
    goto out;
  used = calloc((size_t)blobs.count + 1, sizeof *used);
  if (used == NULL) {
    error_no_memory(error, "the search for the card");
    goto out;
  }
  done = lattices_try(hunt, picture, &blobs, &seeds, used, error);
out:
  free(used);
  free(seeds.seed);
  find_blobs_clear(&blobs);
  return done;
}
