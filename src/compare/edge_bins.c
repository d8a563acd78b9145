/* SPDX-License-Identifier: MIT */
/* Bins along the line, and how a boundary leans in the band. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/order.h"
#include "colour/difference.h"
#include "compare/edge_parts.h"

enum { RIM = 4, ROWS_MAX = 8, COLUMNS_MAX = 128, SLANTS = 41, PIXELS_ACROSS_ROW = 5, BLOCKS = 8 };

/* Tangent of the steepest slant tried, and how much closer each further search looks. */
static const double STEEPEST = 3.0, CLOSER = 0.12;

/* Gain in units of variance that a slant must bring over none: far beyond chance for one more unknown. Neighbouring bins of the sheet
 * share texture: so many count as one. */
static const double SLANT_GAIN = 10, NEIGHBOURS_ALIKE = 3;

/* Colour between left and right, CIEDE2000, and its standard errors, from which on the line runs along a boundary. */
static const double ALONG_LEAST = 2, ALONG_ERRORS = 6;

/* Window of the medians to either side, share of the bins, least and fewest bins; a bin is foreign where its squared distance from both,
 * in robust standard deviations and summed over channels, is beyond chi-square's 0.9999 with three degrees of freedom (21.1); what
 * stands out is taken along down to its 0.95 (7.8). Codes are whole numbers, so that no spread is below the last. */
enum { WINDOW_FEW = 4, WINDOW_MANY = 32 };
static const double WINDOW_SHARE = 0.15, WINDOW_LEAST = 8, FOREIGN_SQUARE = 21.1, RIM_SQUARE = 7.8,
                    MAD_TO_SIGMA = 1.4826, SPREAD_LEAST = 0.05;

static double interpolated(const double *row, int count, double at)
{
  double place = fmin(fmax(at, 0), count - 1.001);
  int i = (int)place;

  return row[i] + (place - i) * (row[i + 1] - row[i]);
}

static struct vec3 in_channels(const struct edge *edge, struct vec3 linear)
{
  return mat3_apply(edge->channels, vec3_subtract(linear, edge->about));
}

bool edge_samples_take(const struct edge_pixels *pixels, const struct edge_grid *grid,
                       struct edge_samples *samples, struct error *error)
{
  struct edge_centre *centre = calloc((size_t)grid->columns + 1, sizeof *centre);
  bool done = centre ? edge_pixels_centres(pixels, grid, centre, error)
                     : error_no_memory(error, "the bins along a line");
  double sum = 0;

  samples->count = 0;
  samples->step = grid->step;
  for (int i = 0; done && i < grid->columns; i++) {
    if (centre[i].pixels > 0) {
      size_t at = samples->count++;
      samples->sample[at].at = grid->from + (i + 0.5) * grid->step;
      samples->sample[at].weight = (double)centre[i].pixels;
      samples->linear[at] = centre[i].linear;
      samples->pixels[at] = centre[i].pixels;
      sum += (double)centre[i].pixels;
    }
  }
  for (size_t i = 0; i < samples->count; i++) {
    samples->sample[i].weight *= (double)samples->count / sum;
  }
  free(centre);
  return done;
}

void edge_samples_convert(const struct edge *edge, struct edge_samples *samples)
{
  for (size_t i = 0; i < samples->count; i++) {
    struct vec3 y = in_channels(edge, samples->linear[i]);
    for (int k = 0; k < 3; k++) {
      samples->sample[i].y[k] = y.v[k];
    }
  }
}

bool edge_channels_set(const struct measurement *m, struct vec3 about, struct edge *edge, struct error *error)
{
  struct mat3 root = mat3_cholesky(colour_de00_metric(profile_lab(&m->profile, about)));

  edge->about = about;
  edge->channels = mat3_multiply(mat3_transpose(root), profile_jacobian(&m->profile, about));
  return mat3_invert(edge->channels, &edge->back) ||
         error_set(
             error, ERROR_UNMEASURABLE, "no-colours",
             "the camera model tells no colours apart there; draw over what is neither black nor clipped, "
             "or take the photo again");
}

bool edge_channels_make(const struct measurement *m, const struct edge_samples *samples, struct edge *edge,
                        struct error *error)
{
  struct vec3 sum = {{0, 0, 0}};

  for (size_t i = 0; i < samples->count; i++) {
    sum = vec3_add(sum, samples->linear[i]);
  }
  return edge_channels_set(m, vec3_scale(sum, 1 / fmax((double)samples->count, 1)), edge, error);
}

/* Median of channel k over bins from..to; `otherwise` where there are hardly any. */
static double window_median(const struct edge_samples *samples, int k, size_t from, size_t to,
                            double otherwise)
{
  double window[EDGE_SAMPLES_MAX];
  size_t step = 1 + (to - from) / WINDOW_MANY, count = 0; /* of a wide window some are enough */

  for (size_t j = from; j < to; j += step) {
    window[count++] = samples->sample[j].y[k];
  }
  return count >= WINDOW_FEW ? order_median(window, count) : otherwise;
}

/* How far a bin lies beyond both the median of the bins before it and that of the bins behind it: nothing on a boundary, which lies
 * between them. */
static void side_residuals(const struct edge_samples *samples, int k, double *residual, double *spread)
{
  double size[EDGE_SAMPLES_MAX]; /* off the middle of both */
  size_t reach = (size_t)fmax(WINDOW_SHARE * (double)samples->count, WINDOW_LEAST);

  for (size_t i = 0; i < samples->count; i++) {
    size_t from = i > reach ? i - reach : 0,
           to = i + reach + 1 < samples->count ? i + reach + 1 : samples->count;
    double y = samples->sample[i].y[k];
    double before = window_median(samples, k, from, i, (double)NAN);
    double behind = window_median(samples, k, i + 1, to, before);
    before = isnan(before) ? behind : before;
    residual[i] = fmax(fmax(fmin(before, behind) - y, y - fmax(before, behind)), 0);
    size[i] = fabs(y - (before + behind) / 2);
  }
  *spread = fmax(MAD_TO_SIGMA * order_median(size, samples->count), SPREAD_LEAST);
}

/* From bins marked on, to both sides: as far as they stand out somewhat, and RIM bins more, for half a pebble at the rim of what is left out
 * would make a step. */
static void spread_marks(struct edge_samples *samples, const double *square)
{
  bool core[EDGE_SAMPLES_MAX];
  size_t n = samples->count;

  memcpy(core, samples->foreign, n * sizeof *core);
  for (size_t i = 0; i < n; i++) {
    for (int side = -1; core[i] && side <= 1; side += 2) {
      int left = RIM;
      for (size_t j = i; left > 0 && j < n; j += (size_t)side) { /* 0 - 1 is past every end */
        samples->foreign[j] = true;
        left -= square[j] <= RIM_SQUARE;
      }
    }
  }
}

void edge_samples_mark(struct edge_samples *samples)
{
  double residual[EDGE_SAMPLES_MAX], square[EDGE_SAMPLES_MAX] = {0};
  bool enough = samples->count >= EDGE_SAMPLES_MIN; /* so that one of both medians at least is one */

  for (int k = 0; enough && k < 3; k++) {
    double spread;
    side_residuals(samples, k, residual, &spread);
    for (size_t i = 0; i < samples->count; i++) {
      square[i] += residual[i] * residual[i] / (spread * spread);
    }
  }
  for (size_t i = 0; i < samples->count; i++) {
    samples->foreign[i] = square[i] > FOREIGN_SQUARE;
  }
  spread_marks(samples, square);
}

bool edge_samples_fit(const struct edge_samples *samples, const struct edge_prior *prior,
                      const struct edge_limits *limits, struct edge_fit *fit, struct error *error)
{
  struct edge_sample kept[EDGE_SAMPLES_MAX];
  size_t count = 0;

  for (size_t i = 0; i < samples->count; i++) {
    if (!samples->foreign[i]) {
      kept[count++] = samples->sample[i];
    }
  }
  return edge_fit(kept, count, prior, limits, fit, error);
}

/* Bins in rows across the band. */
struct sheet {
  struct edge_grid grid;
  struct edge_centre *centre; /* owned */
  struct vec3 *y;             /* owned; in channels */
};

static bool make_sheet(const struct edge_pixels *pixels, const struct edge *edge, double from, double to,
                       double slant, struct sheet *sheet, struct error *error)
{
  int rows = (int)(2 * edge->half / PIXELS_ACROSS_ROW), columns = (int)fmin(to - from, COLUMNS_MAX);

  rows = rows > ROWS_MAX ? ROWS_MAX : rows < 2 ? 2 : rows;
  columns = columns < BLOCKS ? BLOCKS : columns;
  sheet->grid = (struct edge_grid){from, (to - from) / columns, edge->half, slant, columns, rows};
  size_t bins = (size_t)rows * (size_t)columns;
  sheet->centre = calloc(bins, sizeof *sheet->centre);
  sheet->y = calloc(bins, sizeof *sheet->y);
  if (!sheet->centre || !sheet->y) {
    return error_no_memory(error, "the bins along a line");
  }
  if (!edge_pixels_centres(pixels, &sheet->grid, sheet->centre, error)) {
    return false;
  }
  for (size_t i = 0; i < bins; i++) {
    sheet->y[i] =
        sheet->centre[i].pixels ? in_channels(edge, sheet->centre[i].linear) : (struct vec3){{0, 0, 0}};
  }
  return true;
}

static void clear_sheet(struct sheet *sheet)
{
  free(sheet->centre);
  free(sheet->y);
}

/* Middle of a row, across; of a column, along. */
static double row_at(const struct edge_grid *grid, int row)
{
  return ((row + 0.5) / grid->rows * 2 - 1) * grid->half;
}

static double column_at(const struct edge_grid *grid, double column)
{
  return grid->from + (column + 0.5) * grid->step;
}

/* What the search for a slant works on. */
struct lean {
  const struct edge *edge;
  struct sheet sheet;
  struct vec3 *base;  /* owned; the fit without its change, a column          */
  struct vec3 *share; /* owned; of the change in a column, for a place, by channel */
  double *cost;       /* owned; rows x columns: of a row's change at a place  */
  double variance[3]; /* of a bin of the sheet about the fit                  */
};

static struct vec3 base_at(const struct edge *edge, double along)
{
  double from = edge->fit_from, to = edge->fit_to;
  struct edge_fit fit = edge->fit;
  struct vec3 base;

  for (int k = 0; k < 3; k++) {
    fit.change[k] = 0;
    base.v[k] = edge_fit_value(&fit, &edge->prior, from, to, along, k);
  }
  return base;
}

/* Robust variances about the fit as it stands. */
static bool find_variances(struct lean *lean)
{
  const struct edge_grid *grid = &lean->sheet.grid;
  const struct edge_fit *fit = &lean->edge->fit;
  size_t bins = (size_t)grid->rows * (size_t)grid->columns;
  double *size = malloc((bins + 1) * sizeof *size);

  for (int k = 0; size && k < 3; k++) {
    size_t count = 0;
    for (size_t i = 0; i < bins; i++) {
      size_t column = i % (size_t)grid->columns;
      double share = edge_fit_share(column_at(grid, (double)column) - fit->place,
                                    edge_fit_width(&lean->edge->prior, k, fit->thick));
      if (lean->sheet.centre[i].pixels) {
        size[count++] = fabs(lean->sheet.y[i].v[k] - lean->base[column].v[k] - fit->change[k] * share);
      }
    }
    double spread = count ? MAD_TO_SIGMA * order_median(size, count) : 1;
    lean->variance[k] = fmax(spread * spread, SPREAD_LEAST * SPREAD_LEAST);
  }
  free(size);
  return size != NULL;
}

/* Distance of a bin from the model; what is far off (a pebble) counts no more for being further. */
static double misfit(const struct lean *lean, int bin, int column, const struct vec3 *share)
{
  const struct vec3 *change =
      &(struct vec3){{lean->edge->fit.change[0], lean->edge->fit.change[1], lean->edge->fit.change[2]}};
  double sum = 0;

  if (!lean->sheet.centre[bin].pixels) {
    return 0;
  }
  for (int k = 0; k < 3; k++) {
    double off = lean->sheet.y[bin].v[k] - lean->base[column].v[k] - change->v[k] * share->v[k];
    sum += off * off / lean->variance[k];
  }
  return fmin(sum, FOREIGN_SQUARE) / NEIGHBOURS_ALIKE;
}

static void fill_costs(struct lean *lean, double thick)
{
  const struct edge_grid *grid = &lean->sheet.grid;

  for (int place = 0; place < grid->columns; place++) {
    for (int i = 0; i < grid->columns; i++) {
      for (int k = 0; k < 3; k++) {
        lean->share[i].v[k] =
            edge_fit_share((i - place) * grid->step, edge_fit_width(&lean->edge->prior, k, thick));
      }
    }
    for (int row = 0; row < grid->rows; row++) {
      double sum = 0;
      for (int i = 0; i < grid->columns; i++) {
        sum += misfit(lean, row * grid->columns + i, i, &lean->share[i]);
      }
      lean->cost[row * grid->columns + place] = sum;
    }
  }
}

/* Least sum over rows of a change that leans by `slant` more than the sheet. */
static double leaning_cost(const struct lean *lean, double slant)
{
  const struct edge_grid *grid = &lean->sheet.grid;
  double best = INFINITY;

  for (int place = 0; place < 2 * grid->columns; place++) {
    double sum = 0;
    for (int row = 0; row < grid->rows; row++) {
      double at = place / 2.0 + slant * row_at(grid, row) / grid->step;
      sum += interpolated(lean->cost + row * grid->columns, grid->columns, at);
    }
    best = fmin(best, sum);
  }
  return best;
}

/* The fitted thickness is that of the change smeared by its slant, so thinner ones are tried with it. */
static double best_lean(struct lean *lean, double reach, double gain)
{
  double none = INFINITY, best = INFINITY, slant = 0;

  for (double thick = lean->edge->fit.thick; thick > lean->edge->fit.thick / 10; thick /= 2) {
    fill_costs(lean, fmax(thick, lean->sheet.grid.step));
    none = fmin(none, leaning_cost(lean, 0));
    for (int i = 0; i < SLANTS; i++) {
      double more = tan((2.0 * i / (SLANTS - 1) - 1) * atan(reach)), cost = leaning_cost(lean, more);
      if (cost < best) {
        best = cost;
        slant = more;
      }
    }
  }
  return best < none - gain ? slant : 0;
}

static bool prepare_lean(const struct edge_pixels *pixels, double reach, double slant, struct lean *lean,
                         struct error *error)
{
  const struct edge *edge = lean->edge;
  double wide = (reach + 0.5 * fabs(slant)) * edge->half + 1.5 * edge->fit.thick + 8, place = edge->fit.place;
  double from = fmax(place - wide, 0), to = fmin(place + wide, edge->length);

  if (!make_sheet(pixels, edge, from, to, slant, &lean->sheet, error)) {
    return false;
  }
  size_t columns = (size_t)lean->sheet.grid.columns, rows = (size_t)lean->sheet.grid.rows;
  lean->base = calloc(columns, sizeof *lean->base);
  lean->share = calloc(columns, sizeof *lean->share);
  lean->cost = calloc(columns * rows, sizeof *lean->cost);
  if (!lean->base || !lean->share || !lean->cost) {
    return error_no_memory(error, "the slant of a boundary");
  }
  for (size_t i = 0; i < columns; i++) {
    lean->base[i] = base_at(edge, column_at(&lean->sheet.grid, (double)i));
  }
  return find_variances(lean) || error_no_memory(error, "the slant of a boundary");
}

bool edge_slant_find(const struct edge_pixels *pixels, const struct edge *edge, int round, double *slant,
                     struct error *error)
{
  double reach = STEEPEST * pow(CLOSER, round);
  struct lean lean = {.edge = edge};
  bool done = prepare_lean(pixels, reach, *slant, &lean, error);

  if (done) {
    *slant += best_lean(&lean, reach, round ? 0 : SLANT_GAIN);
  }
  clear_sheet(&lean.sheet);
  free(lean.base);
  free(lean.share);
  free(lean.cost);
  return done;
}

/* Right minus left half of the band in a block of columns. */
static bool block_difference(const struct sheet *sheet, int block, struct vec3 *difference)
{
  const struct edge_grid *grid = &sheet->grid;
  struct vec3 sum[2] = {{{0}}, {{0}}};
  int count[2] = {0, 0};

  for (int i = block * grid->columns / BLOCKS; i < (block + 1) * grid->columns / BLOCKS; i++) {
    for (int row = 0; row < grid->rows; row++) {
      int bin = row * grid->columns + i, side = 2 * row >= grid->rows;
      if (sheet->centre[bin].pixels && 2 * row + 1 != grid->rows) {
        sum[side] = vec3_add(sum[side], sheet->y[bin]);
        count[side]++;
      }
    }
  }
  *difference = vec3_subtract(vec3_scale(sum[1], 1.0 / (count[1] + !count[1])),
                              vec3_scale(sum[0], 1.0 / (count[0] + !count[0])));
  return count[0] && count[1];
}

/* Whether differences of blocks agree on one that is no chance. */
static bool is_constant_difference(const struct vec3 *difference, int count)
{
  double size2 = 0, error2 = 0;

  for (int k = 0; k < 3; k++) {
    double sum = 0, square = 0;
    for (int i = 0; i < count; i++) {
      sum += difference[i].v[k] / count;
      square += difference[i].v[k] * difference[i].v[k] / count;
    }
    size2 += sum * sum;
    error2 += (square - sum * sum) / (count - 1);
  }
  return size2 > ALONG_LEAST * ALONG_LEAST && size2 > ALONG_ERRORS * ALONG_ERRORS * error2;
}

bool edge_runs_along(const struct edge_pixels *pixels, const struct edge *edge, bool *along,
                     struct error *error)
{
  struct sheet sheet = {0};
  struct vec3 difference[BLOCKS];
  int count = 0;
  bool done = make_sheet(pixels, edge, 0, edge->length, 0, &sheet, error);

  for (int block = 0; done && block < BLOCKS; block++) {
    count += block_difference(&sheet, block, &difference[count]);
  }
  *along = done && count > BLOCKS / 2 && is_constant_difference(difference, count);
  clear_sheet(&sheet);
  return done;
}
