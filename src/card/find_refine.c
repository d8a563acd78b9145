/* SPDX-License-Identifier: MIT */
/* The plane map, and the sag of a sheet that is not flat, from the centres of patches.
 *
 * Unknown is a correction: a plane map G of column and row as taken so far, and a change d of the sag in photo pixels. Measured
 * is, for a patch at g along one axis, where its centre lies in the grid as taken so far:
 *   G(g) + J(g)^-1 d h(g), with h the sag's shape (pose.h) and J the photo's pixels a column and row there.
 * Patches of odd width and strays are left out. A sag is only believed where it explains most of what a plane leaves. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/order.h"
#include "card/find_parts.h"

enum { ROUNDS = 12, STRAY_ROUNDS = 3, TIES_MIN = 8, BENT_TIES = 16 };
#define WIDTH_OFF 0.12 /* of the median width: such a patch is left out            */
#define SHIFT_OFF 0.08 /* of the pitch: a patch beyond the card not on its lattice */
#define STRAY 3.0      /* robust standard deviations of residuals                  */
#define STILL 0.001    /* pitches: a correction that changes nothing               */
#define BEND_MIN 0.12  /* pitches of sag: with less a plane meets every patch well        */
#define BEND_GAIN 0.36 /* a sag leaves at most this share of a plane's squared residuals */
#define CAP 0.05       /* pitches: residuals count up to this when both are compared     */

static double median_width(const struct find_centre *centre, int cells)
{
  double list[FIND_CELLS];
  int count = 0;

  for (int k = 0; k < cells; k++)
    if (centre[k].found)
      list[count++] = centre[k].width;
  return order_upper_median(list, (size_t)count);
}

/* Finds centres along one axis; leaves out those of odd width; returns how many are left. */
static int centres_find(const struct image *image, struct find_match *match, int axis,
                        struct find_centre *centre)
{
  int columns = match->layout->columns, cells = columns * match->layout->rows, count = 0;
  double width;

  for (int k = 0; k < cells; k++)
    centre[k] = find_centre_read(image, match, k % columns, k / columns, axis == 1);
  width = match->width[axis] = median_width(centre, cells);
  for (int k = 0; k < cells; k++) {
    centre[k].found = centre[k].found && fabs(centre[k].width - width) < WIDTH_OFF * width;
    count += centre[k].found;
  }
  return count;
}

struct correction {
  struct mat3 map;   /* column, row as taken so far to column, row as measured, without sag */
  struct point bend; /* change of the sag, photo pixels                                     */
  double misfit;     /* sum of squared residuals over all patches, strays capped            */
};

/* How column and row answer to a change of the sag: J^-1 h, a row for each. */
static void sag_response(const struct find_match *match, int column, int row, double x[2], double y[2])
{
  struct point l = find_match_place(match, column - 0.5, row), r = find_match_place(match, column + 0.5, row);
  struct point t = find_match_place(match, column, row - 0.5), b = find_match_place(match, column, row + 0.5);
  double ux = r.x - l.x, uy = r.y - l.y, vx = b.x - t.x, vy = b.y - t.y, det = ux * vy - uy * vx;
  double sag = find_match_sag(match->layout, column, row) / (det != 0 ? det : 1);

  x[0] = sag * vy;
  x[1] = -sag * vx;
  y[0] = -sag * uy;
  y[1] = sag * ux;
}

static int ties_list(const struct find_match *match, struct find_centre *const centre[2],
                     struct find_tie tie[FIND_CELLS])
{
  int columns = match->layout->columns, count = 0;

  for (int k = 0; k < columns * match->layout->rows; k++) {
    struct find_tie *here = &tie[count];
    int column = k % columns, row = k / columns;

    if (!centre[0][k].found && !centre[1][k].found)
      continue;
    *here = (struct find_tie){.column = column,
                              .row = row,
                              .x = column + centre[0][k].shift,
                              .y = row + centre[1][k].shift,
                              .weight_x = centre[0][k].found,
                              .weight_y = centre[1][k].found};
    sag_response(match, column, row, here->sag_x, here->sag_y);
    count++;
  }
  return count;
}

static void residual_of(const struct find_tie *tie, const struct correction *correction, double residual[2])
{
  struct point p = find_map_apply(&correction->map, tie->column, tie->row), bend = correction->bend;

  residual[0] = fabs(p.x + tie->sag_x[0] * bend.x + tie->sag_x[1] * bend.y - tie->x);
  residual[1] = fabs(p.y + tie->sag_y[0] * bend.x + tie->sag_y[1] * bend.y - tie->y);
}

/* Residuals of the used ties along both axes; returns their number. */
static int residuals_list(const struct find_tie *tie, int count, const struct correction *correction,
                          double *list)
{
  int used = 0;

  for (int i = 0; i < count; i++) {
    double residual[2];

    residual_of(&tie[i], correction, residual);
    if (tie[i].weight_x > 0)
      list[used++] = residual[0];
    if (tie[i].weight_y > 0)
      list[used++] = residual[1];
  }
  return used;
}

static double misfit_of(const struct find_tie *tie, int count, const struct correction *correction)
{
  double list[2 * FIND_CELLS], sum = 0;
  int used = residuals_list(tie, count, correction, list);

  for (int i = 0; i < used; i++)
    sum += fmin(list[i], CAP) * fmin(list[i], CAP);
  return sum;
}

/* Leaves strays out; returns whether there were any. The order is that of residuals_list. */
static bool strays_drop(struct find_tie *tie, int count, const double *residual, int used)
{
  double list[2 * FIND_CELLS], limit;
  bool dropped = false;
  int at = 0;

  for (int i = 0; i < used; i++)
    list[i] = residual[i];
  limit = STRAY * 1.4826 * order_upper_median(list, (size_t)used) + 0.003;
  for (int i = 0; i < count; i++) {
    bool x = tie[i].weight_x > 0 && residual[at++] > limit, y = tie[i].weight_y > 0 && residual[at++] > limit;

    tie[i].weight_x = x ? 0 : tie[i].weight_x;
    tie[i].weight_y = y ? 0 : tie[i].weight_y;
    dropped = dropped || x || y;
  }
  return dropped;
}

static bool correction_fit(const struct find_match *match, struct find_centre *const centre[2], bool bent,
                           struct correction *correction)
{
  struct find_tie tie[FIND_CELLS] = {{0}};
  double residual[2 * FIND_CELLS];
  int count = ties_list(match, centre, tie);
  struct find_tie all[FIND_CELLS];

  memcpy(all, tie, sizeof all);
  for (int round = 0; round < STRAY_ROUNDS; round++) {
    int used;

    *correction = (struct correction){.map = mat3_identity()};
    if (count < (bent ? BENT_TIES : TIES_MIN) ||
        !find_map_fit(tie, count, false, &correction->map, bent ? &correction->bend : NULL))
      return false;
    used = residuals_list(tie, count, correction, residual);
    if (!strays_drop(tie, count, residual, used))
      break;
  }
  correction->misfit = misfit_of(all, count, correction);
  return true;
}

/* Plane or bent, whichever the photo speaks for. */
static bool correction_choose(const struct find_match *match, struct find_centre *const centre[2],
                              struct correction *correction)
{
  bool was_bent = match->bend.x != 0 || match->bend.y != 0;
  struct correction bent;
  double pitch = find_match_pitch(match);

  if (!correction_fit(match, centre, false, correction))
    return false;
  if (correction_fit(match, centre, true, &bent) &&
      (was_bent ||
       (bent.misfit < BEND_GAIN * correction->misfit && hypot(bent.bend.x, bent.bend.y) > BEND_MIN * pitch)))
    *correction = bent;
  return true;
}

/* Farthest a corner moves, pitches. */
static double movement(const struct find_layout *layout, const struct correction *correction, double pitch)
{
  double most = hypot(correction->bend.x, correction->bend.y) / pitch;

  for (int k = 0; k < 4; k++) {
    double column = k % 2 ? layout->columns - 1 : 0, row = k / 2 ? layout->rows - 1 : 0;
    struct point p = find_map_apply(&correction->map, column, row);

    most = fmax(most, hypot(p.x - column, p.y - row));
  }
  return most;
}

void find_refine(const struct image *image, struct find_match *match)
{
  for (int round = 0; round < ROUNDS; round++) {
    struct find_centre along[FIND_CELLS], across[FIND_CELLS], *const centre[2] = {along, across};
    struct correction correction;
    double pitch = find_match_pitch(match);

    if (centres_find(image, match, 0, along) < TIES_MIN || centres_find(image, match, 1, across) < TIES_MIN ||
        !correction_choose(match, centre, &correction))
      return;
    match->map = mat3_multiply(match->map, correction.map);
    match->bend.x += correction.bend.x;
    match->bend.y += correction.bend.y;
    if (movement(match->layout, &correction, pitch) < STILL)
      return;
  }
}

/* A patch of the card's own size where the lattice goes on. */
static bool patch_like(const struct image *image, const struct find_match *match, int column, int row)
{
  for (int axis = 0; axis < 2; axis++) {
    struct find_centre centre = find_centre_read(image, match, column, row, axis == 1);

    if (!centre.found || fabs(centre.width - match->width[axis]) > WIDTH_OFF * match->width[axis] ||
        fabs(centre.shift) > SHIFT_OFF)
      return false;
  }
  return true;
}

int find_patches_beyond(const struct image *image, const struct find_match *match)
{
  int columns = match->layout->columns, rows = match->layout->rows, count = 0;

  for (int column = -1; column <= columns; column++)
    for (int row = -1; row <= rows; row++)
      if (column < 0 || row < 0 || column == columns || row == rows)
        count += patch_like(image, match, column, row);
  return count;
}
