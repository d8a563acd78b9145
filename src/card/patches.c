/* SPDX-License-Identifier: MIT */
/* Mean and doubt of a patch.
 *
 * Centre. Pixels inside the quadrilateral whose codes lie within 4 robust standard deviations (1.4826 x median absolute
 * deviation, a channel each) of the median are averaged, codes and nominal linear light separately. Trimming is symmetric
 * in codes, as noise nearly is; with normal noise it drops 0.02 % of pixels.
 *
 * Clipping biases a mean: what was cut off above (or below 0, where a colour is outside the file's gamut) is missing.
 * With a share s of normally distributed pixels beyond the end the mean is off by phi(z) - z s standard deviations
 * (z = the normal quantile of 1 - s): 0.007 at 2 %, and growing fast from there; so 2 % leaves a patch out. A decoder
 * spreads clipped codes by a step or two, hence pixels of 254 and means from 253 or up to 2 (of 255) count as well.
 *
 * Covariance of the mean. Neighbours are not independent (demosaicing, JPEG blocks), so residuals from a plane are
 * summed in blocks aligned to the photo, and the sums' outer products added: sum of S S' / N^2 (the cluster-robust
 * estimate of Liang & Zeger 1986). What blocks miss of correlations across their borders is made up by a
 * factor, and so are blocks that a small patch makes smaller than the reach of correlation. Never less than the
 * rounding of codes where noise is too low to spread it. */
#include "card/patches.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "card/pixels.h"
#include "card/spill.h"

static const double SAMPLED_SHARE = 0.6; /* of a patch's side */
static const double CLIPPED_SHARE = 0.02;
static const double TRIMMED_SHARE = 0.10;   /* above: dirt, not noise */
static const double UNEVEN_LIGHTNESS = 2.5; /* of a ninth of the patch from the plane through all nine */

enum {
  PIXELS_LEAST = 9,
  BLOCKS_LEAST = 12,
  BLOCK_LARGEST = 16, /* a JPEG block of halved chroma */
  CELLS = 9
};

struct reader {
  const struct image *image;
  const struct encoding *encoding;
  double correlation; /* pixels a side over which noise is taken as one */
  struct card_pixels pixels;
};

const char *card_cause_word(enum card_cause cause)
{
  static const char *const word[] = {"used", "outside", "clipped", "glare", "shaded", "uneven", "deviant"};

  return word[cause];
}

static bool in_frame(const struct image *image, const struct point q[4])
{
  for (int k = 0; k < 4; k++) {
    if (!(q[k].x >= 0 && q[k].x <= image->width && q[k].y >= 0 && q[k].y <= image->height)) {
      return false;
    }
  }
  return true;
}

/* Plane through the kept pixels' linear light about their middle. */
struct plane {
  double x, y; /* middle */
  struct vec3 mean, by_x, by_y;
};

static void find_means(const struct card_pixels *p, size_t kept, struct plane *plane, struct vec3 *code)
{
  *plane = (struct plane){0};
  *code = (struct vec3){{0}};
  for (size_t i = 0; i < p->count; i++) {
    if (!p->kept[i]) {
      continue;
    }
    plane->x += (double)p->x[i] / (double)kept;
    plane->y += (double)p->y[i] / (double)kept;
    for (int c = 0; c < 3; c++) {
      plane->mean.v[c] += (double)p->linear[c][i] / (double)kept;
      code->v[c] += (double)p->code[c][i] / (double)kept;
    }
  }
}

static void find_slopes(const struct card_pixels *p, struct plane *plane)
{
  double xx = 0, xy = 0, yy = 0, xv[3] = {0}, yv[3] = {0};

  for (size_t i = 0; i < p->count; i++) {
    double x = (double)p->x[i] - plane->x, y = (double)p->y[i] - plane->y;
    if (!p->kept[i]) {
      continue;
    }
    xx += x * x;
    xy += x * y;
    yy += y * y;
    for (int c = 0; c < 3; c++) {
      double v = (double)p->linear[c][i] - plane->mean.v[c];
      xv[c] += x * v;
      yv[c] += y * v;
    }
  }
  double determinant = xx * yy - xy * xy;
  for (int c = 0; c < 3 && determinant > 0; c++) {
    plane->by_x.v[c] = (yy * xv[c] - xy * yv[c]) / determinant;
    plane->by_y.v[c] = (xx * yv[c] - xy * xv[c]) / determinant;
  }
}

static struct vec3 residual(const struct card_pixels *p, const struct plane *plane, size_t i)
{
  double x = (double)p->x[i] - plane->x, y = (double)p->y[i] - plane->y;
  struct vec3 r;

  for (int c = 0; c < 3; c++) {
    r.v[c] = (double)p->linear[c][i] - plane->mean.v[c] - plane->by_x.v[c] * x - plane->by_y.v[c] * y;
  }
  return r;
}

static struct mat3 find_spread(const struct card_pixels *p, const struct plane *plane, size_t kept)
{
  struct mat3 sum = {{{0}}};

  for (size_t i = 0; i < p->count; i++) {
    if (p->kept[i]) {
      struct vec3 r = residual(p, plane, i);
      sum = mat3_add(sum, mat3_outer(r, r));
    }
  }
  return mat3_scale(sum, 1 / (double)(kept > 3 ? kept - 3 : 1));
}

/* Blocks in the bounding box of the pixels. */
struct grid {
  int size, column0, row0, columns, rows;
};

static struct grid grid_of(const struct card_pixels *p, int size)
{
  float x0 = p->x[0], x1 = x0, y0 = p->y[0], y1 = y0;

  for (size_t i = 1; i < p->count; i++) {
    x0 = fminf(x0, p->x[i]);
    x1 = fmaxf(x1, p->x[i]);
    y0 = fminf(y0, p->y[i]);
    y1 = fmaxf(y1, p->y[i]);
  }
  struct grid grid = {size, (int)x0 / size, (int)y0 / size, 0, 0};
  grid.columns = (int)x1 / size - grid.column0 + 1;
  grid.rows = (int)y1 / size - grid.row0 + 1;
  return grid;
}

/* Sum of S S' over blocks divided by N^2, with the degrees of freedom that the plane took. */
static bool cluster_covariance(const struct card_pixels *p, const struct plane *plane, size_t kept, int size,
                               struct mat3 *covariance)
{
  struct grid grid = grid_of(p, size);
  size_t blocks = (size_t)grid.columns * (size_t)grid.rows, filled = 0;
  struct vec3 *sum = calloc(blocks, sizeof *sum);
  bool *used = calloc(blocks, sizeof *used);
  bool done = sum && used;

  *covariance = (struct mat3){{{0}}};
  for (size_t i = 0; done && i < p->count; i++) {
    if (p->kept[i]) {
      size_t column = (size_t)((int)p->x[i] / size - grid.column0);
      size_t at = (size_t)((int)p->y[i] / size - grid.row0) * (size_t)grid.columns + column;
      sum[at] = vec3_add(sum[at], residual(p, plane, i));
      used[at] = true;
    }
  }
  for (size_t k = 0; done && k < blocks; k++) {
    *covariance = mat3_add(*covariance, mat3_outer(sum[k], sum[k]));
    filled += used[k];
  }
  free(used);
  free(sum);
  double n = (double)kept, k = (double)filled;
  *covariance = mat3_scale(*covariance, k / (k > 3 ? k - 3 : 1) / (n * n));
  return done;
}

/* How much of the variance of a mean the blocks miss, as a factor >= 1, when noise is correlated over `reach` pixels a side
 * with a triangular falling off: in one direction the pixels of a block have reach / sum of correlations. */
static double across_blocks(int size, double reach)
{
  double seen = 1;

  for (int k = 1; k < size; k++) {
    seen += 2 * (1 - (double)k / size) * fmax(1 - k / reach, 0);
  }
  double whole = fmax(reach, 1) / seen;
  return fmax(whole * whole, 1);
}

static bool find_covariance(const struct reader *reader, const struct plane *plane, size_t kept,
                            struct mat3 *covariance)
{
  const struct card_pixels *p = &reader->pixels;
  double area = (double)kept * p->stride * p->stride; /* of the patch, in photo pixels */
  int size = BLOCK_LARGEST * p->stride;

  while (size > p->stride && area / size / size < BLOCKS_LEAST) {
    size /= 2;
  }
  if (!cluster_covariance(p, plane, kept, size, covariance)) {
    return false;
  }
  *covariance = mat3_scale(*covariance, across_blocks(size, fmin(reader->correlation, sqrt(area))));
  return true;
}

/* Rounding of a code, as a variance in linear light, counts in full where the noise is under half a step: all pixels then
 * round alike. */
static void add_rounding(const struct reader *reader, struct card_patch_view *view)
{
  double step = 1.0 / image_code_max(reader->image);

  for (int c = 0; c < 3; c++) {
    double high = encoding_linear(reader->encoding, c, view->code.v[c] + step / 2);
    double low = encoding_linear(reader->encoding, c, view->code.v[c] - step / 2);
    double width = high - low, noise = sqrt(view->spread.m[c][c]);
    if (noise < width / 2) {
      view->covariance.m[c][c] += width * width / 12;
    }
  }
}

static double lightness(double linear)
{
  return 116 * cbrt(linear);
}

/* Gives each pixel to one of nine cells of its patch. */
static void find_cells(struct card_pixels *p, const struct point q[4])
{
  struct point o = {(q[0].x + q[1].x + q[2].x + q[3].x) / 4, (q[0].y + q[1].y + q[2].y + q[3].y) / 4};
  struct point u = {(q[1].x + q[2].x - q[0].x - q[3].x) / 2, (q[1].y + q[2].y - q[0].y - q[3].y) / 2};
  struct point v = {(q[2].x + q[3].x - q[0].x - q[1].x) / 2, (q[2].y + q[3].y - q[0].y - q[1].y) / 2};
  double area = u.x * v.y - u.y * v.x;

  for (size_t i = 0; i < p->count; i++) {
    double x = (double)p->x[i] - o.x, y = (double)p->y[i] - o.y;
    int column = (int)fmin(fmax(((x * v.y - y * v.x) / area + 0.5) * 3, 0), 2.5);
    int row = (int)fmin(fmax(((y * u.x - x * u.y) / area + 0.5) * 3, 0), 2.5);
    p->cell[i] = (uint8_t)(3 * row + column);
  }
}

/* Medians of the nine cells in lightness of one channel. Returns the number of pixels of the smallest. */
static size_t cell_lightness(struct card_pixels *p, int c, double cell[CELLS])
{
  size_t smallest = p->count;

  for (int k = 0; k < CELLS; k++) {
    size_t n = 0;
    for (size_t i = 0; i < p->count; i++) {
      if (p->cell[i] == k) {
        p->work[n++] = p->linear[c][i];
      }
    }
    cell[k] = n > 0 ? lightness(card_pixels_median(p->work, n)) : 0;
    smallest = n < smallest ? n : smallest;
  }
  return smallest;
}

/* Largest distance of a cell from the plane through all nine. */
static double out_of_plane(const double cell[CELLS])
{
  double mean = 0, by_x = 0, by_y = 0, largest = 0;

  for (int k = 0; k < CELLS; k++) {
    mean += cell[k] / 9;
    by_x += (k % 3 - 1) * cell[k] / 6;
    by_y += (int)(k / 3 - 1) * cell[k] / 6;
  }
  for (int k = 0; k < CELLS; k++) {
    largest = fmax(largest, fabs(cell[k] - mean - (k % 3 - 1) * by_x - (int)(k / 3 - 1) * by_y));
  }
  return largest;
}

/* Standard deviation of single pixels' lightness from differences of neighbours, which an edge hardly moves. */
static double pixel_noise(struct card_pixels *p, int c, double mean)
{
  size_t n = 0;

  for (size_t i = 1; i < p->count; i++) {
    if (p->y[i] == p->y[i - 1]) {
      p->work[n++] = fabsf(p->linear[c][i] - p->linear[c][i - 1]);
    }
  }
  double by_linear = 116.0 / 3 / pow(fmax(mean, 1e-4), 2.0 / 3);
  return n > 0 ? 1.4826 * card_pixels_median(p->work, n) / M_SQRT2 * by_linear : 0;
}

static bool is_uneven(struct reader *reader, const struct point q[4], const struct plane *plane, size_t kept)
{
  struct card_pixels *p = &reader->pixels;

  if (p->mixed ||
      (double)(p->count - kept) > TRIMMED_SHARE * (double)p->count + 3) { /* of few pixels, 3 are chance */
    return true;
  }
  find_cells(p, q);
  for (int c = 0; c < 3; c++) {
    double cell[CELLS], noise = pixel_noise(p, c, plane->mean.v[c]);
    size_t smallest = cell_lightness(p, c, cell);
    /* smoothing makes neighbours more alike than they are to the truth: twice, and four pixels are one */
    double allowed = UNEVEN_LIGHTNESS + 4 * 2 * noise / sqrt(fmax(1, (double)smallest / 4));
    if (out_of_plane(cell) > allowed) {
      return true;
    }
  }
  return false;
}

static bool is_clipped(const struct reader *reader, const struct card_patch_view *view)
{
  const struct card_pixels *p = &reader->pixels;
  double most = CLIPPED_SHARE * (double)p->count, bottom = 2.25 / image_code_max(reader->image);

  for (int c = 0; c < 3; c++) {
    if ((double)p->high[c] > most || (double)p->low[c] > most || view->code.v[c] >= 252.75 / 255 ||
        view->code.v[c] <= bottom) {
      return true;
    }
  }
  return false;
}

static bool read_patch(struct reader *reader, const char *name, const struct point q[4],
                       struct card_patch_view *view, struct error *error)
{
  struct card_pixels *p = &reader->pixels;
  struct plane plane;

  if (!card_pixels_gather(p, reader->image, q)) {
    return error_no_memory(error, "the card's patches");
  }
  if (p->count < PIXELS_LEAST) {
    return error_set(error, ERROR_UNMEASURABLE, "card-too-small",
                     "the patch %s of the card covers only %zu pixels; go closer or use a larger card", name,
                     p->count);
  }
  size_t kept = card_pixels_trim(p);
  find_means(p, kept, &plane, &view->code);
  find_slopes(p, &plane);
  view->linear = plane.mean;
  view->spread = find_spread(p, &plane, kept);
  view->pixels = kept * (size_t)p->stride * (size_t)p->stride;
  if (!find_covariance(reader, &plane, kept, &view->covariance)) {
    return error_no_memory(error, "the card's patches");
  }
  add_rounding(reader, view);
  view->cause = is_clipped(reader, view)             ? CARD_CLIPPED
                : is_uneven(reader, q, &plane, kept) ? CARD_UNEVEN
                                                     : CARD_USED;
  return true;
}

static bool check_any(const struct card_patches *patches, struct error *error)
{
  size_t outside = 0, clipped = 0;

  for (size_t i = 0; i < patches->count; i++) {
    outside += patches->view[i].cause == CARD_OUTSIDE;
    clipped += patches->view[i].cause == CARD_CLIPPED;
  }
  if (outside == patches->count) {
    return error_set(error, ERROR_UNMEASURABLE, "card-cut",
                     "no patch of the card lies in the frame; correct the corners or take the photo again");
  }
  if (outside + clipped == patches->count) {
    return error_set(
        error, ERROR_UNMEASURABLE, "clipped",
        "every patch of the card is clipped; expose so that neither the white patch nor the dark ones "
        "reach the end of the scale");
  }
  return true;
}

static bool read_all(struct reader *reader, const struct card_reference *card, const struct card_pose *pose,
                     struct card_patches *patches, struct error *error)
{
  for (size_t i = 0; i < card->count; i++) {
    struct card_patch_view *view = &patches->view[i];
    const struct card_patch *patch = &card->patch[i];
    struct point quad[4];
    view->centre = card_pose_project(pose, card, patch->x_mm, patch->y_mm);
    card_pose_outline(pose, card, i, SAMPLED_SHARE, quad);
    if (!in_frame(reader->image, quad)) {
      view->cause = CARD_OUTSIDE;
    } else if (!read_patch(reader, patch->name, quad, view, error)) {
      return false;
    }
  }
  return check_any(patches, error);
}

bool card_patches_read(const struct image *image, const struct encoding *encoding,
                       const struct card_reference *card, const struct card_pose *pose,
                       struct card_patches *patches, struct error *error)
{
  struct reader reader = {.image = image, .encoding = encoding, .correlation = image->lossy ? 8 : 2};

  *patches = (struct card_patches){calloc(card->count, sizeof *patches->view), card->count, 0};
  bool ready = card_pixels_open(&reader.pixels, image, encoding) && patches->view;
  bool done =
      ready ? read_all(&reader, card, pose, patches, error) : error_no_memory(error, "the card's patches");
  if (done && !card_spill_take_out(&reader.pixels, image, card, pose, patches)) {
    done = error_no_memory(error, "the card's patches");
  }
  card_pixels_close(&reader.pixels);
  if (!done) {
    card_patches_clear(patches);
  }
  return done;
}

void card_patches_clear(struct card_patches *patches)
{
  free(patches->view);
  *patches = (struct card_patches){0};
}
