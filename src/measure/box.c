/* SPDX-License-Identifier: MIT */
#include "measure/box.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"

enum { TURNS = 30, TRIMMED = 100 }; /* turns of a quarter */

/* Cells count for a thing from about a third on that is covered: their middles lie a little inside its sides, on the mean. */
static const double PAD = 0.3;
static const double CORNER =
    0.8; /* of the way from the middle to a corner: a place that ellipses do not reach */

static struct point box_turned(const struct box *box, struct point place)
{
  return (struct point){box->cosine * place.x + box->sine * place.y,
                        box->cosine * place.y - box->sine * place.x};
}

/* Between the places with one in a hundred beyond them on either side: whiskers do not count. */
static void extent(double *value, size_t count, double *low, double *high)
{
  size_t beyond = count / TRIMMED;

  order_doubles(value, count);
  *low = value[beyond] - PAD;
  *high = value[count - 1 - beyond] + PAD;
}

static struct box box_at(const struct point *place, size_t count, double angle, double *u, double *v)
{
  struct box box = {.cosine = cos(angle), .sine = sin(angle)};

  for (size_t i = 0; i < count; i++) {
    struct point at = box_turned(&box, place[i]);
    u[i] = at.x;
    v[i] = at.y;
  }
  extent(u, count, &box.low[0], &box.high[0]);
  extent(v, count, &box.low[1], &box.high[1]);
  box.filled = (double)count / (box_side(&box, 0) * box_side(&box, 1));
  return box;
}

bool box_round(const struct point *place, size_t count, struct box *box)
{
  double *value = calloc(2 * count + 1, sizeof *value);

  *box = (struct box){0};
  for (int turn = 0; value && count > 0 && turn < TURNS; turn++) {
    struct box now = box_at(place, count, turn * (M_PI / 2) / TURNS, value, value + count);
    *box = now.filled > box->filled ? now : *box;
  }
  free(value);
  return value != NULL;
}

int box_corners(const struct box *box, const struct point *place, size_t count)
{
  int found = 0;

  for (int k = 0; k < 4; k++) {
    double s = (k % 2 ? 0.5 : -0.5) * CORNER, t = (k / 2 ? 0.5 : -0.5) * CORNER;
    double u = (box->low[0] + box->high[0]) / 2 + s * box_side(box, 0),
           v = (box->low[1] + box->high[1]) / 2 + t * box_side(box, 1);
    double x = box->cosine * u - box->sine * v, y = box->sine * u + box->cosine * v;
    bool there = false;
    for (size_t i = 0; i < count && !there; i++) {
      there = fabs(place[i].x - x) <= 0.5 && fabs(place[i].y - y) <= 0.5;
    }
    found += there;
  }
  return found;
}

double box_side(const struct box *box, int k)
{
  return box->high[k] - box->low[k];
}

double box_distance(const struct box *box, struct point place)
{
  struct point at = box_turned(box, place);
  double u = fmax(box->low[0] - at.x, at.x - box->high[0]), v = fmax(box->low[1] - at.y, at.y - box->high[1]);

  return fmax(u, v);
}
