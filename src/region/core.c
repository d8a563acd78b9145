/* SPDX-License-Identifier: MIT */
/* Model: most colours come from one normal distribution, the others from anywhere.
 *
 *   1. Start: medians and median deviations in lightness (R + G + B) / 3 and in R - G, B - G. Lightness varies most in a
 *      deposit, so that strangers of another hue would hide in R, G and B alone. Besides from all colours also from the
 *      darker and from the lighter half: a cluster of pebbles can draw the medians.
 *   2. Concentrate: mean and covariance of the nearer half of all colours, until it settles (the C-step of Rousseeuw & Van
 *      Driessen 1999, Technometrics 41, 212), scaled so that its median distance is that of a normal distribution.
 *   3. Settle: mean and covariance of the colours within WINDOW, the covariance divided by what the window leaves of a normal
 *      one, until nothing changes. Colours beyond the window do not pull.
 *   4. Choose among the three ends the tightest that holds a MAJORITY within three standard deviations. */
#include "region/core.h"

#include <math.h>
#include <stdlib.h>

enum { STEPS = 12, ROUNDS = 60, STARTS = 3 };

static const double WINDOW2 = 1.8 * 1.8;
static const double WINDOW_VARIANCE = 0.52330;  /* P5(1.8^2) / P3(1.8^2), as CORE_WINDOW_VARIANCE        */
static const double MEDIAN_DISTANCE2 = 2.36597; /* median of chi-square with 3 degrees of freedom        */
static const double NORMAL_FROM_MEDIAN_DEVIATION =
    1.4826; /* 1 / 0.67449                                       */
static const double MAJORITY = 0.6;

struct cloud {
  const struct vec3 *colour; /* borrowed */
  size_t count;
  struct mat3 least;
  double *scratch;   /* owned; count numbers */
  double *distance2; /* owned */
};

/* Lightness and two colour differences of logarithms. */
static const struct mat3 OPPONENT = {{{1.0 / 3, 1.0 / 3, 1.0 / 3}, {1, -1, 0}, {0, -1, 1}}};

/* Inverse of the Cholesky factor, by forward substitution. */
static struct mat3 whitening(struct mat3 covariance)
{
  struct mat3 l = mat3_cholesky(covariance), inverse = {{{0}}};

  for (int j = 0; j < 3; j++) {
    for (int i = j; i < 3; i++) {
      double sum = i == j;
      for (int k = j; k < i; k++) {
        sum -= l.m[i][k] * inverse.m[k][j];
      }
      inverse.m[i][j] = sum / l.m[i][i];
    }
  }
  return inverse;
}

static double distance2(const struct core *core, const struct vec3 *colour)
{
  double x = colour->v[0] - core->centre.v[0], y = colour->v[1] - core->centre.v[1],
         z = colour->v[2] - core->centre.v[2], sum = 0;

  for (int i = 0; i < 3; i++) {
    const double *row = core->whiten.m[i];
    double d = row[0] * x + row[1] * y + row[2] * z;
    sum += d * d;
  }
  return sum;
}

static void measure_distances(struct cloud *cloud, const struct core *core)
{
  for (size_t i = 0; i < cloud->count; i++) {
    cloud->distance2[i] = distance2(core, &cloud->colour[i]);
  }
}

/* The number of rank `rank` (Hoare's selection); reorders. The middle as pivot keeps sorted input fast. */
static double select_rank(double *number, size_t count, size_t rank)
{
  size_t low = 0, high = count - 1;

  while (low < high) {
    double pivot = number[low + (high - low) / 2];
    size_t i = low, j = high;
    for (;;) {
      while (number[i] < pivot) {
        i++;
      }
      while (number[j] > pivot) {
        j--;
      }
      if (i >= j) {
        break;
      }
      double kept = number[i];
      number[i++] = number[j];
      number[j--] = kept;
    }
    if (rank <= j) {
      high = j;
    } else {
      low = j + 1;
    }
  }
  return number[rank];
}

static double half_distance2(const struct cloud *cloud)
{
  for (size_t i = 0; i < cloud->count; i++) {
    cloud->scratch[i] = cloud->distance2[i];
  }
  return select_rank(cloud->scratch, cloud->count, cloud->count / 2);
}

/* Mean and covariance, divided by `share`, of the colours whose distance is at most `limit2`. Returns how many. */
static size_t refit(const struct cloud *cloud, double limit2, double share, struct core *core)
{
  double sum[3] = {0}, square[6] = {0};
  size_t n = 0;

  for (size_t i = 0; i < cloud->count; i++) {
    if (cloud->distance2[i] > limit2) {
      continue;
    }
    double x = cloud->colour[i].v[0] - core->centre.v[0], y = cloud->colour[i].v[1] - core->centre.v[1],
           z = cloud->colour[i].v[2] - core->centre.v[2];
    const double add[6] = {x * x, x * y, x * z, y * y, y * z, z * z};
    sum[0] += x;
    sum[1] += y;
    sum[2] += z;
    for (int k = 0; k < 6; k++) {
      square[k] += add[k];
    }
    n++;
  }
  if (n == 0) {
    return 0;
  }
  static const int place[3][3] = {{0, 1, 2}, {1, 3, 4}, {2, 4, 5}};
  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      double mean2 = square[place[i][j]] / (double)n - sum[i] / (double)n * (sum[j] / (double)n);
      core->covariance.m[i][j] = mean2 / share + cloud->least.m[i][j];
    }
  }
  for (int i = 0; i < 3; i++) {
    core->centre.v[i] += sum[i] / (double)n;
  }
  core->whiten = whitening(core->covariance);
  return n;
}

/* Which colours a start looks at. */
static bool in_start(int start, double lightness, double median)
{
  return start == 0 || (start == 1 ? lightness <= median : lightness >= median);
}

static double opponent(const struct vec3 *colour, int k)
{
  const double *row = OPPONENT.m[k];

  return row[0] * colour->v[0] + row[1] * colour->v[1] + row[2] * colour->v[2];
}

/* Median and scaled median deviation of opponent coordinate k over the colours of a start. */
static void locate(const struct cloud *cloud, int start, double lightness, int k, double *median,
                   double *deviation)
{
  size_t n = 0;

  for (size_t i = 0; i < cloud->count; i++) {
    if (in_start(start, opponent(&cloud->colour[i], 0), lightness)) {
      cloud->scratch[n++] = opponent(&cloud->colour[i], k);
    }
  }
  *median = select_rank(cloud->scratch, n, n / 2);
  for (size_t i = 0; i < n; i++) {
    cloud->scratch[i] = fabs(cloud->scratch[i] - *median);
  }
  *deviation = NORMAL_FROM_MEDIAN_DEVIATION * select_rank(cloud->scratch, n, n / 2);
}

/* From medians in opponent coordinates to a centre and covariance of log R, G, B. */
static void begin(const struct cloud *cloud, int start, double lightness, struct core *core)
{
  struct vec3 median, variance;
  struct mat3 back;

  mat3_invert(OPPONENT, &back);
  for (int k = 0; k < 3; k++) {
    double deviation;
    locate(cloud, start, lightness, k, &median.v[k], &deviation);
    variance.v[k] = deviation * deviation;
  }
  core->centre = mat3_apply(back, median);
  core->covariance = mat3_add(mat3_congruence(back, mat3_diagonal(variance)), cloud->least);
  core->whiten = whitening(core->covariance);
}

static void concentrate(struct cloud *cloud, struct core *core)
{
  for (int step = 0; step < STEPS; step++) {
    measure_distances(cloud, core);
    refit(cloud, half_distance2(cloud), 1, core);
  }
  measure_distances(cloud, core);
  double wider = half_distance2(cloud) / MEDIAN_DISTANCE2;
  core->covariance = mat3_add(mat3_scale(core->covariance, wider), cloud->least);
  core->whiten = whitening(core->covariance);
}

static void settle(struct cloud *cloud, struct core *core)
{
  struct vec3 before;

  for (int round = 0; round < ROUNDS; round++) {
    before = core->centre;
    measure_distances(cloud, core);
    if (refit(cloud, WINDOW2, WINDOW_VARIANCE, core) == 0) {
      return;
    }
    struct vec3 moved = vec3_subtract(core->centre, before);
    if (vec3_dot(moved, moved) < 1e-14) {
      return;
    }
  }
}

static double root_of_determinant(struct mat3 covariance)
{
  struct mat3 l = mat3_cholesky(covariance);

  return l.m[0][0] * l.m[1][1] * l.m[2][2];
}

static double share_within_three(struct cloud *cloud, const struct core *core)
{
  size_t n = 0;

  measure_distances(cloud, core);
  for (size_t i = 0; i < cloud->count; i++) {
    n += cloud->distance2[i] <= 9;
  }
  return (double)n / (double)cloud->count;
}

/* The tightest majority; where there is none, the largest share. */
static void choose(struct cloud *cloud, struct core *core)
{
  double unused, lightness, best_share = -1, best_volume = INFINITY;

  locate(cloud, 0, 0, 0, &lightness, &unused);
  for (int start = 0; start < STARTS; start++) {
    struct core found;
    begin(cloud, start, lightness, &found);
    concentrate(cloud, &found);
    settle(cloud, &found);
    double share = share_within_three(cloud, &found), volume = root_of_determinant(found.covariance);
    bool majority = share >= MAJORITY, had = best_share >= MAJORITY;
    if (majority && had ? volume < best_volume : majority || (!had && share > best_share)) {
      *core = found;
      best_share = share;
      best_volume = volume;
    }
  }
}

bool core_find(const struct vec3 *colour, size_t count, struct mat3 least, struct core *core)
{
  struct cloud cloud = {.colour = colour,
                        .count = count,
                        .least = least,
                        .scratch = calloc(count, sizeof(double)),
                        .distance2 = calloc(count, sizeof(double))};
  bool done = cloud.scratch && cloud.distance2;

  if (done) {
    choose(&cloud, core);
  }
  free(cloud.scratch);
  free(cloud.distance2);
  return done;
}
