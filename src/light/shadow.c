/* SPDX-License-Identifier: MIT */
#include "light/shadow.h"

#include <math.h>

#include "base/order.h"
#include "light/shadow_pairs.h"

enum { ANGLES = 36, PAIRS_LEAST = 12, LONE_PAIRS_LEAST = 15, REACHES = 3 };

/* Cells from the line at which its sides are compared: for hard edges, and for soft ones. */
static const double REACH_TRIED[REACHES] = {3, 5, 8};
static const double REACH_WIDE = 5; /* beyond, rims of deposits come between */

static const double PI = 3.14159265358979323846;
static const double OFFSET_STEP = 1.5; /* cells between lines tried                                    */
static const double SCORE_LEAST = 5;   /* pairs that show the step, less where few of all do or it is weak */
static const double SHARE_LEAST = 0.4; /* of the pairs that show the step: others lie on rims of deposits */
static const double SHARE_BACKED = 0.25; /* the same where the card shows that step there              */
static const double SHARE_LONE = 0.85;   /* the same where one deposit alone shows it                  */
static const double BACKED_SCORE = 0.3;  /* what the card's evidence counts in pairs                   */
static const double AGAINST_MOST = 0.08; /* of the pairs that show no step at all                      */
static const double REDDER = 0.06;       /* shade has the sky's light: log red over green may not rise more */
static const double TINT_MOST = 0.5;     /* nor may either tint change by more                             */
static const double LEVELS_APART = 2.5;  /* deposits along the line: spread of levels over spread of steps */
static const double NEAR_ANGLE = 0.16, NEAR_OFFSET = 5; /* lines that may be one: radians, cells       */

/* Darker and bluer, or the other way round. */
bool shadow_may_be(struct vec3 step)
{
  double sign = step.v[CELLS_GREEN] < 0 ? 1 : -1;

  return fabs(step.v[CELLS_GREEN]) >= SHADOW_STEP_LEAST && sign * step.v[CELLS_RED] < REDDER &&
         sign * step.v[CELLS_BLUE] > -REDDER && fabs(step.v[CELLS_RED]) < TINT_MOST &&
         fabs(step.v[CELLS_BLUE]) < TINT_MOST;
}

static bool is_near(struct shadow_line a, struct shadow_line b)
{
  double turn = fabs(remainder(a.angle - b.angle, PI));
  /* Half a turn round a line is the same with the offset's sign changed. */
  double offset = fabs(a.angle - b.angle) > PI / 2 ? a.offset + b.offset : a.offset - b.offset;

  return turn < NEAR_ANGLE && fabs(offset) < NEAR_OFFSET;
}

/* The best of lines that are near each other, and the best few of those; in falling order. */
static void keep(struct shadow_list *list, struct shadow_found found)
{
  int kept = 0, at;

  for (int i = 0; i < list->count; i++) {
    if (is_near(list->found[i].line, found.line) && list->found[i].score >= found.score) {
      return;
    }
  }
  for (int i = 0; i < list->count; i++) {
    if (!is_near(list->found[i].line, found.line)) {
      list->found[kept++] = list->found[i];
    }
  }
  for (at = kept; at > 0 && list->found[at - 1].score < found.score; at--) {
    list->found[at] = list->found[at - 1];
  }
  list->found[at] = found;
  list->count = kept + 1 < SHADOW_CANDIDATES ? kept + 1 : SHADOW_CANDIDATES;
}

/* What the card has to say for a step at this line. */
static double backing_of(const struct cells *cells, const struct card_light *card, struct shadow_line line,
                         double reach)
{
  struct card_step step = {.edge = line_as_edge(cells, line, 0.7 * reach)};

  card_light_try(card, &step);
  return step.evidence >= CARD_LIGHT_CERTAIN ? step.evidence : 0;
}

/* Whether the pairs bear the step out by themselves. */
static bool is_borne_out(const struct pairs *pairs, const struct shadow_found *found, double share)
{
  double least = found->reach > REACH_WIDE ? 2 * SCORE_LEAST : SCORE_LEAST;
  int opposed = 0;

  for (int i = 0; i < pairs->count; i++) {
    opposed += pair_is_against(&pairs->pair[i], found->step);
  }
  bool enough = found->lone ? share >= SHARE_LONE && pairs->count >= LONE_PAIRS_LEAST : share >= SHARE_LEAST;
  return enough && found->score >= least && opposed <= AGAINST_MOST * pairs->count;
}

static void judge_line(const struct cells *cells, const struct card_light *card, struct shadow_line line,
                       double reach, struct shadow_list *list)
{
  struct shadow_found found = {.line = line, .reach = reach};
  struct pairs pairs;

  pairs_gather(cells, line, reach, &pairs);
  if (pairs.count < PAIRS_LEAST) {
    return;
  }
  int showing = pairs_commonest(&pairs, &found.step);
  double share = (double)showing / pairs.count;
  if (share < SHARE_BACKED || !shadow_may_be(found.step)) {
    return;
  }
  double backing = backing_of(cells, card, line, reach);
  found.score = showing * share * fmin(fabs(found.step.v[CELLS_GREEN]), 1);
  found.lone = pairs_levels_apart(&pairs, found.step) < LEVELS_APART;
  if (is_borne_out(&pairs, &found, share) || backing > 0) {
    found.score += BACKED_SCORE * backing;
    found.lone = found.lone && backing <= 0;
    keep(list, found);
  }
}

void shadow_search(const struct cells *cells, const struct card_light *card, struct shadow_list *list)
{
  double half = hypot(cells->columns, cells->rows) / 2;

  list->count = 0;
  for (int i = 0; i < ANGLES; i++) {
    for (double offset = -half; offset < half; offset += OFFSET_STEP) {
      for (int k = 0; k < REACHES; k++) {
        judge_line(cells, card, (struct shadow_line){PI * i / ANGLES, offset}, REACH_TRIED[k], list);
      }
    }
  }
}

enum { LEFT_PAIRS = 20, LEFT_PAIRS_SHARP = 30, LEFT_CLEAR = 6 };

static const double LEFT_SHARE = 0.85;                       /* of the pairs: a step of one sign        */
static const double LEFT_BENT = 0.45, LEFT_BENT_SHARP = 0.2; /* cells                                 */
static const double LEFT_WIDE = 1.6; /* cells: rims of deposits are sharper                           */

static void keep_of_sign(double sign, struct pairs *pairs)
{
  int count = 0;

  for (int i = 0; i < pairs->count; i++) {
    if (sign * pairs->pair[i].step.v[CELLS_GREEN] >= SHADOW_STEP_LEAST) {
      pairs->pair[count++] = pairs->pair[i];
    }
  }
  pairs->count = count;
}

static struct vec3 median_step(const struct pairs *pairs)
{
  double off[PAIRS_MAX];
  struct vec3 median;

  for (int k = 0; k < 3; k++) {
    for (int i = 0; i < pairs->count; i++) {
      off[i] = pairs->pair[i].step.v[k];
    }
    median.v[k] = order_median(off, (size_t)pairs->count);
  }
  return median;
}

/* How bent a step of one sign is that nearly all pairs show; infinite where they do not, or where it is more like a rim. */
static double bend_at(const struct cells *cells, double sign, struct shadow_found *found)
{
  struct pairs pairs;
  struct crossings crossings = {0};

  pairs_gather(cells, found->line, REACH_WIDE, &pairs);
  const int all = pairs.count;
  keep_of_sign(sign, &pairs);
  if (all < LEFT_PAIRS || pairs.count < LEFT_SHARE * all) {
    return INFINITY;
  }
  for (int i = 0; i < pairs.count; i++) {
    crossings_add(cells, found->line, REACH_WIDE, &pairs.pair[i], &crossings);
  }
  crossings_line(&crossings, &found->line, &found->bent);
  found->step = median_step(&pairs);
  found->reach = crossings_half(&crossings) + 1;
  bool wide = crossings_width(&crossings) >= LEFT_WIDE;
  bool like_an_edge =
      crossings.count >= LEFT_SHARE * all &&
      (wide ? found->bent <= LEFT_BENT : found->bent <= LEFT_BENT_SHARP && all >= LEFT_PAIRS_SHARP);
  return like_an_edge ? found->bent : (double)INFINITY;
}

/* The step clear of the half shadow, where the frame goes on far enough. */
static void measure_left(const struct cells *cells, double sign, struct shadow_found *found)
{
  struct pairs pairs;

  pairs_gather(cells, found->line, fmax(found->reach, REACH_WIDE), &pairs);
  keep_of_sign(sign, &pairs);
  if (pairs.count >= LEFT_CLEAR) {
    found->step = median_step(&pairs);
  }
}

bool shadow_is_left(const struct cells *cells, struct shadow_found *found)
{
  double half = hypot(cells->columns, cells->rows) / 2, least = INFINITY, sign = 0;

  for (int i = 0; i < 2 * ANGLES; i++) {
    for (double offset = -half; offset < half; offset += OFFSET_STEP) {
      struct shadow_found tried = {.line = {PI * (i / 2) / ANGLES, offset}};
      double bent = bend_at(cells, i % 2 ? 1 : -1, &tried);
      if (bent < least) {
        least = bent;
        sign = i % 2 ? 1 : -1;
        *found = tried;
      }
    }
  }
  if (isfinite(least)) {
    measure_left(cells, sign, found);
  }
  return isfinite(least);
}
