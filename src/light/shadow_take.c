/* SPDX-License-Identifier: MIT */
/* A line that was found taken for the edge of a shadow: its place, width and step, and by how much deposits bear it out. */
#include <math.h>
#include <string.h>

#include "light/shadow.h"
#include "light/shadow_pairs.h"

static const double REACH_LEAST = 5;  /* cells to which profiles are followed */
static const double REACH_SOFT = 2.3; /* cells: half shadows wider than this are no rims                 */

/* By what share of itself a fitted step may differ from the one that was seen: where one deposit shows it, and where many do. */
static const double ALIKE = 0.2, FITTED_ALIKE = 0.4;

static void cross(const struct cells *cells, const struct shadow_found *found, struct crossings *crossings)
{
  struct pairs pairs;

  *crossings = (struct crossings){0};
  pairs_gather(cells, found->line, found->reach, &pairs);
  for (int i = 0; i < pairs.count; i++) {
    if (pair_shows(&pairs.pair[i], found->step)) {
      crossings_add(cells, found->line, found->reach, &pairs.pair[i], crossings);
    }
  }
}

/* Moves the line to where the profiles pass half of the step. */
static void adjust(const struct cells *cells, struct shadow_found *found)
{
  struct crossings crossings;

  cross(cells, found, &crossings);
  crossings_line(&crossings, &found->line, &found->bent);
}

/* Cells from the middle of the half shadow to its end. */
static double half_width(const struct cells *cells, const struct shadow_found *found)
{
  struct crossings crossings;

  cross(cells, found, &crossings);
  return fmin(fmax(crossings_half(&crossings), 1.5), found->reach);
}

/* Patches on either side; the card's side is that of most of them. */
static void turn_to_card(const struct card_reference *card, const struct card_pose *pose, struct light *light)
{
  int near = 0, far = 0;

  for (size_t i = 0; i < card->count; i++) {
    struct point place = card_pose_project(pose, card, card->patch[i].x_mm, card->patch[i].y_mm);
    enum light_side side = light_side_at(light, place);
    near += side == LIGHT_AS_CARD;
    far += side == LIGHT_BEYOND;
  }
  light->shadow_over_card = near < (int)card->count && far < (int)card->count;
  if (far > near || (far == near && light->term[LIGHT_STEP_AT + 1] > 0)) {
    light->edge.normal = (struct point){-light->edge.normal.x, -light->edge.normal.y};
    for (int k = 0; k < 3; k++) {
      light->term[LIGHT_STEP_AT + k] *= -1;
    }
  }
}

/* Log gain R G B of a step of log signal. */
static struct vec3 step_by_channel(struct vec3 step)
{
  double green = step.v[CELLS_GREEN];

  return (struct vec3){{green + step.v[CELLS_RED], green, green + step.v[CELLS_BLUE]}};
}

void shadow_doubt(const struct cells *cells, const struct shadow_found *found, struct light *light)
{
  struct point *normal = &light->unsure.normal;

  light->shadow_unsure = true;
  light->unsure = line_as_edge(cells, found->line, 0);
  light->unsure_step = step_by_channel(found->step);
  if (light_is_unsure(light, light->centre)) {
    *normal = (struct point){-normal->x, -normal->y};
    light->unsure_step = vec3_scale(light->unsure_step, -1);
  }
}

/* The step clear of the half shadow, from the pairs that show about that much. */
static void measure_step(const struct cells *cells, double reach, struct shadow_found *found)
{
  struct pairs pairs;

  pairs_gather(cells, found->line, reach, &pairs);
  if (pairs.count > 0) {
    pairs_commonest(&pairs, &found->step);
  }
}

static void hand_over(const struct cells *cells, const struct shadow_found *found, double half,
                      struct light *light)
{
  struct vec3 step = step_by_channel(found->step);

  light->shadow_edge = true;
  light->edge = line_as_edge(cells, found->line, half);
  memcpy(light->term + LIGHT_STEP_AT, step.v, sizeof step.v);
}

void shadow_take(const struct cells *cells, struct shadow_found *found, const struct card_reference *card,
                 const struct card_pose *pose, struct light *light)
{
  double half = found->half;

  if (half <= 0) {
    found->reach = fmax(found->reach, REACH_LEAST);
    adjust(cells, found);
    adjust(cells, found);
    half = half_width(cells, found);
    measure_step(cells, half + 1, found);
  }
  hand_over(cells, found, half, light);
  turn_to_card(card, pose, light);
}

void shadow_from_card(const struct cells *cells, const struct card_step *step, struct shadow_found *found)
{
  double side = (double)cells->merge * cells->block;
  struct point normal = step->edge.normal, place = step->edge.place;
  double x = place.x / side - cells->columns / 2.0, y = place.y / side - cells->rows / 2.0;

  *found = (struct shadow_found){.line = {atan2(normal.y, normal.x), x * normal.x + y * normal.y},
                                 .step = step->step,
                                 .half = step->edge.half / side};
}

static const double MOST_OF_ONE = 6; /* tiles that one deposit counts for at most */
static const double SEEN_BY = 1;     /* tiles of a deposit on either side         */

/* Rims of deposits are seldom soft or quite straight; profiles through soft edges pass them less surely. */
static const double STRAIGHT = 0.3, STRAIGHT_SOFT = 0.4; /* cells */
static const double BENT = 0.5; /* cells by which an edge may wander: it then counts half    */
static const double SURE = 12;  /* pairs that are enough whatever tiles and patches say      */

static bool is_soft(const struct light_edge *edge, double side)
{
  return edge->half >= REACH_SOFT * side;
}

static bool is_straight(const struct shadow_found *found, bool soft)
{
  return found->bent <= (soft ? STRAIGHT_SOFT : STRAIGHT);
}

/* The fitted step against the one that was seen. */
static bool is_same_step(const struct shadow_found *found, const struct light *light, double alike)
{
  double fitted = fabs(light->term[LIGHT_STEP_AT + 1]), seen = fabs(found->step.v[CELLS_GREEN]);

  return fitted >= SHADOW_STEP_LEAST && fabs(fitted - seen) < alike * fitted;
}

/* Tiles on the poorer side of each deposit, if at least two deposits lie on both sides. One deposit alone may be two: the edge must
 * then be unlike a rim, and the step that was seen that of the deposit. */
static double support_by_tiles(const struct tiles *tiles, int segments, double side,
                               const struct shadow_found *found, const struct light *light)
{
  double near[LIGHT_DEPOSITS_MAX + 1] = {0}, far[LIGHT_DEPOSITS_MAX + 1] = {0}, support = 0;
  bool soft = is_soft(&light->edge, side);
  int both = 0;

  for (size_t i = 0; i < tiles->count; i++) {
    const struct tile *tile = &tiles->tile[i];
    double weight = tile_weight(tile);
    *(tile->step > 0.5 ? &far[tile->segment] : &near[tile->segment]) += weight;
  }
  for (int s = 1; s <= segments; s++) {
    double least = fmin(near[s], far[s]);
    both += least >= SEEN_BY;
    support += fmin(least, MOST_OF_ONE);
  }
  bool seen =
      both >= 2 || (both == 1 && (soft || is_straight(found, soft)) && is_same_step(found, light, ALIKE));
  return seen && fabs(light->term[LIGHT_STEP_AT + 1]) >= SHADOW_STEP_LEAST ? support : 0;
}

double shadow_support(const struct tiles *tiles, int segments, double side, const struct shadow_found *found,
                      const struct light *light)
{
  double straight = 1 / (1 + found->bent * found->bent / (BENT * BENT));
  double tiled = straight * support_by_tiles(tiles, segments, side, found, light);
  double paired = is_same_step(found, light, FITTED_ALIKE) ? straight * found->score : 0;

  return !found->lone && (tiled > 0 || paired >= SURE) ? tiled + paired : 0;
}

bool shadow_looks_like_one(const struct shadow_found *found, const struct light *light, double side)
{
  return found->score >= SURE && is_straight(found, is_soft(&light->edge, side));
}
