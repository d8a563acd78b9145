/* SPDX-License-Identifier: MIT */
/* The order of work: cells, a first idea of the field from differences, then deposits and field in turn. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "light/field.h"
#include "light/fit.h"
#include "light/on_card.h"
#include "light/segment.h"
#include "light/shadow.h"

enum { TURNS = 4 };

static const double LOOSENESS[TURNS] = {3, 2, 1.3, 1};

static const double SUPPORT_LEAST = 8; /* tiles and pairs that an edge must have for it             */
static const double CARD_COUNTS = 0.3; /* tiles that a unit of the card's evidence counts for ...      */
static const double CARD_MOST = 60;    /* ... of so much at most                                       */
static const double STEP_UNSEEN = 0.2; /* log gain: of a step that only the card shows, and no fit confirms */
static const double EXPLAINED = 0.4;   /* of the card's best evidence, by any edge that is to be taken */

/* What the estimate works on. */
struct work {
  const struct card_reference *card;
  const struct card_pose *pose;
  struct cells cells;
  struct card_light on_card; /* not evened */
  bool doubtful;             /* no edge was taken, but one that was tried may be one, borne out by: */
  double doubt_support;
  struct shadow_found doubt;
};

static void begin(const struct image_blocks *blocks, const struct card_reference *card,
                  const struct card_pose *pose, struct light *light)
{
  double left = INFINITY, right = -INFINITY, top = INFINITY, bottom = -INFINITY;
  double width = (double)blocks->columns * blocks->size, height = (double)blocks->rows * blocks->size;

  for (size_t i = 0; i < card->count; i++) {
    left = fmin(left, card->patch[i].x_mm);
    right = fmax(right, card->patch[i].x_mm);
    top = fmin(top, card->patch[i].y_mm);
    bottom = fmax(bottom, card->patch[i].y_mm);
  }
  *light =
      (struct light){.middle = {width / 2, height / 2}, .scale = hypot(width, height) / 2, .disagreement = 1};
  light->centre = card_pose_project(pose, card, (left + right) / 2, (top + bottom) / 2);
}

/* Nothing to go by: gain 1 but for an edge that the card shows by itself, and the priors say how wrong that may be. */
static void stand_still(struct light *light)
{
  memset(light->term, 0, LIGHT_STEP_AT * sizeof *light->term);
  memset(light->covariance, 0, sizeof light->covariance);
  for (int j = 0; j < LIGHT_STEP_AT; j++) {
    light->covariance[j][j] = FIELD_PRIOR[j] * FIELD_PRIOR[j];
  }
  for (int k = 0; k < 3 && light->shadow_edge; k++) {
    light->covariance[LIGHT_STEP_AT + k][LIGHT_STEP_AT + k] = STEP_UNSEEN * STEP_UNSEEN;
  }
}

/* One turn: deposits, then the field. Across an edge over the card its patches tell the step too, but only once deposits are
 * merged, since they are no deposit. */
static bool turn(struct work *work, double looseness, const struct shadow_found *found, struct light *light,
                 double *support, struct error *error)
{
  int segments = 0;
  struct tiles tiles = {0};
  struct levels levels;
  const struct cells *cells = &work->cells;

  cells_even(&work->cells, light);
  bool done = segment_cells(&work->cells, light, looseness, &segments, error) &&
              tiles_make(cells, light, segments, &tiles, error) &&
              fit_field(&tiles, segments, light, &levels, error);
  if (done && light->estimated) {
    bool patches = light->shadow_over_card && segments < LIGHT_DEPOSITS_MAX;
    merge_alike(&levels, &tiles);
    if (found) {
      *support = shadow_support(&tiles, segments, (double)cells->merge * cells->block, found, light);
    }
    if (patches) {
      tiles_add_card(&work->on_card, light, segments + 1, &tiles);
    }
    done = fit_field(&tiles, segments + patches, light, NULL, error);
  }
  tiles_clear(&tiles);
  return done;
}

/* Deposits and field in turn, from the terms there are. `*support`: by how much a shadow edge that is tried is borne out. */
static bool settle(struct work *work, const struct shadow_found *found, struct light *light, int turns,
                   double *support, struct error *error)
{
  bool done = true;

  for (int i = 0; done && i < turns; i++) {
    *support = 0;
    done = turn(work, LOOSENESS[i], found, light, support, error);
  }
  return done;
}

/* Tries one edge: by how much tiles and patches together bear it out. -1 if the card shows another, or none where it should. */
static bool try_edge(struct work *work, const struct card_light *evened, double best_evidence,
                     struct shadow_found *found, struct light *light, double *support, struct error *error)
{
  shadow_take(&work->cells, found, work->card, work->pose, light);
  struct card_step step = {.edge = light->edge};
  bool crosses = card_light_try(evened, &step);
  if (!settle(work, found, light, 2, support, error)) {
    return false;
  }
  if (step.evidence >= CARD_LIGHT_CERTAIN) {
    *support += CARD_COUNTS * fmin(step.evidence, CARD_MOST);
  }
  bool unexplained = best_evidence >= CARD_LIGHT_CERTAIN && step.evidence < EXPLAINED * best_evidence;
  if (unexplained || (crosses && step.evidence <= 0)) {
    *support = -1;
  }
  return true;
}

/* Of candidates that are borne out alike the first, which is the likeliest. */
static void doubt_if_likelier(struct work *work, double support, const struct shadow_found *found)
{
  if (!work->doubtful || support > work->doubt_support) {
    work->doubtful = true;
    work->doubt_support = support;
    work->doubt = *found;
  }
}

/* The edge that deposits and card bear out best, if any. Rims of deposits are seldom straight, and do not go on over the card. */
static bool choose_edge(struct work *work, struct light *light, struct error *error)
{
  const struct light even = *light;
  struct light best = even;
  struct shadow_list list;
  struct card_light evened = work->on_card;
  double most = SUPPORT_LEAST, side = (double)work->cells.merge * work->cells.block;

  card_light_even(light, &evened);
  struct card_step on_card = card_light_search(&evened);
  shadow_search(&work->cells, &evened, &list);
  if (on_card.evidence >= CARD_LIGHT_CERTAIN) {
    shadow_from_card(&work->cells, &on_card, &list.found[list.count++]);
  }
  for (int i = 0; i < list.count; i++) {
    struct light tried = even;
    double support;
    cells_even(&work->cells, &even);
    if (!try_edge(work, &evened, on_card.evidence, &list.found[i], &tried, &support, error)) {
      return false;
    }
    if (support > most) {
      most = support;
      best = tried;
    } else if (support > 0 || (support == 0 && shadow_looks_like_one(&list.found[i], &tried, side))) {
      doubt_if_likelier(work, support, &list.found[i]);
    }
  }
  work->doubtful = work->doubtful && !best.shadow_edge;
  *light = best;
  return true;
}

static bool estimate(struct work *work, struct light *light, struct error *error)
{
  double ignored;

  cells_even(&work->cells, light);
  if (!fit_differences(&work->cells, light, error)) {
    return false;
  }
  cells_even(&work->cells, light);
  if (!choose_edge(work, light, error) || !settle(work, NULL, light, TURNS, &ignored, error)) {
    return false;
  }
  if (!light->estimated) {
    stand_still(light);
  }
  cells_even(&work->cells, light);
  if (work->doubtful || shadow_is_left(&work->cells, &work->doubt)) {
    shadow_doubt(&work->cells, &work->doubt, light);
  }
  return true;
}

bool light_estimate(const struct image_blocks *blocks, const struct profile *profile,
                    const struct card_reference *card, const struct card_pose *pose,
                    const struct card_patches *patches, struct light *light, struct error *error)
{
  struct work *work = calloc(1, sizeof *work);

  begin(blocks, card, pose, light);
  if (!work) {
    return error_no_memory(error, "the light");
  }
  work->card = card;
  work->pose = pose;
  card_light_gather(profile, card, patches, &work->on_card);
  bool done = cells_make(blocks, profile, card, pose, &work->cells, error);
  done = done && estimate(work, light, error);
  cells_clear(&work->cells);
  free(work);
  return done;
}
