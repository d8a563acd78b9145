/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <string.h>

#include "base/solve.h"
#include "card/find_parts.h"

enum { AFFINE_BELOW = 8, TIES_MAX = FIND_SPAN * FIND_SPAN };

/* Both sides are moved and scaled to about unit size first, so that the columns of the system weigh alike. */
struct frame {
  double x, y, scale;
};

static struct frame frame_of(const struct find_tie *tie, int count, bool of_grid)
{
  struct frame frame = {0, 0, 0};

  for (int i = 0; i < count; i++) {
    frame.x += (of_grid ? tie[i].column : tie[i].x) / count;
    frame.y += (of_grid ? tie[i].row : tie[i].y) / count;
  }
  for (int i = 0; i < count; i++)
    frame.scale +=
        hypot((of_grid ? tie[i].column : tie[i].x) - frame.x, (of_grid ? tie[i].row : tie[i].y) - frame.y) /
        count;
  return frame;
}

/* x (g u + h v + 1) = a u + b v + c + sag . bend, and so for y; g, h are left out of an affine map, bend of a flat one. */
static void rows_fill(const struct find_tie *tie, struct frame grid, struct frame photo, int unknowns,
                      double *a, double *b)
{
  double u = (tie->column - grid.x) / grid.scale, v = (tie->row - grid.y) / grid.scale;
  double place[2] = {(tie->x - photo.x) / photo.scale, (tie->y - photo.y) / photo.scale};
  double weight[2] = {tie->weight_x, tie->weight_y};

  for (int i = 0; i < 2; i++) {
    double row[10] = {0};
    const double *sag = i == 0 ? tie->sag_x : tie->sag_y;

    row[3 * i] = u;
    row[3 * i + 1] = v;
    row[3 * i + 2] = 1;
    row[6] = -u * place[i];
    row[7] = -v * place[i];
    row[8] = sag[0] / photo.scale;
    row[9] = sag[1] / photo.scale;
    for (int k = 0; k < unknowns; k++)
      a[i * unknowns + k] = weight[i] * row[k];
    b[i] = weight[i] * place[i];
  }
}

bool find_map_fit(const struct find_tie *tie, int count, bool affine, struct mat3 *map, struct point *bend)
{
  static const struct mat3 none = {{{0}}};
  int unknowns = affine || count < AFFINE_BELOW ? 6 : bend == NULL ? 8 : 10;
  double a[2 * TIES_MAX * 10], b[2 * TIES_MAX], x[10] = {0};
  struct frame grid = frame_of(tie, count, true), photo = frame_of(tie, count, false);
  struct mat3 inner = none, from_grid = mat3_identity(), to_photo = mat3_identity();
  struct error error;

  if (count < 3 || count > TIES_MAX || grid.scale <= 0 || photo.scale <= 0)
    return false;
  for (int i = 0; i < count; i++)
    rows_fill(&tie[i], grid, photo, unknowns, a + (size_t)(2 * i * unknowns), b + (size_t)2 * i);
  if (!solve_linear(2 * (size_t)count, (size_t)unknowns, a, b, x, NULL, &error))
    return false;
  memcpy(inner.m, x, 8 * sizeof *x);
  inner.m[2][2] = 1;
  from_grid.m[0][0] = from_grid.m[1][1] = 1 / grid.scale;
  from_grid.m[0][2] = -grid.x / grid.scale;
  from_grid.m[1][2] = -grid.y / grid.scale;
  to_photo.m[0][0] = to_photo.m[1][1] = photo.scale;
  to_photo.m[0][2] = photo.x;
  to_photo.m[1][2] = photo.y;
  *map = mat3_multiply(to_photo, mat3_multiply(inner, from_grid));
  if (bend != NULL)
    *bend = (struct point){x[8], x[9]};
  return true;
}

struct point find_map_apply(const struct mat3 *map, double column, double row)
{
  double w = map->m[2][0] * column + map->m[2][1] * row + map->m[2][2];

  return (struct point){(map->m[0][0] * column + map->m[0][1] * row + map->m[0][2]) / w,
                        (map->m[1][0] * column + map->m[1][1] * row + map->m[1][2]) / w};
}
