/* SPDX-License-Identifier: MIT */
#include "compare/edge.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "compare/edge_parts.h"

/* Half the band over the line's length. */
static const double HALF_SHARE = 1.0 / 16;

/* A line under so many pixels from an end holds too little of one side. */
static const double END_SHARE = 0.03, END_LEAST = 4;

/* Thickest change looked for, over the line's length; thinnest, pixels. */
static const double THICK_SHARE = 0.8, THIN = 0.5;

/* Pixels by which a place is off for reasons the fit can't see: lens, the boundary's own roughness. */
static const double PLACE_OWN = 0.4;

/* What the two sides, each read as a whole, must differ by: a share of the fitted change, and CIEDE2000. */
static const double AGREEING = 0.5, SIDES_LEAST = 1.2;

/* Tangent of the slant beyond which a line runs along a boundary rather than across it: 63 degrees. */
static const double SLANT_MOST = 2.0;

/* A change this many bins thick or more is not looked at more closely. */
static const double CLOSE_BINS = 10;

enum { SLANT_ROUNDS = 3 };

void edge_add_caveat(struct edge *edge, const char *code, bool doubt, const char *format, ...)
{
  va_list list;

  if (edge->caveats == EDGE_CAVEATS) {
    return;
  }
  struct caveat *caveat = &edge->caveat[edge->caveats++];
  *caveat = (struct caveat){.region = -1, .doubt = doubt};
  snprintf(caveat->code, sizeof caveat->code, "%s", code);
  va_start(list, format);
  vsnprintf(caveat->text, sizeof caveat->text, format, list);
  va_end(list);
}

static bool in_photo(const struct measurement *m, struct point p)
{
  return p.x >= 0 && p.y >= 0 && p.x <= m->image.width && p.y <= m->image.height;
}

static bool crosses_card(const struct measurement *m, const struct edge_line *line)
{
  enum { STEPS = 400 };
  double length = edge_line_length(line);
  bool crosses = false;

  for (int i = 0; !crosses && i <= STEPS; i++) {
    crosses = card_pose_covers(&m->pose, &m->card, edge_line_at(line, length * i / STEPS, 0));
  }
  return crosses;
}

static bool check_line(const struct measurement *m, const struct edge_line *line, struct error *error)
{
  double length = edge_line_length(line);

  if (!m->card_found) {
    *error = m->card_error;
    return false;
  }
  if (!in_photo(m, line->from) || !in_photo(m, line->to)) {
    return error_set(
        error, ERROR_UNMEASURABLE, "outside",
        "the line from %.0f,%.0f to %.0f,%.0f leaves the photo of %d x %d pixels; draw it inside",
        line->from.x, line->from.y, line->to.x, line->to.y, m->image.width, m->image.height);
  }
  if (length < EDGE_LENGTH_LEAST) {
    return error_set(
        error, ERROR_UNMEASURABLE, "short",
        "the line is %.0f pixels long, less than %d; draw it further to both sides of the boundary", length,
        EDGE_LENGTH_LEAST);
  }
  if (crosses_card(m, line)) {
    return error_set(error, ERROR_UNMEASURABLE, "on-card",
                     "the line crosses the card; draw it over the deposits alone");
  }
  return true;
}

double edge_mm(const struct measurement *m, const struct edge_line *line, double along)
{
  double x0, y0, x1, y1;
  bool known = card_pose_unproject(&m->pose, &m->card, line->from, &x0, &y0) &&
               card_pose_unproject(&m->pose, &m->card, edge_line_at(line, along, 0), &x1, &y1);

  return known ? hypot(x1 - x0, y1 - y0) : (double)NAN;
}

static struct edge_limits limits_of(const struct edge *edge)
{
  double end = fmax(END_SHARE * edge->length, END_LEAST);

  return (struct edge_limits){end, edge->length - end, THIN, THICK_SHARE * edge->length};
}

static struct edge_grid grid_of(double from, double to, double half, double slant)
{
  int columns = (int)fmin(fmax(floor(to - from), 1), EDGE_BINS_MAX);

  return (struct edge_grid){from, (to - from) / columns, half, slant, columns, 1};
}

/* Fit over the whole line with bins that lean by `slant`. */
static bool fit_line(const struct measurement *m, const struct edge_pixels *pixels, double slant,
                     struct edge_samples *samples, struct edge *edge, struct error *error)
{
  struct edge_grid grid = grid_of(0, edge->length, edge->half, slant);
  struct edge_limits limits = limits_of(edge);

  if (!edge_samples_take(pixels, &grid, samples, error) || !edge_channels_make(m, samples, edge, error)) {
    return false;
  }
  edge_prior_make(m, edge);
  edge_blur_set(m, slant, grid.step, &edge->prior);
  edge_samples_convert(edge, samples);
  edge->step = grid.step;
  edge->fit_from = samples->count ? samples->sample[0].at : 0;
  edge->fit_to = samples->count ? samples->sample[samples->count - 1].at : edge->length;
  edge_samples_mark(samples);
  return edge_samples_fit(samples, &edge->prior, &limits, &edge->fit, error);
}

static double change_size(const struct edge *edge)
{
  const double *change = edge->fit.change;

  return sqrt(change[0] * change[0] + change[1] * change[1] + change[2] * change[2]);
}

static bool has_told(const struct edge *edge)
{
  return edge->fit.evidence > EDGE_EVIDENCE && change_size(edge) > EDGE_CHANGE;
}

/* Fit, lean, fit again. */
static bool fit_leaning(const struct measurement *m, const struct edge_pixels *pixels,
                        struct edge_samples *samples, double *slant, struct edge *edge, struct error *error)
{
  *slant = 0;
  if (!fit_line(m, pixels, 0, samples, edge, error)) {
    return false;
  }
  for (int round = 0; round < SLANT_ROUNDS && has_told(edge); round++) {
    double before = *slant;
    if (!edge_slant_find(pixels, edge, round, slant, error)) {
      return false;
    }
    if (*slant == 0) {
      break;
    }
    if (*slant != before && !fit_line(m, pixels, *slant, samples, edge, error)) {
      return false;
    }
  }
  return true;
}

static void take_closer(const struct edge_fit *close, struct edge_fit *fit)
{
  fit->place = close->place;
  fit->place_low = close->place_low;
  fit->place_high = close->place_high;
  fit->thick = close->thick;
  fit->thick_low = close->thick_low;
  fit->thick_high = close->thick_high;
}

/* The fit in bins of a pixel from `from` to `to`. */
static bool fit_close(const struct measurement *m, double slant, double from, double to,
                      struct edge_samples *samples, struct edge *edge, struct error *error)
{
  double place = edge->fit.place, thick = edge->fit.thick, margin = fabs(slant) * edge->half;
  struct edge_grid grid = grid_of(from, to, edge->half, slant);
  struct edge_limits limits = {fmax(from + END_LEAST, place - 3 * edge->step - thick),
                               fmin(to - END_LEAST, place + 3 * edge->step + thick), THIN,
                               (to - from) * THICK_SHARE};
  struct edge_pixels pixels = {0};
  struct edge_prior prior = edge->prior;
  struct edge_fit close;
  bool done = edge_pixels_take(m, &edge->line, from - margin, to + margin, edge->half, &pixels, error) &&
              edge_samples_take(&pixels, &grid, samples, error);

  if (done) {
    edge_samples_convert(edge, samples);
    edge_samples_mark(samples);
    edge_blur_set(m, slant, grid.step, &prior);
    done = edge_samples_fit(samples, &prior, &limits, &close, error);
  }
  if (done) {
    take_closer(&close, &edge->fit);
  }
  edge_pixels_clear(&pixels);
  return done;
}

/* Bins of a pixel around the change of a long line, where those of the whole line are too wide to show how thin it is. What is
 * found replaces place and thickness; evidence, levels and drift stay. Where too little can be read there, so do all. */
static bool look_closer(const struct measurement *m, double slant, struct edge *edge, struct error *error)
{
  double reach = fmax(4 * CLOSE_BINS * edge->step, 4 * edge->fit.thick) / 2, place = edge->fit.place;
  struct edge_samples *samples = malloc(sizeof *samples);
  struct error why;
  bool done = samples ? fit_close(m, slant, fmax(place - reach, 0), fmin(place + reach, edge->length),
                                  samples, edge, &why)
                      : error_no_memory(&why, "the colour along a line");

  free(samples);
  if (!done && why.kind != ERROR_UNMEASURABLE) {
    *error = why;
    return false;
  }
  return true;
}

static bool keep_bins(const struct measurement *m, const struct edge_samples *samples, struct edge *edge,
                      struct error *error)
{
  edge->bin = calloc(samples->count, sizeof *edge->bin);
  if (!edge->bin) {
    return error_no_memory(error, "the colour along a line");
  }
  edge->bins = samples->count;
  for (size_t i = 0; i < samples->count; i++) {
    struct vec3 variance;
    for (int k = 0; k < 3; k++) {
      const struct edge_noise *noise = &edge->fit.noise[k];
      variance.v[k] = noise->white / samples->sample[i].weight + noise->slow;
    }
    struct mat3 lab_from_channels =
        mat3_multiply(profile_jacobian(&m->profile, samples->linear[i]), edge->back);
    edge->bin[i] =
        (struct edge_bin){.at = samples->sample[i].at,
                          .lab_d50 = profile_lab(&m->profile, samples->linear[i]),
                          .covariance = mat3_congruence(lab_from_channels, mat3_diagonal(variance)),
                          .pixels = samples->pixels[i]};
  }
  return true;
}

struct edge_figure edge_place_figure(const struct edge_fit *fit)
{
  double low = EDGE_WIDER * (fit->place - fit->place_low), high = EDGE_WIDER * (fit->place_high - fit->place);

  return (struct edge_figure){fit->place, fit->place - hypot(low, 2 * PLACE_OWN),
                              fit->place + hypot(high, 2 * PLACE_OWN)};
}

/* From pixels along the line to pixels across the boundary, and the doubts that the fit can't see. */
static void take_figures(const struct measurement *m, double slant, struct edge *edge)
{
  edge->slant = atan(slant) * 180 / M_PI;
  edge->place = edge_place_figure(&edge->fit);
  edge->place.low = fmax(edge->place.low, 0);
  edge->place.high = fmin(edge->place.high, edge->length);
  edge->at_most = edge_thickness(m, &edge->fit, slant, &edge->thick);
}

/* Thickness in mm of a transition that is `thick` pixels across: the distance of two lines along the boundary, in the card's
 * plane. */
static double thick_mm(const struct measurement *m, const struct edge *edge, double thick)
{
  double slant = tan(edge->slant * M_PI / 180), along = thick * sqrt(1 + slant * slant) / 2,
         place = edge->place.value;
  double x[4], y[4];
  const struct point at[4] = {
      edge_line_at(&edge->line, place - along, 0), edge_line_at(&edge->line, place + along, 0),
      edge_line_at(&edge->line, place - 2 * slant, -2), edge_line_at(&edge->line, place + 2 * slant, 2)};

  for (int i = 0; i < 4; i++) {
    if (!card_pose_unproject(&m->pose, &m->card, at[i], &x[i], &y[i])) {
      return NAN;
    }
  }
  double dx = x[3] - x[2], dy = y[3] - y[2];
  return fabs((x[1] - x[0]) * dy - (y[1] - y[0]) * dx) / hypot(dx, dy);
}

static bool is_finite(const struct edge_figure *figure)
{
  return isfinite(figure->value) && isfinite(figure->low) && isfinite(figure->high);
}

static void take_mm(const struct measurement *m, struct edge *edge)
{
  const struct edge_figure *place = &edge->place, *thick = &edge->thick;
  double length = edge_mm(m, &edge->line, edge->length);
  struct edge_figure place_mm = {0}, across = {0};

  if (edge->told) {
    place_mm =
        (struct edge_figure){edge_mm(m, &edge->line, place->value), edge_mm(m, &edge->line, place->low),
                             edge_mm(m, &edge->line, place->high)};
    across = (struct edge_figure){thick_mm(m, edge, thick->value), thick_mm(m, edge, thick->low),
                                  thick_mm(m, edge, thick->high)};
  }
  edge->scaled = m->card.sized && isfinite(length) && is_finite(&place_mm) && is_finite(&across);
  if (edge->scaled) {
    edge->length_mm = length;
    edge->place_mm = place_mm;
    edge->thick_mm = across;
  }
}

struct lab edge_fitted(const struct measurement *m, const struct edge *edge, double along)
{
  struct vec3 y;

  for (int k = 0; k < 3; k++) {
    y.v[k] = edge_fit_value(&edge->fit, &edge->prior, edge->fit_from, edge->fit_to, along, k);
  }
  return profile_lab(&m->profile, vec3_add(edge->about, mat3_apply(edge->back, y)));
}

static bool refuse_along(struct error *error)
{
  return error_set(error, ERROR_UNMEASURABLE, "along",
                   "the line runs along a boundary rather than across it; draw it square to the boundary");
}

/* What was said of a shadow stays: it is the first of the caveats. */
static void forget_boundary(struct edge *edge)
{
  for (int side = 0; side < 2; side++) {
    region_clear(&edge->side[side].region);
    edge->side[side] = (struct edge_side){0};
  }
  edge->told = edge->compared = edge->at_most = false;
  edge->caveats = edge->shadow;
}

/* What holds for a boundary alone. */
static bool finish_told(const struct measurement *m, double slant, struct edge *edge, struct error *error)
{
  if (fabs(slant) > SLANT_MOST) {
    return refuse_along(error);
  }
  if (edge->step > 1.2 && edge->fit.thick < CLOSE_BINS * edge->step && !look_closer(m, slant, edge, error)) {
    return false;
  }
  take_figures(m, slant, edge);
  if (!edge_sides_read(m, edge, error)) {
    return false;
  }
  if (edge->compared && edge->difference.de00 < fmax(AGREEING * change_size(edge), SIDES_LEAST)) {
    forget_boundary(edge); /* a patch at the place, and the same deposit on both sides */
  }
  return true;
}

/* First of the caveats. */
static void say_shadow(struct edge *edge)
{
  if (edge->shadow) {
    edge_add_caveat(edge, "shadow-edge", true,
                    "the edge of a shadow crosses the line from %.0f to %.0f pixels along it; nothing is "
                    "read there, and the step of "
                    "light is taken out; shade the whole face, or wait",
                    edge->shadow_from, edge->shadow_to);
  }
}

static bool measure(const struct measurement *m, const struct edge_pixels *pixels,
                    struct edge_samples *samples, struct edge *edge, struct error *error)
{
  double slant;
  bool along = false;

  if (!fit_leaning(m, pixels, samples, &slant, edge, error) || !keep_bins(m, samples, edge, error)) {
    return false;
  }
  say_shadow(edge);
  edge->told = has_told(edge);
  if (!edge->told && !edge_runs_along(pixels, edge, &along, error)) {
    return false;
  }
  if (along) {
    return refuse_along(error);
  }
  if (edge->told && !finish_told(m, slant, edge, error)) {
    return false;
  }
  take_mm(m, edge);
  return true;
}

bool edge_measure(const struct measurement *m, const struct edge_line *line, struct edge *edge,
                  struct error *error)
{
  struct edge_pixels pixels = {0};
  struct edge_samples *samples = NULL;

  *edge = (struct edge){.line = *line, .length = edge_line_length(line)};
  if (!check_line(m, line, error)) {
    return false;
  }
  edge->half = fmin(fmax(HALF_SHARE * edge->length, EDGE_HALF_LEAST), EDGE_HALF_MOST);
  edge_shadow_find(m, edge);
  samples = malloc(sizeof *samples);
  bool done = samples ? edge_pixels_take(m, line, -2 * edge->half, edge->length + 2 * edge->half, edge->half,
                                         &pixels, error)
                      : error_no_memory(error, "the colour along a line");
  done = done && measure(m, &pixels, samples, edge, error);
  edge_pixels_clear(&pixels);
  free(samples);
  if (!done) {
    edge_clear(edge);
  }
  return done;
}

void edge_clear(struct edge *edge)
{
  free(edge->bin);
  region_clear(&edge->side[0].region);
  region_clear(&edge->side[1].region);
  *edge = (struct edge){0};
}
