/* SPDX-License-Identifier: MIT */
#include "region/mosaic.h"

#include <math.h>
#include <stdlib.h>

#include "colour/difference.h"
#include "region/core.h"

enum { BLOCKS_LEAST = 8 };

static size_t block_count(const struct mosaic *mosaic)
{
  return (size_t)mosaic->columns * (size_t)mosaic->rows;
}

/* Sums over the group of blocks whose first is at column x and row y. */
static struct vec3 sum_of_group(const struct mosaic *mosaic, int x, int y, int side, double *used)
{
  struct vec3 sum = {{0}};

  *used = 0;
  for (int j = y; j < y + side && j < mosaic->rows; j++) {
    for (int i = x; i < x + side && i < mosaic->columns; i++) {
      const struct mosaic_block *block = &mosaic->block[(size_t)j * (size_t)mosaic->columns + (size_t)i];
      *used += (double)block->used;
      sum = vec3_add(sum, (struct vec3){{block->linear[0], block->linear[1], block->linear[2]}});
    }
  }
  return sum;
}

/* Sum of squared weighted deviations of the means of groups of `side` x `side` blocks: the variance of the whole mean if
 * the groups are independent. Widened for their number n by (n - 1) / (n - 5), so that the squared distance in three
 * dimensions is right on average although the covariance itself is estimated (Hotelling 1931; the mean of F). */
static struct mat3 group_covariance(const struct mosaic *mosaic, int side, struct vec3 mean, size_t *groups)
{
  struct mat3 sum = {{{0}}};
  double total = 0;

  *groups = 0;
  for (int y = 0; y < mosaic->rows; y += side) {
    for (int x = 0; x < mosaic->columns; x += side) {
      double used;
      struct vec3 off = sum_of_group(mosaic, x, y, side, &used);
      if (used > 0) {
        off = vec3_subtract(off, vec3_scale(mean, used));
        sum = mat3_add(sum, mat3_outer(off, off));
        total += used;
        ++*groups;
      }
    }
  }
  double n = (double)*groups;
  return n >= BLOCKS_LEAST ? mat3_scale(sum, n / (n - 5) / (total * total)) : sum;
}

static double trace(struct mat3 a)
{
  return a.m[0][0] + a.m[1][1] + a.m[2][2];
}

/* The same from quarters of the region, which see unevenness as wide as the region itself: patchy moisture, coarse mottles. Four
 * groups tell little, so this only ever widens. */
static struct mat3 quarter_covariance(const struct mosaic *mosaic, struct vec3 mean)
{
  struct mat3 sum = {{{0}}};
  double total = 0;
  int across = (mosaic->columns + 1) / 2, down = (mosaic->rows + 1) / 2;

  for (int quarter = 0; quarter < 4; quarter++) {
    int x0 = quarter % 2 ? across : 0, y0 = quarter / 2 ? down : 0;
    struct vec3 quarter_sum = {{0}};
    double quarter_used = 0;
    for (int y = y0; y < (quarter / 2 ? mosaic->rows : down); y++) {
      for (int x = x0; x < (quarter % 2 ? mosaic->columns : across); x++) {
        double used;
        quarter_sum = vec3_add(quarter_sum, sum_of_group(mosaic, x, y, 1, &used));
        quarter_used += used;
      }
    }
    struct vec3 off = vec3_subtract(quarter_sum, vec3_scale(mean, quarter_used));
    sum = mat3_add(sum, mat3_outer(off, off));
    total += quarter_used;
  }
  return mat3_scale(sum, 2 * 4.0 / 3 / (total * total));
}

/* Within a window that stands still, the mean moves by only CORE_WINDOW_VARIANCE of what the whole population moves, so the blocks
 * seem more alike than they are. */
struct mat3 mosaic_covariance(const struct mosaic *mosaic, struct vec3 mean, struct mat3 spread)
{
  const double restore = 1 / (CORE_WINDOW_VARIANCE * CORE_WINDOW_VARIANCE);
  size_t fine, coarse;
  struct mat3 of_blocks = group_covariance(mosaic, 1, mean, &fine);
  struct mat3 of_fours = group_covariance(mosaic, 2, mean, &coarse);

  if (fine < BLOCKS_LEAST) { /* each block counts as one pixel */
    return mat3_scale(spread, 1 / (double)(fine ? fine : 1));
  }
  bool still_alike = coarse >= BLOCKS_LEAST && trace(of_fours) > trace(of_blocks);
  struct mat3 of_groups = still_alike ? of_fours : of_blocks, of_quarters = quarter_covariance(mosaic, mean);
  return mat3_scale(trace(of_quarters) > trace(of_groups) ? of_quarters : of_groups, restore);
}

/* Weighted sums for a plane log = a + b x + c y. */
struct plane {
  double n, x, y, xx, xy, yy;
  double z[3], xz[3], yz[3];
};

static void add_to_plane(struct plane *plane, double x, double y, double weight,
                         const struct mosaic_block *block)
{
  plane->n += weight;
  plane->x += weight * x;
  plane->y += weight * y;
  plane->xx += weight * x * x;
  plane->xy += weight * x * y;
  plane->yy += weight * y * y;
  for (int k = 0; k < 3; k++) {
    double z = weight * log(fmax(block->linear[k] / (double)block->used, 1e-6));
    plane->z[k] += z;
    plane->xz[k] += z * x;
    plane->yz[k] += z * y;
  }
}

/* Slopes of channel k; zero where the blocks lie on one line. */
static void slopes(const struct plane *p, int k, double *along_x, double *along_y)
{
  double xx = p->xx - p->x * p->x / p->n, yy = p->yy - p->y * p->y / p->n, xy = p->xy - p->x * p->y / p->n;
  double xz = p->xz[k] - p->x * p->z[k] / p->n, yz = p->yz[k] - p->y * p->z[k] / p->n;
  double determinant = xx * yy - xy * xy;

  *along_x = *along_y = 0;
  if (determinant > 1e-9 * (xx + yy) * (xx + yy)) {
    *along_x = (yy * xz - xy * yz) / determinant;
    *along_y = (xx * yz - xy * xz) / determinant;
  }
}

static double range_of_plane(const struct mosaic *mosaic, double along_x, double along_y)
{
  double least = INFINITY, most = -INFINITY;

  for (int y = 0; y < mosaic->rows; y++) {
    for (int x = 0; x < mosaic->columns; x++) {
      if (mosaic->block[(size_t)y * (size_t)mosaic->columns + (size_t)x].used > 0) {
        double z = along_x * x + along_y * y;
        least = fmin(least, z);
        most = fmax(most, z);
      }
    }
  }
  return most - least;
}

struct vec3 mosaic_drift(const struct mosaic *mosaic)
{
  struct plane plane = {0};
  struct vec3 drift = {{0}};
  size_t filled = 0;

  for (int y = 0; y < mosaic->rows; y++) {
    for (int x = 0; x < mosaic->columns; x++) {
      const struct mosaic_block *block = &mosaic->block[(size_t)y * (size_t)mosaic->columns + (size_t)x];
      if (block->used > 0) {
        add_to_plane(&plane, x, y, (double)block->used, block);
        filled++;
      }
    }
  }
  for (int k = 0; k < 3 && filled >= BLOCKS_LEAST; k++) {
    double along_x, along_y;
    slopes(&plane, k, &along_x, &along_y);
    drift.v[k] = range_of_plane(mosaic, along_x, along_y);
  }
  return drift;
}

/* A block for the search of two colours. */
struct spot {
  struct vec3 colour; /* mean log R, G, B       */
  double weight;
  double along; /* on the main axis */
};

static int compare_along(const void *a, const void *b)
{
  const struct spot *p = a, *q = b;

  return (p->along > q->along) - (p->along < q->along);
}

static size_t list_spots(const struct mosaic *mosaic, struct spot *spot)
{
  size_t count = 0;

  for (size_t i = 0; i < block_count(mosaic); i++) {
    const struct mosaic_block *block = &mosaic->block[i];
    double n = (double)block->open;
    if (block->open > 0) {
      spot[count++] =
          (struct spot){.colour = {{block->log[0] / n, block->log[1] / n, block->log[2] / n}}, .weight = n};
    }
  }
  return count;
}

static struct vec3 mean_of(const struct spot *spot, size_t count, double *weight)
{
  struct vec3 sum = {{0}};

  *weight = 0;
  for (size_t i = 0; i < count; i++) {
    sum = vec3_add(sum, vec3_scale(spot[i].colour, spot[i].weight));
    *weight += spot[i].weight;
  }
  return *weight > 0 ? vec3_scale(sum, 1 / *weight) : sum;
}

/* Sorts along the axis of largest variance. Returns the variance on it. */
static double sort_along_axis(struct spot *spot, size_t count)
{
  double weight;
  struct vec3 mean = mean_of(spot, count, &weight);
  struct mat3 sum = {{{0}}}, axes;

  for (size_t i = 0; i < count; i++) {
    struct vec3 d = vec3_subtract(spot[i].colour, mean);
    sum = mat3_add(sum, mat3_scale(mat3_outer(d, d), spot[i].weight / weight));
  }
  struct vec3 variance = mat3_eigen(sum, &axes);
  for (size_t i = 0; i < count; i++) {
    struct vec3 d = vec3_subtract(spot[i].colour, mean);
    spot[i].along = axes.m[0][0] * d.v[0] + axes.m[1][0] * d.v[1] + axes.m[2][0] * d.v[2];
  }
  qsort(spot, count, sizeof *spot, compare_along);
  return variance.v[0];
}

/* The split that leaves least variance inside the two parts (Otsu 1979, IEEE Trans. SMC 9, 62), each part at least 15 % of
 * the pixels. Returns the variance between the parts; `split` is the first spot of the second. */
static double best_split(const struct spot *spot, size_t count, size_t *split)
{
  const double least = 0.15;
  double all = 0, below = 0, sum = 0, best = 0;

  for (size_t i = 0; i < count; i++) {
    all += spot[i].weight;
  }
  *split = 0;
  for (size_t i = 0; i + 1 < count; i++) { /* the mean along the axis is zero */
    below += spot[i].weight / all;
    sum += spot[i].weight / all * spot[i].along;
    double between = sum * sum / (below * (1 - below));
    if (below >= least && below <= 1 - least && between > best) {
      best = between;
      *split = i + 1;
    }
  }
  return best;
}

static struct lab lab_of(struct vec3 log_linear, const struct profile *profile)
{
  for (int k = 0; k < 3; k++) {
    log_linear.v[k] = fmax(exp(log_linear.v[k]) - WALK_FLOOR, 0);
  }
  return profile_lab(profile, log_linear);
}

/* The best split of an even gradient leaves 3/4 of the variance between its parts, of a normal distribution 2/pi; two clean
 * colours leave all. From 3/4 to 0.9 the distance counts more and more. */
static double distinctness(double between, double variance)
{
  return variance > 0 ? fmin(fmax((between / variance - 0.75) / (0.9 - 0.75), 0), 1) : 0;
}

double mosaic_lobes(const struct mosaic *mosaic, const struct profile *profile)
{
  struct spot spot[WALK_BLOCKS_ACROSS * WALK_BLOCKS_ACROSS];
  size_t count = list_spots(mosaic, spot), split;
  double weight;

  if (count < BLOCKS_LEAST) {
    return 0;
  }
  double variance = sort_along_axis(spot, count), between = best_split(spot, count, &split);
  if (split == 0) {
    return 0;
  }
  struct lab first = lab_of(mean_of(spot, split, &weight), profile);
  struct lab second = lab_of(mean_of(spot + split, count - split, &weight), profile);
  return distinctness(between, variance) * colour_de00(first, second);
}
