/* SPDX-License-Identifier: MIT */
#include "compare/mixture.h"

#include <math.h>

enum {
  TRIAL_ROUNDS = 8, /* before the likelier of two candidates is chosen         */
  ROUNDS = 60,
  FAR_MAX = 160, /* far colours among which the densest place is looked for   */
  FAR_LEAST = 4, /* colours that make a place                                 */
  BINS = 48      /* of the split                                              */
};

static const double ENOUGH = 1e-5; /* of the mean log likelihood                    */
static const double FAR2 = 3.5 * 3.5, NEAR2 = 2 * 2;
static const double SPLIT_LEAST = 0.05; /* share of either side of a split               */

struct mat3 mixture_whitening(struct mat3 covariance)
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

double mixture_distance2(struct mat3 whiten, struct vec3 mean, struct vec3 colour)
{
  double x = colour.v[0] - mean.v[0], y = colour.v[1] - mean.v[1], z = colour.v[2] - mean.v[2];
  double a = whiten.m[0][0] * x, b = whiten.m[1][0] * x + whiten.m[1][1] * y;
  double c = whiten.m[2][0] * x + whiten.m[2][1] * y + whiten.m[2][2] * z;

  return a * a + b * b + c * c;
}

/* Sums over the colours, of which `weight` counts for a part. */
struct sums {
  double weight[MIXTURE_PARTS_MAX], first[MIXTURE_PARTS_MAX][3], second[6];
};

static void add_to_sums(struct sums *sums, size_t part, double weight, struct vec3 d)
{
  sums->weight[part] += weight;
  for (int i = 0; i < 3; i++) {
    sums->first[part][i] += weight * d.v[i];
  }
}

static void add_square(struct sums *sums, struct vec3 d)
{
  const double square[6] = {d.v[0] * d.v[0], d.v[0] * d.v[1], d.v[0] * d.v[2],
                            d.v[1] * d.v[1], d.v[1] * d.v[2], d.v[2] * d.v[2]};

  for (int k = 0; k < 6; k++) {
    sums->second[k] += square[k];
  }
}

/* Chances of the parts given the colour; returns the log of its density but for the constant 3/2 log(2 pi). */
static double chances(const struct mixture *m, const struct mat3 *whiten, const double *level,
                      struct vec3 colour, double chance[MIXTURE_PARTS_MAX])
{
  double most = -INFINITY, sum = 0;

  for (size_t k = 0; k < m->parts; k++) {
    chance[k] = level[k] - 0.5 * mixture_distance2(*whiten, m->mean[k], colour);
    most = fmax(most, chance[k]);
  }
  for (size_t k = 0; k < m->parts; k++) {
    chance[k] = chance[k] > most - 40 ? exp(chance[k] - most) : 0;
    sum += chance[k];
  }
  for (size_t k = 0; k < m->parts; k++) {
    chance[k] /= sum;
  }
  return most + log(sum);
}

/* From sums taken about `origin`: shares, means, and the covariance of the colours about their part's mean. */
static void maximise(const struct sums *sums, size_t count, struct vec3 origin, struct mat3 least,
                     struct mixture *m)
{
  static const int place[3][3] = {{0, 1, 2}, {1, 3, 4}, {2, 4, 5}};
  double n = (double)count;

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      m->covariance.m[i][j] = sums->second[place[i][j]] / n + least.m[i][j];
    }
  }
  for (size_t k = 0; k < m->parts; k++) {
    double weight = fmax(sums->weight[k], 1e-9);
    struct vec3 mean = {{sums->first[k][0] / weight, sums->first[k][1] / weight, sums->first[k][2] / weight}};
    m->share[k] = weight / n;
    m->covariance = mat3_add(m->covariance, mat3_scale(mat3_outer(mean, mean), -weight / n));
    m->mean[k] = vec3_add(origin, mean);
  }
}

static double improve(const struct vec3 *colour, size_t count, struct mat3 least, struct mixture *m)
{
  struct mat3 whiten = mixture_whitening(m->covariance);
  struct vec3 origin = m->mean[0];
  struct sums sums = {0};
  double level[MIXTURE_PARTS_MAX], chance[MIXTURE_PARTS_MAX], likelihood = 0;
  double volume = log(whiten.m[0][0] * whiten.m[1][1] * whiten.m[2][2]);

  for (size_t k = 0; k < m->parts; k++) {
    level[k] = log(fmax(m->share[k], 1e-12)) + volume;
  }
  for (size_t i = 0; i < count; i++) {
    struct vec3 d = vec3_subtract(colour[i], origin);
    likelihood += chances(m, &whiten, level, colour[i], chance);
    add_square(&sums, d);
    for (size_t k = 0; k < m->parts; k++) {
      add_to_sums(&sums, k, chance[k], d);
    }
  }
  maximise(&sums, count, origin, least, m);
  return likelihood / (double)count - 1.5 * log(2 * M_PI);
}

void mixture_fit(const struct vec3 *colour, size_t count, struct mat3 least, int rounds, double enough,
                 struct mixture *mixture)
{
  double before = -INFINITY;

  for (int round = 0; round < rounds; round++) {
    mixture->likelihood = improve(colour, count, least, mixture);
    if (mixture->likelihood - before < enough) {
      return;
    }
    before = mixture->likelihood;
  }
}

static size_t nearest_part(const struct mixture *m, struct mat3 whiten, struct vec3 colour, double *distance2)
{
  size_t nearest = 0;

  *distance2 = INFINITY;
  for (size_t k = 0; k < m->parts; k++) {
    double d = mixture_distance2(whiten, m->mean[k], colour);
    if (d < *distance2) {
      *distance2 = d;
      nearest = k;
    }
  }
  return nearest;
}

/* Adds a part at `mean` that holds `share`, taken from part `from`. */
static void add_part(struct mixture *m, size_t from, struct vec3 mean, double share)
{
  m->mean[m->parts] = mean;
  m->share[m->parts++] = share;
  m->share[from] = fmax(m->share[from] - share, 0.01);
}

/* Far colours, thinned to FAR_MAX. Returns how many; `all` how many there are. */
static size_t list_far(const struct vec3 *colour, size_t count, const struct mixture *m, struct mat3 whiten,
                       struct vec3 far[FAR_MAX], size_t *all)
{
  size_t kept = 0, step = 1;

  *all = 0;
  for (size_t i = 0; i < count; i++) {
    double distance2;
    nearest_part(m, whiten, colour[i], &distance2);
    if (distance2 <= FAR2 || (*all)++ % step != 0) {
      continue;
    }
    if (kept == FAR_MAX) { /* keep every second */
      for (size_t k = 0; k < FAR_MAX / 2; k++) {
        far[k] = far[2 * k];
      }
      kept = FAR_MAX / 2;
      step *= 2;
    }
    far[kept++] = colour[i];
  }
  return kept;
}

/* Mean of the far colours near the one that has most others near it. */
static bool densest(const struct vec3 *far, size_t count, struct mat3 whiten, struct vec3 *mean,
                    double *share)
{
  size_t most = 0;

  for (size_t i = 0; i < count; i++) {
    struct vec3 sum = {{0}};
    size_t near = 0;
    for (size_t j = 0; j < count; j++) {
      if (mixture_distance2(whiten, far[i], far[j]) <= NEAR2) {
        sum = vec3_add(sum, far[j]);
        near++;
      }
    }
    if (near > most) {
      most = near;
      *mean = vec3_scale(sum, 1 / (double)near);
    }
  }
  *share = count ? (double)most / (double)count : 0;
  return most >= FAR_LEAST;
}

static bool grow_at_densest(const struct vec3 *colour, size_t count, struct mixture *m)
{
  struct mat3 whiten = mixture_whitening(m->covariance);
  struct vec3 far[FAR_MAX], mean = {{0}};
  size_t all, kept = list_far(colour, count, m, whiten, far, &all);
  double share, unused;

  if (!densest(far, kept, whiten, &mean, &share)) {
    return false;
  }
  add_part(m, nearest_part(m, whiten, mean, &unused), mean, share * (double)all / (double)count);
  return true;
}

/* Moments of the colours nearest to a part. */
static double moments(const struct vec3 *colour, size_t count, const struct mixture *m, size_t part,
                      struct vec3 *mean, struct mat3 *covariance)
{
  struct mat3 whiten = mixture_whitening(m->covariance);
  struct mixture one = {.parts = 1, .mean = {m->mean[part]}};
  struct sums sums = {0};
  double n = 0, unused;

  for (size_t i = 0; i < count; i++) {
    if (nearest_part(m, whiten, colour[i], &unused) == part) {
      struct vec3 d = vec3_subtract(colour[i], m->mean[part]);
      add_to_sums(&sums, 0, 1, d);
      add_square(&sums, d);
      n++;
    }
  }
  if (n > 0) {
    maximise(&sums, (size_t)n, m->mean[part], (struct mat3){{{0}}}, &one);
    *mean = one.mean[0];
    *covariance = one.covariance;
  }
  return n;
}

/* The colours of a part, sorted into bins along an axis: how many, and their sum. */
struct bins {
  double count[BINS], along[BINS];
  struct vec3 sum[BINS];
};

static void fill_bins(const struct vec3 *colour, size_t count, const struct mixture *m, size_t part,
                      struct vec3 mean, struct vec3 axis, double reach, struct bins *bins)
{
  struct mat3 whiten = mixture_whitening(m->covariance);
  double unused;

  for (size_t i = 0; i < count; i++) {
    if (nearest_part(m, whiten, colour[i], &unused) == part) {
      double along = vec3_dot(vec3_subtract(colour[i], mean), axis);
      int bin = (int)fmin(fmax((along / reach + 1) / 2 * BINS, 0), BINS - 1);
      bins->count[bin]++;
      bins->along[bin] += along;
      bins->sum[bin] = vec3_add(bins->sum[bin], vec3_subtract(colour[i], mean));
    }
  }
}

/* The cut with least variance inside both sides (Otsu 1979); the mean of the smaller side and its share go out. */
static bool best_cut(const struct bins *bins, double all, struct vec3 *off, double *share)
{
  double below = 0, along = 0, best = 0, n = 0;
  struct vec3 sum = {{0}}, total = {{0}};

  for (int i = 0; i < BINS; i++) {
    total = vec3_add(total, bins->sum[i]);
    n += bins->count[i];
  }
  for (int i = 0; i + 1 < BINS; i++) {
    below += bins->count[i];
    along += bins->along[i];
    sum = vec3_add(sum, bins->sum[i]);
    double p = below / n, between = p > 0 && p < 1 ? along * along / (n * n) / (p * (1 - p)) : 0;
    if (p >= SPLIT_LEAST && p <= 1 - SPLIT_LEAST && between > best) {
      bool upper = p > 0.5;
      best = between;
      *share = (upper ? n - below : below) / all;
      *off = vec3_scale(upper ? vec3_subtract(total, sum) : sum, 1 / (upper ? n - below : below));
    }
  }
  return best > 0;
}

static bool grow_by_split(const struct vec3 *colour, size_t count, size_t part, struct mixture *m)
{
  struct vec3 mean, off = {{0}};
  struct mat3 covariance, axes;
  struct bins bins = {{0}, {0}, {{{0}}}};
  double share = 0, n = moments(colour, count, m, part, &mean, &covariance);

  if (n < 4 * FAR_LEAST) {
    return false;
  }
  struct vec3 variance = mat3_eigen(covariance, &axes);
  struct vec3 axis = {{axes.m[0][0], axes.m[1][0], axes.m[2][0]}};
  fill_bins(colour, count, m, part, mean, axis, 3 * sqrt(variance.v[0]) + 1e-9, &bins);
  if (!best_cut(&bins, (double)count, &off, &share)) {
    return false;
  }
  m->mean[part] = vec3_add(mean, vec3_scale(off, -share * (double)count / (n - share * (double)count)));
  add_part(m, part, vec3_add(mean, off), share);
  return true;
}

bool mixture_grow(const struct vec3 *colour, size_t count, struct mat3 least, struct mixture *mixture)
{
  struct mixture best = *mixture;
  bool found = false;

  for (size_t k = 0; k <= mixture->parts && mixture->parts < MIXTURE_PARTS_MAX; k++) {
    struct mixture grown = *mixture;
    bool made =
        k < mixture->parts ? grow_by_split(colour, count, k, &grown) : grow_at_densest(colour, count, &grown);
    if (made) {
      mixture_fit(colour, count, least, TRIAL_ROUNDS, ENOUGH, &grown);
      if (!found || grown.likelihood > best.likelihood) {
        best = grown;
        found = true;
      }
    }
  }
  if (found) {
    mixture_fit(colour, count, least, ROUNDS, ENOUGH, &best);
    *mixture = best;
  }
  return found;
}
