/* SPDX-License-Identifier: MIT */
/* The colour of a deposit is the mean of its light, as an instrument or an eye at a distance would see it: a mean in linear
 * light of the pixels that belong to it. Which belong is decided in log linear light (region/core.h) from some thousand pixels;
 * one pass over all then takes the mean. */
#include "region/statistics.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "region/core.h"
#include "region/mosaic.h"
#include "region/walk.h"

enum {
  SAMPLE = 4096,  /* pixels that decide on the core, about  */
  LEAST_LEFT = 10 /* pixels in the core's window            */
};

/* By how much, in log light, a pixel's colour may stray from what glint or shadow make of the deposit's. Shadows are lit by
 * the sky alone and may be bluer. */
static const double STRAY = 0.15, SKY = 0.15;

struct sample {
  struct vec3 *colour; /* owned; log linear light */
  size_t count, capacity;
  int step, left;
  size_t clipped;
};

static void take_sample(const struct walk_run *run, void *context)
{
  struct sample *sample = context;
  int ahead = (run->x - sample->left) % sample->step;

  for (int i = ahead ? sample->step - ahead : 0; i < run->count; i += sample->step) {
    if (run->clipped[i]) {
      sample->clipped++;
    } else if (sample->count < sample->capacity) {
      sample->colour[sample->count++] =
          (struct vec3){{(double)run->log[0][i], (double)run->log[1][i], (double)run->log[2][i]}};
    }
  }
}

/* Every step-th pixel of every step-th row; an odd step does not fall into step with JPEG's blocks. */
static bool draw_sample(struct walk *walk, size_t pixels, struct sample *sample, struct error *error)
{
  *sample = (struct sample){.step = 1, .left = walk->left, .capacity = 4 * SAMPLE};
  while ((size_t)sample->step * (size_t)sample->step * SAMPLE < pixels) {
    sample->step += 2;
  }
  sample->colour = calloc(sample->capacity, sizeof *sample->colour);
  if (!sample->colour) {
    return error_no_memory(error, "the pixels of a region");
  }
  walk_rows(walk, sample->step, take_sample, sample);
  return true;
}

/* The pass over all pixels. In float: a pixel carries no more digits. */
struct sums {
  float whiten[3][3], centre[3]; /* of the core */
  struct vec3 linear;            /* linear light of the core's centre */
  struct vec3 neutral;           /* linear light of a grey            */
  struct mosaic mosaic;
  double gain[3];
  size_t inside, used, window, clipped, glint, shadow, specks;
};

static void measure_run(const struct sums *sums, const struct walk_run *run, float distance2[WALK_CELL])
{
  for (int i = 0; i < run->count; i++) {
    float x = run->log[0][i] - sums->centre[0], y = run->log[1][i] - sums->centre[1],
          z = run->log[2][i] - sums->centre[2];
    float a = sums->whiten[0][0] * x + sums->whiten[0][1] * y + sums->whiten[0][2] * z;
    float b = sums->whiten[1][0] * x + sums->whiten[1][1] * y + sums->whiten[1][2] * z;
    float c = sums->whiten[2][0] * x + sums->whiten[2][1] * y + sums->whiten[2][2] * z;
    distance2[i] = a * a + b * b + c * c;
  }
}

static double log_ratio(double a, double b)
{
  return log(fmax(a, 1e-6) / fmax(b, 1e-6));
}

/* Glint adds the light's own colour to the deposit's; shadow takes away from all channels alike, but for the sky's blue. */
static void give_cause(struct sums *sums, const struct walk_run *run, int i)
{
  struct vec3 x = {{(double)run->linear[0][i], (double)run->linear[1][i], (double)run->linear[2][i]}};
  const double *c = sums->linear.v, *n = sums->neutral.v;
  double more = x.v[1] - c[1], red, blue;

  if (more > 0) {
    red = log_ratio(x.v[0], c[0] + more * n[0] / n[1]);
    blue = log_ratio(x.v[2], c[2] + more * n[2] / n[1]);
    bool glint = fabs(red) < STRAY && fabs(blue) < STRAY;
    sums->glint += glint;
    sums->specks += !glint;
  } else {
    red = log_ratio(x.v[0] * c[1], c[0] * x.v[1]);
    blue = log_ratio(x.v[2] * c[1], c[2] * x.v[1]);
    bool shadow = red > -STRAY - SKY && red < STRAY && blue > -STRAY && blue < STRAY + SKY;
    sums->shadow += shadow;
    sums->specks += !shadow;
  }
}

static void take_sums(const struct walk_run *run, void *context)
{
  struct sums *sums = context;
  struct mosaic_block *block = &sums->mosaic.block[run->block];
  float distance2[WALK_CELL], linear[3] = {0}, logs[3] = {0};
  int window = 0, open = 0;

  measure_run(sums, run, distance2);
  for (int i = 0; i < run->count; i++) {
    if (run->clipped[i]) {
      continue;
    }
    open++;
    for (int k = 0; k < 3; k++) {
      logs[k] += run->log[k][i];
    }
    if (distance2[i] <= (float)(CORE_WINDOW * CORE_WINDOW)) {
      window++;
      for (int k = 0; k < 3; k++) {
        linear[k] += run->linear[k][i];
      }
    } else if (distance2[i] <= (float)(CORE_LIMIT * CORE_LIMIT)) {
      sums->used++;
    } else {
      give_cause(sums, run, i);
    }
  }
  for (int k = 0; k < 3; k++) {
    block->linear[k] += (double)linear[k];
    block->log[k] += (double)logs[k];
    sums->gain[k] += (double)run->gain[k] * run->count;
  }
  block->used += (size_t)window;
  block->open += (size_t)open;
  sums->window += (size_t)window;
  sums->used += (size_t)window;
  sums->clipped += (size_t)(run->count - open);
  sums->inside += (size_t)run->count;
}

/* Linear light of a grey of L* 50, by Newton's rule; R = G = B where that leads nowhere. */
static struct vec3 neutral_linear(const struct profile *profile)
{
  struct vec3 linear = {{0.18, 0.18, 0.18}};
  struct mat3 inverse;

  for (int round = 0; round < 8; round++) {
    struct vec3 off =
        vec3_subtract(colour_vec_from_lab(profile_lab(profile, linear)), (struct vec3){{50, 0, 0}});
    if (!mat3_invert(profile_jacobian(profile, linear), &inverse)) {
      return (struct vec3){{1, 1, 1}};
    }
    linear = vec3_subtract(linear, mat3_apply(inverse, off));
    for (int k = 0; k < 3; k++) {
      linear.v[k] = fmin(fmax(linear.v[k], 0.01), 1);
    }
  }
  return vec3_is_finite(linear) ? linear : (struct vec3){{1, 1, 1}};
}

static struct vec3 linear_of_core(const struct core *core)
{
  struct vec3 linear;

  for (int k = 0; k < 3; k++) {
    linear.v[k] = fmax(exp(core->centre.v[k]) - WALK_FLOOR, 1e-6);
  }
  return linear;
}

static void sum_up(struct walk *walk, const struct profile *profile, const struct core *core,
                   struct sums *sums)
{
  memset(sums, 0, sizeof *sums);
  for (int i = 0; i < 3; i++) {
    sums->centre[i] = (float)core->centre.v[i];
    for (int j = 0; j < 3; j++) {
      sums->whiten[i][j] = (float)core->whiten.m[i][j];
    }
  }
  sums->linear = linear_of_core(core);
  sums->neutral = neutral_linear(profile);
  sums->mosaic.columns = walk->columns;
  sums->mosaic.rows = walk->rows;
  walk_rows(walk, 1, take_sums, sums);
}

/* Width of a code in log linear light, at a colour. */
static struct vec3 code_width(const struct profile *profile, const struct image *image, struct vec3 linear)
{
  double half = 0.5 / image_code_max(image);
  struct vec3 code = profile_code(profile, linear), width;
  struct vec3 up = profile_linear(profile, vec3_add(code, (struct vec3){{half, half, half}}));
  struct vec3 down = profile_linear(profile, vec3_subtract(code, (struct vec3){{half, half, half}}));

  for (int k = 0; k < 3; k++) {
    width.v[k] = fmax(fabs(up.v[k] - down.v[k]) / (linear.v[k] + WALK_FLOOR), 2e-4);
  }
  return width;
}

static struct vec3 middle_of_sample(const struct sample *sample)
{
  struct vec3 sum = {{0}};

  for (size_t i = 0; i < sample->count; i++) {
    sum = vec3_add(sum, sample->colour[i]);
  }
  for (int k = 0; k < 3; k++) {
    sum.v[k] = fmax(exp(sum.v[k] / (double)sample->count) - WALK_FLOOR, 1e-4);
  }
  return sum;
}

/* What storing alone spreads: half a code in each channel. JPEG keeps two chroma numbers, Cr and Cb, far coarser than
 * lightness, and many pixels share one: 0.7 steps of each, with the channels' parts in them (JFIF 1.02). With less, rendered
 * JPEG photos lose clean pixels; with more, dirt comes in (docs/method.md). */
static struct mat3 storing(const struct profile *profile, const struct image *image,
                           const struct sample *sample)
{
  static const struct vec3 cr = {{1.402, -0.71414, 0}}, cb = {{0, -0.34414, 1.772}};
  static const double steps = 0.7;
  struct vec3 width = code_width(profile, image, middle_of_sample(sample)), half = vec3_scale(width, 0.5);
  struct mat3 least = mat3_diagonal(vec3_multiply(half, half));

  if (image->lossy) {
    struct vec3 red = vec3_scale(vec3_multiply(cr, width), steps);
    struct vec3 blue = vec3_scale(vec3_multiply(cb, width), steps);
    least = mat3_add(least, mat3_add(mat3_outer(red, red), mat3_outer(blue, blue)));
  }
  return least;
}

static bool clipped_too_much(size_t clipped, size_t inside, struct error *error)
{
  if (2 * clipped <= inside) {
    return false;
  }
  error_set(error, ERROR_UNMEASURABLE, "clipped",
            "%.0f %% of its pixels are clipped; expose less, or more where it is black",
            100 * (double)clipped / (double)inside);
  return true;
}

static bool nothing_left(struct error *error)
{
  return error_set(
      error, ERROR_UNMEASURABLE, "nothing-left",
      "hardly two of its pixels are alike; draw it inside one deposit, clear of stones and roots");
}

static bool find_core(struct walk *walk, const struct profile *profile, size_t pixels, struct core *core,
                      struct error *error)
{
  struct sample sample;
  bool done = false;

  if (!draw_sample(walk, pixels, &sample, error)) {
    return false;
  }
  if (sample.count < LEAST_LEFT) {
    if (!clipped_too_much(sample.clipped, sample.clipped + sample.count, error)) {
      nothing_left(error);
    }
    goto end;
  }
  done = core_find(sample.colour, sample.count, storing(profile, walk->image, &sample), core) ||
         error_no_memory(error, "the pixels of a region");
end:
  free(sample.colour);
  return done;
}

static struct vec3 mean_in_window(const struct sums *sums)
{
  struct vec3 mean = {{0}};
  size_t blocks = (size_t)sums->mosaic.columns * (size_t)sums->mosaic.rows;

  for (size_t i = 0; i < blocks; i++) {
    for (int k = 0; k < 3; k++) {
      mean.v[k] += sums->mosaic.block[i].linear[k] / (double)sums->window;
    }
  }
  return mean;
}

/* The window cuts the upper tail of linear light further in than the lower one. For a normal distribution of logarithms
 * with variance s^2, of which the window leaves the part r, the mean of linear light falls short by exp((1 - r) s^2 / 2). */
static struct vec3 mean_linear(struct vec3 in_window, const struct core *core)
{
  for (int k = 0; k < 3; k++) {
    double short_by = (1 - CORE_WINDOW_VARIANCE) * core->covariance.m[k][k] / 2;
    in_window.v[k] = (in_window.v[k] + WALK_FLOOR) * exp(short_by) - WALK_FLOOR;
  }
  return in_window;
}

/* Fine texture makes all channels lighter and darker by one factor. JPEG keeps it in lightness and evens it out in chroma, so that it
 * moves all codes by one amount: with y its variance and w the width of a code in log light, by a variance of w^2 y in place of y
 * / (sum of share / w)^2, shares those of lightness (JFIF 1.02). Means of linear light then come out too high in the darker
 * channels and too low in the lighter ones: soils too grey. y is told by how far the spread of blue exceeds that of red. */
static struct vec3 mean_of_texture(struct vec3 mean, const struct core *core, struct vec3 width)
{
  static const double share[3] = {0.299, 0.587, 0.114};
  const double *w = width.v;
  double most = core->covariance.m[1][1] / (w[1] * w[1]);
  double excess = (core->covariance.m[2][2] - core->covariance.m[0][0]) / (w[2] * w[2] - w[0] * w[0]);
  double y = fabs(w[2] - w[0]) < 0.05 * w[1] ? 0 : fmin(fmax(excess, 0), most);
  double even = 1 / (share[0] / w[0] + share[1] / w[1] + share[2] / w[2]);

  for (int k = 0; k < 3; k++) {
    mean.v[k] = (mean.v[k] + WALK_FLOOR) * exp(y * (even * even - w[k] * w[k]) / 2) - WALK_FLOOR;
  }
  return mean;
}

/* From log to linear light: a small step d log x is d x / x. */
static struct mat3 spread_linear(const struct core *core, struct vec3 linear)
{
  struct vec3 slope = vec3_add(linear, (struct vec3){{WALK_FLOOR, WALK_FLOOR, WALK_FLOOR}});

  return mat3_congruence(mat3_diagonal(slope), core->covariance);
}

static void fill_left_out(const struct sums *sums, struct region_left_out *left_out)
{
  double inside = (double)sums->inside;

  left_out->glint = (double)sums->glint / inside;
  left_out->shadow = (double)sums->shadow / inside;
  left_out->specks = (double)sums->specks / inside;
  left_out->clipped = (double)sums->clipped / inside;
  left_out->share = left_out->glint + left_out->shadow + left_out->specks + left_out->clipped;
}

/* What the mean may be off by although there are many pixels. In log light, from painted deposits whose mean is known
 * (tests/region/test_statistics.c): 0.2 s^2, with s the standard deviation of a pixel, since texture is not quite normal;
 * 0.3 s times the share left out, since strangers that are hard to tell from texture stay in; both in all channels
 * together, and a quarter of it in each alone. JPEG's coarse chroma carries strangers' colour into pixels beside them: 0.05
 * times the share left out, each channel alone. */
static struct mat3 systematic(const struct core *core, const struct region_statistics *statistics, bool lossy)
{
  double strangers = statistics->left_out.share - statistics->left_out.clipped;
  double carried = lossy ? 0.05 * strangers : 0;
  struct vec3 together, alone;

  for (int k = 0; k < 3; k++) {
    double s = sqrt(core->covariance.m[k][k]), effect = (0.2 * s + 0.3 * strangers) * s;
    together.v[k] = effect * statistics->linear.v[k];
    alone.v[k] = (effect / 4 + carried) * statistics->linear.v[k];
  }
  return mat3_add(mat3_outer(together, together), mat3_diagonal(vec3_multiply(alone, alone)));
}

/* Rounding to codes of width w has variance w^2 / 12; in the mean of pixels that spread over codes with standard deviation s
 * it averages out as exp(-4 pi^2 (s / w)^2), the squared first harmonic of the rounding error. */
static struct mat3 rounding_covariance(const struct core *core, struct vec3 width, struct vec3 linear)
{
  struct vec3 variance;

  for (int k = 0; k < 3; k++) {
    double w2 = width.v[k] * width.v[k], spread2 = fmax(core->covariance.m[k][k] - w2 / 4, 0) / w2;
    double step = width.v[k] * (linear.v[k] + WALK_FLOOR);
    variance.v[k] = step * step / 12 * exp(-4 * M_PI * M_PI * spread2);
  }
  return mat3_diagonal(variance);
}

static void fill(const struct walk *walk, const struct profile *profile, const struct core *core,
                 const struct sums *sums, struct region_statistics *statistics)
{
  struct vec3 in_window = mean_in_window(sums);

  fill_left_out(sums, &statistics->left_out);
  statistics->linear = mean_linear(in_window, core);
  struct vec3 width = code_width(profile, walk->image, statistics->linear);
  if (walk->image->lossy) {
    statistics->linear = mean_of_texture(statistics->linear, core, width);
  }
  for (int k = 0; k < 3; k++) {
    statistics->gain.v[k] = sums->gain[k] / (double)sums->inside;
  }
  statistics->spread = spread_linear(core, statistics->linear);
  statistics->covariance = mat3_add(mosaic_covariance(&sums->mosaic, in_window, statistics->spread),
                                    systematic(core, statistics, walk->image->lossy));
  statistics->covariance =
      mat3_add(statistics->covariance, rounding_covariance(core, width, statistics->linear));
  statistics->drift = mosaic_drift(&sums->mosaic);
  statistics->lobes = mosaic_lobes(&sums->mosaic, profile);
  statistics->pixels = sums->used;
  statistics->centre = region_centroid(walk->region);
}

static bool measure(struct walk *walk, const struct profile *profile, struct region_statistics *statistics,
                    struct error *error)
{
  size_t beyond, pixels = walk_count(walk, &beyond);
  struct core core;
  struct sums sums;

  if (pixels < REGION_PIXELS_MIN) {
    return error_set(error, ERROR_UNMEASURABLE, "few-pixels",
                     "it holds only %zu pixels, and %d are needed; draw it larger or go closer", pixels,
                     REGION_PIXELS_MIN);
  }
  if (!find_core(walk, profile, pixels, &core, error)) {
    return false;
  }
  sum_up(walk, profile, &core, &sums);
  if (clipped_too_much(sums.clipped, sums.inside, error)) {
    return false;
  }
  if (sums.window < LEAST_LEFT) {
    return nothing_left(error);
  }
  fill(walk, profile, &core, &sums, statistics);
  statistics->beyond = (double)beyond / (double)pixels;
  return true;
}

bool region_measure(const struct image *image, const struct profile *profile, const struct light *light,
                    const struct region *region, struct region_statistics *statistics, struct error *error)
{
  struct walk walk;

  *statistics = (struct region_statistics){0};
  if (!walk_begin(&walk, image, profile, light, region, error)) {
    return false;
  }
  bool done = measure(&walk, profile, statistics, error);
  walk_end(&walk);
  return done;
}
