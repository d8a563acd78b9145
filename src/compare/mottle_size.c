/* SPDX-License-Identifier: MIT */
#include "compare/mottle_size.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "base/quantile.h"

static const double SCALE_RATIO = 2;    /* of the scale at a place over the card's own             */
static const double REACH = 1.5;        /* lumps' diameters within which places are alike              */
static const double FAVOUR = 2;         /* lumps merge where there are many, and hide how many they were */
static const double SLANT_DEGREES = 45; /* beyond, the photo itself is in doubt (measure/doubts.c) */

static size_t cells_of_parts(const struct mottle_map *map)
{
  size_t sum = 0;

  for (size_t k = 0; k < MIXTURE_PARTS_MAX; k++) {
    sum += map->count[k];
  }
  return sum;
}

/* Area-weighted mean area, in cells, of the lumps of a part, or of all but it. */
static double weighted_lump(const struct mottle_map *map, size_t part, bool others)
{
  double sum = 0, square = 0;

  for (size_t i = 0; i < map->lumps; i++) {
    double cells = (double)map->lump[i].cells;
    if ((map->lump[i].part == part) != others) {
      sum += cells;
      square += cells * cells;
    }
  }
  return sum > 0 ? square / sum : MOTTLE_LUMP;
}

/* Sum, over the pairs of cells (dx, dy) apart, of (x - p) (x' - p), with x 1 in the part and 0 elsewhere. */
static double covary(const struct mottle_map *map, size_t part, double p, int dx, int dy, double *pairs)
{
  int columns = map->cells->columns, rows = map->cells->rows;
  size_t all = 0, ones = 0, both = 0;

  for (int y = 0; y + dy < rows; y++) {
    const uint8_t *row = map->part + (size_t)y * (size_t)columns;
    const uint8_t *other = row + (ptrdiff_t)dy * columns + dx;
    for (int x = dx < 0 ? -dx : 0; x < columns && x + dx < columns; x++) {
      bool pair = row[x] != MOTTLE_NONE && other[x] != MOTTLE_NONE;
      size_t first = pair && row[x] == part, second = pair && other[x] == part;
      all += pair;
      ones += first + second;
      both += first & second;
    }
  }
  *pairs = (double)all;
  return (double)both - p * (double)ones + p * p * (double)all;
}

/* Variance of the share p of N cells: the sum over the distances h up to `reach` cells of the covariance at h, times the pairs that
 * far apart, over N^2. The covariances are taken about the share found, which fits this region too well by the part of all
 * pairs that is summed over; that is made good. Every `step`-th distance is looked at. */
static double share_variance(const struct mottle_map *map, size_t part, double p, double all, int reach)
{
  int step = reach / 8 + 1;
  double sum = 0, looked = 0;

  for (int dy = 0; dy <= reach; dy += step) {
    for (int dx = -(reach / step) * step; dx <= reach; dx += step) {
      double pairs, weight = (dy > 0 ? 2 : 1) * step * step;
      if (dx * dx + dy * dy <= reach * reach) {
        sum += weight * covary(map, part, p, dx, dy, &pairs);
        looked += weight * pairs;
      }
    }
  }
  return sum / (all * all) / fmax(1 - looked / (all * all), 0.2);
}

/* Independent places that tell as much as the region does. */
static double places(const struct mottle_map *map, size_t part, double p, double all)
{
  double lump = weighted_lump(map, part, part == map->main);
  int reach = (int)ceil(REACH * 2 * sqrt(lump / M_PI)), longer = (int)sqrt(all);
  double variance = share_variance(map, part, p, all, reach < longer / 2 ? reach : longer / 2);
  double fewest = fmax(all / (2 * lump), 1), most = FAVOUR * all / lump;

  return variance > 0 ? fmin(fmax(p * (1 - p) / variance, fewest), fmax(most, fewest)) : fewest;
}

/* Quantile 0.975 of Student's t, to first order in 1 / freedom: the variance is known from so many lumps only. */
static double student_95(double freedom)
{
  const double z = QUANTILE_NORMAL_95;

  return z + z * (z * z + 1) / (4 * fmax(freedom, 2));
}

static double count_lumps(const struct mottle_map *map, size_t part)
{
  size_t count = 0;

  for (size_t i = 0; i < map->lumps; i++) {
    count += part == map->main || map->lump[i].part == part;
  }
  return (double)count;
}

struct mottle_figure mottle_share(const struct mottle_map *map, size_t part)
{
  double all = (double)cells_of_parts(map), p = (double)map->count[part] / all;
  double n = places(map, part, p, all), z = student_95(count_lumps(map, part) - 1), z2 = z * z;
  double middle = (p + z2 / (2 * n)) / (1 + z2 / n);
  double half = z / (1 + z2 / n) * sqrt(p * (1 - p) / n + z2 / (4 * n * n));

  return (struct mottle_figure){p, fmax(middle - half, 0), fmin(middle + half, 1)};
}

double mottle_scale(const struct measurement *m, struct point place)
{
  struct point mm[3];

  for (int k = 0; k < 3; k++) {
    struct point at = {place.x + (k == 1), place.y + (k == 2)};
    if (!card_pose_unproject(&m->pose, &m->card, at, &mm[k].x, &mm[k].y)) {
      return 0;
    }
  }
  double area = (mm[1].x - mm[0].x) * (mm[2].y - mm[0].y) - (mm[1].y - mm[0].y) * (mm[2].x - mm[0].x);
  double scale = sqrt(fabs(area)), ratio = scale / m->pose.mm_per_pixel;
  return ratio < SCALE_RATIO && ratio > 1 / SCALE_RATIO ? scale : 0;
}

/* The median and the order statistics that hold it in 95 % of samples (binomial, by the normal approximation), widened by half a
 * cell, which a lump's rim is not known to. */
static struct mottle_figure median(double *diameter, size_t count, double half_cell)
{
  double spread = QUANTILE_NORMAL_95 * sqrt((double)count) / 2;
  size_t low = (size_t)fmax(floor((double)count / 2 - spread), 0);
  size_t high = (size_t)fmin(ceil((double)count / 2 + spread), (double)count - 1);

  double middle = order_median(diameter, count);
  return (struct mottle_figure){middle, fmax(diameter[low] - half_cell, 0), diameter[high] + half_cell};
}

static size_t count_whole(const struct mottle_map *map, size_t part)
{
  size_t count = 0;

  for (size_t i = 0; i < map->lumps; i++) {
    count += map->lump[i].part == part && !map->lump[i].cut;
  }
  return count;
}

/* Diameters in mm into `diameter`, and the mm of a cell, mean over their places; SIZE_MAX where a place has no scale. */
static size_t list_diameters(const struct mottle_map *map, size_t part, const struct measurement *m,
                             double *diameter, double *cell_mm)
{
  bool whole_only = count_whole(map, part) >= 3;
  double sum = 0;
  size_t count = 0;

  for (size_t i = 0; i < map->lumps; i++) {
    const struct mottle_lump *lump = &map->lump[i];
    if (lump->part == part && !(whole_only && lump->cut)) {
      double scale = mottle_scale(m, lump->middle) * map->cells->side;
      if (scale <= 0) {
        return SIZE_MAX;
      }
      sum += scale;
      diameter[count++] = 2 * sqrt((double)lump->cells / M_PI) * scale;
    }
  }
  *cell_mm = sum / fmax((double)count, 1);
  return count;
}

bool mottle_size(const struct mottle_map *map, size_t part, const struct measurement *measurement,
                 struct mottle_part *into, struct error *error)
{
  double *diameter = calloc(map->lumps ? map->lumps : 1, sizeof *diameter), cell_mm = 0;

  if (!diameter) {
    return error_no_memory(error, "the mottles of a region");
  }
  into->no_size = NULL;
  if (part == map->main) {
    into->no_size = "it is what the others lie in";
  } else if (!measurement->card.sized) {
    into->no_size = "the card's file says that it has no true size; lay a card of known size beside it";
  } else if (measurement->pose.tilt_degrees > SLANT_DEGREES) {
    into->no_size = "the card lies too slanted in the photo to give a scale; take the face from straight on";
  } else {
    size_t count = list_diameters(map, part, measurement, diameter, &cell_mm);
    if (count == SIZE_MAX) {
      into->no_size = "the card's plane gives no scale so far from the card; lay the card beside the region";
    } else if (count == 0) {
      into->no_size = "it forms no lumps";
    } else {
      into->size = median(diameter, count, cell_mm / 2);
      into->least = 2 * sqrt(MOTTLE_LUMP / M_PI) * cell_mm;
    }
  }
  into->sized = into->no_size == NULL;
  free(diameter);
  return true;
}
