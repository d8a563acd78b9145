/* SPDX-License-Identifier: MIT */
#include "light/shadow.h"

#include <math.h>

#include "base/order.h"

enum { ANGLES = 36, PAIRS_MAX = 128, PAIRS_LEAST = 12, REACHES = 3 };

/* Cells from the line at which its sides are compared: for hard edges, and for soft ones. */
static const double REACH_TRIED[REACHES] = {3, 5, 8};
static const double REACH_LEAST = 5; /* cells to which profiles are followed */

static const double PI = 3.14159265358979323846;
static const double OFFSET_STEP =
    1.5;                       /* cells between lines tried                                           */
static const double ALONG = 2; /* cells between pairs along a line                                    */
static const double STEP_LEAST =
    0.25; /* log light: a weaker one is left to the field                        */
static const double ALIKE =
    0.2; /* by what share of the step pairs may differ from it: tone curve not yet known */
static const double ALIKE_FLOOR = 0.1, ALIKE_TINT = 0.07;
static const double SCORE_LEAST =
    5; /* pairs that show the step, less where few of all do or it is weak     */
static const double SHARE_LEAST =
    0.4; /* of the pairs that show the step: others lie on rims of deposits      */
static const double SHARE_BACKED = 0.25; /* the same where the card shows that step there           */
static const double BACKED_SCORE = 0.3;  /* what the card's evidence counts in pairs                */
static const double REACH_SOFT = 2.3;    /* cells: half shadows wider than this are no rims             */
static const double AGAINST_MOST =
    0.08;                            /* of the pairs that show no step at all                              */
static const double REDDER = 0.06;   /* shade has the sky's light: log red over green may not rise more     */
static const double TINT_MOST = 0.5; /* nor may either tint change by more                                  */
static const double LEVELS_APART =
    2.5; /* deposits along the line: spread of levels over spread of steps       */
static const double NEAR_ANGLE = 0.3,
                    NEAR_OFFSET = 8; /* lines that may be one: radians, cells                 */
static const double TAIL = 0.15;     /* share of pairs left out at either end for that spread               */

struct pair {
  double along;
  struct vec3 before, behind, step; /* behind: the side the normal points to */
};

struct pairs {
  int count;
  struct pair pair[PAIRS_MAX];
};

static const struct cell *cell_near(const struct cells *cells, double x, double y)
{
  return cells_open_at(cells, (int)floor(x), (int)floor(y));
}

static const struct cell *cell_off(const struct cells *cells, struct shadow_line line, double along,
                                   double off)
{
  double c = cos(line.angle), s = sin(line.angle), d = line.offset + off;

  return cell_near(cells, cells->columns / 2.0 + d * c - along * s, cells->rows / 2.0 + d * s + along * c);
}

static void gather(const struct cells *cells, struct shadow_line line, double reach, struct pairs *pairs)
{
  double half = hypot(cells->columns, cells->rows) / 2;

  pairs->count = 0;
  for (double along = -half; along < half && pairs->count < PAIRS_MAX; along += ALONG) {
    const struct cell *before = cell_off(cells, line, along, -reach),
                      *behind = cell_off(cells, line, along, reach);
    if (before && behind) {
      pairs->pair[pairs->count++] =
          (struct pair){along, before->even, behind->even, vec3_subtract(behind->even, before->even)};
    }
  }
}

/* Darker and bluer, or the other way round. */
bool shadow_may_be(struct vec3 step)
{
  double sign = step.v[CELLS_GREEN] < 0 ? 1 : -1;

  return fabs(step.v[CELLS_GREEN]) >= STEP_LEAST && sign * step.v[CELLS_RED] < REDDER &&
         sign * step.v[CELLS_BLUE] > -REDDER && fabs(step.v[CELLS_RED]) < TINT_MOST &&
         fabs(step.v[CELLS_BLUE]) < TINT_MOST;
}

static bool is_step(struct vec3 a, struct vec3 step)
{
  double size = fabs(step.v[CELLS_GREEN]), tint = ALIKE_TINT + 0.5 * ALIKE * size;

  return fabs(a.v[CELLS_GREEN] - step.v[CELLS_GREEN]) < ALIKE_FLOOR + ALIKE * size &&
         fabs(a.v[CELLS_RED] - step.v[CELLS_RED]) < tint && fabs(a.v[CELLS_BLUE] - step.v[CELLS_BLUE]) < tint;
}

static bool shows(const struct pair *pair, struct vec3 step)
{
  return is_step(pair->step, step);
}

/* One and the same deposit on both sides, in one and the same light. */
static bool against(const struct pair *pair, struct vec3 step)
{
  double size = fabs(step.v[CELLS_GREEN]);

  return fabs(pair->step.v[CELLS_GREEN]) < fmin(0.3 * size, 0.15) &&
         fabs(pair->step.v[CELLS_RED]) < ALIKE_TINT && fabs(pair->step.v[CELLS_BLUE]) < ALIKE_TINT;
}

/* The step that most pairs show; returns their number. */
static int commonest_step(const struct pairs *pairs, struct vec3 *step)
{
  int most = 0;
  struct vec3 sum = {{0, 0, 0}};

  for (int i = 0; i < pairs->count; i++) {
    int showing = 0;
    if (!shadow_may_be(pairs->pair[i].step)) {
      continue;
    }
    for (int j = 0; j < pairs->count; j++) {
      showing += is_step(pairs->pair[j].step, pairs->pair[i].step);
    }
    if (showing > most) {
      most = showing;
      *step = pairs->pair[i].step;
    }
  }
  int count = 0;
  for (int i = 0; i < pairs->count && most > 0; i++) {
    if (is_step(pairs->pair[i].step, *step)) {
      sum = vec3_add(sum, pairs->pair[i].step);
      count++;
    }
  }
  if (count > 0) {
    *step = vec3_scale(sum, 1.0 / count);
  }
  return most;
}

/* Spread along the line, of the pairs that show the step: of their levels over that of their steps. A rim of one deposit
 * against another has levels that stay as they are. The outermost are left out: a few chance pairs prove nothing. */
static double levels_apart(const struct pairs *pairs, struct vec3 step)
{
  double most = 0, level[PAIRS_MAX];

  for (int k = 0; k < 3; k++) {
    double off2 = 0;
    int count = 0;
    for (int i = 0; i < pairs->count; i++) {
      const struct pair *pair = &pairs->pair[i];
      if (shows(pair, step)) {
        double off = pair->step.v[k] - step.v[k];
        level[count++] = pair->before.v[k] + pair->behind.v[k];
        off2 += off * off;
      }
    }
    order_doubles(level, (size_t)count);
    double width = count ? level[(int)((1 - TAIL) * (count - 1))] - level[(int)(TAIL * (count - 1))] : 0;
    most = fmax(most, 0.5 * width / sqrt(off2 / fmax(count, 1) + 4e-4));
  }
  return most;
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
  int at = list->count;

  for (int i = 0; i < list->count; i++) {
    if (is_near(list->found[i].line, found.line)) {
      if (list->found[i].score >= found.score) {
        return;
      }
      at = i;
      break;
    }
  }
  if (at == SHADOW_CANDIDATES) {
    at--;
    if (list->found[at].score >= found.score) {
      return;
    }
  }
  list->count += at == list->count;
  for (; at > 0 && list->found[at - 1].score < found.score; at--) {
    list->found[at] = list->found[at - 1];
  }
  list->found[at] = found;
}

/* Where, along the normal, a profile through the edge passes a share of its step, in linear light. NAN where it does not. */
static double passes(const struct cells *cells, const struct shadow_found *found, const struct pair *pair,
                     double share)
{
  double from = exp(pair->before.v[CELLS_GREEN]), to = exp(pair->behind.v[CELLS_GREEN]), last = 0;

  for (double off = -found->reach; off <= found->reach; off += 0.5) {
    const struct cell *cell = cell_off(cells, found->line, pair->along, off);
    if (!cell) {
      return (double)NAN;
    }
    double at = (exp(cell->even.v[CELLS_GREEN]) - from) / (to - from);
    if (at >= share && off > -found->reach) {
      return at > last ? off - 0.5 * (at - share) / (at - last) : off;
    }
    last = at;
  }
  return (double)NAN;
}

/* Cells from the middle of the half shadow to its end. */
static double half_width(const struct cells *cells, const struct shadow_found *found)
{
  struct pairs pairs;
  double width[PAIRS_MAX];
  size_t count = 0;

  gather(cells, found->line, found->reach, &pairs);
  for (int i = 0; i < pairs.count; i++) {
    if (shows(&pairs.pair[i], found->step)) {
      double begin = passes(cells, found, &pairs.pair[i], 0.2);
      double end = passes(cells, found, &pairs.pair[i], 0.8);
      if (isfinite(begin) && isfinite(end)) {
        width[count++] = fabs(end - begin);
      }
    }
  }
  return fmin(fmax(1.3 * order_median(width, count), 1.5), found->reach);
}

static struct light_edge shadow_edge_of(const struct cells *cells, struct shadow_line line, double half)
{
  double side = (double)cells->merge * cells->block, c = cos(line.angle), s = sin(line.angle);

  return (struct light_edge){.place = {side * (cells->columns / 2.0 + line.offset * c),
                                       side * (cells->rows / 2.0 + line.offset * s)},
                             .normal = {c, s},
                             .half = side * half};
}

/* What the card has to say for a step at this line. */
static double backing_of(const struct cells *cells, const struct card_light *card, struct shadow_line line,
                         double reach)
{
  struct card_step step = {.edge = shadow_edge_of(cells, line, 0.7 * reach)};

  card_light_try(card, &step);
  return step.evidence >= CARD_LIGHT_CERTAIN ? step.evidence : 0;
}

static void judge_line(const struct cells *cells, const struct card_light *card, struct shadow_line line,
                       double reach, struct shadow_list *list)
{
  struct pairs pairs;
  struct vec3 step;
  int opposed = 0;

  gather(cells, line, reach, &pairs);
  if (pairs.count < PAIRS_LEAST) {
    return;
  }
  int showing = commonest_step(&pairs, &step);
  double share = (double)showing / pairs.count;
  if (share < SHARE_BACKED || !shadow_may_be(step)) {
    return;
  }
  for (int i = 0; i < pairs.count; i++) {
    opposed += against(&pairs.pair[i], step);
  }
  double score = showing * share * fmin(fabs(step.v[CELLS_GREEN]), 1);
  double backing = backing_of(cells, card, line, reach);
  double least = reach > REACH_LEAST ? 2 * SCORE_LEAST : SCORE_LEAST;
  bool alone = share >= SHARE_LEAST && score >= least && opposed <= AGAINST_MOST * pairs.count &&
               levels_apart(&pairs, step) >= LEVELS_APART;
  if (alone || backing > 0) {
    keep(list, (struct shadow_found){line, step, score + BACKED_SCORE * backing, reach, 0, 0});
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

/* Moves the line to where the profiles pass half of the step. */
static void adjust(const struct cells *cells, struct shadow_found *found)
{
  struct pairs pairs;
  double off[PAIRS_MAX], along[PAIRS_MAX], slope[PAIRS_MAX];
  int count = 0, slopes = 0;

  gather(cells, found->line, found->reach, &pairs);
  for (int i = 0; i < pairs.count; i++) {
    double at = shows(&pairs.pair[i], found->step) ? passes(cells, found, &pairs.pair[i], 0.5) : (double)NAN;
    if (isfinite(at)) {
      off[count] = at;
      along[count++] = pairs.pair[i].along;
    }
  }
  /* Theil's estimate of the slope from pairs half the length apart. */
  for (int i = 0; i + count / 2 < count; i++) {
    double length = along[i + count / 2] - along[i];
    if (length > 0) {
      slope[slopes++] = (off[i + count / 2] - off[i]) / length;
    }
  }
  double turn = order_median(slope, (size_t)slopes), off_median;
  for (int i = 0; i < count; i++) {
    off[i] -= turn * along[i];
  }
  off_median = order_median(off, (size_t)count);
  found->line.offset += off_median;
  found->line.angle -= atan(turn);
  for (int i = 0; i < count; i++) {
    off[i] = fabs(off[i] - off_median);
  }
  found->bent = 1.4826 * order_median(off, (size_t)count);
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

/* The step clear of the half shadow, from the pairs that show about that much. */
static void measure_step(const struct cells *cells, double reach, struct shadow_found *found)
{
  struct pairs pairs;

  gather(cells, found->line, reach, &pairs);
  if (pairs.count > 0) {
    commonest_step(&pairs, &found->step);
  }
}

static void hand_over(const struct cells *cells, const struct shadow_found *found, double half,
                      struct light *light)
{
  double green = found->step.v[CELLS_GREEN];

  light->shadow_edge = true;
  light->edge = shadow_edge_of(cells, found->line, half);
  light->term[LIGHT_STEP_AT] = green + found->step.v[CELLS_RED];
  light->term[LIGHT_STEP_AT + 1] = green;
  light->term[LIGHT_STEP_AT + 2] = green + found->step.v[CELLS_BLUE];
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

static const double MOST_OF_ONE = 6;                     /* tiles that one deposit counts for at most */
static const double STRAIGHT_SCORE = 7, STRAIGHT = 0.25; /* of an edge that one deposit shows; cells */
static const double SEEN_BY = 1;                         /* tiles of a deposit on either side */

bool shadow_is_straight(const struct shadow_found *found)
{
  return found->score >= STRAIGHT_SCORE && found->bent <= STRAIGHT;
}

double shadow_support(const struct tiles *tiles, int segments, double side, const struct shadow_found *found,
                      const struct light *light)
{
  double near[LIGHT_DEPOSITS_MAX + 1] = {0}, far[LIGHT_DEPOSITS_MAX + 1] = {0}, support = 0;
  const double *step = &light->term[LIGHT_STEP_AT];
  int both = 0;

  for (size_t i = 0; i < tiles->count; i++) {
    const struct tile *tile = &tiles->tile[i];
    double weight = tile->count / (tile->count + 10);
    *(tile->step > 0.5 ? &far[tile->segment] : &near[tile->segment]) += weight;
  }
  for (int s = 1; s <= segments; s++) {
    double least = fmin(near[s], far[s]);
    both += least >= SEEN_BY;
    support += fmin(least, MOST_OF_ONE);
  }
  /* One deposit alone may be two, but rims are seldom soft or quite straight, and the step that was seen at them is not that of
   * deposits on both sides. */
  bool soft = light->edge.half >= REACH_SOFT * side;
  bool same = fabs(fabs(step[1]) - fabs(found->step.v[CELLS_GREEN])) < ALIKE * fabs(step[1]);
  bool seen = both >= 2 || (both == 1 && (soft || shadow_is_straight(found)) && same);
  return seen && fabs(step[1]) >= STEP_LEAST ? support : 0;
}
