/* SPDX-License-Identifier: MIT */
/* The band along a line is cut into stretches, and the codes of each averaged along it: a profile across the line. A string of
 * some width is where the mean of that many pixels differs from both sides in the same sense, by much more than anywhere else
 * in the profile, at places that lie on a smooth curve from stretch to stretch. */
#include "measure/string_track.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"

enum { WIDTHS = 6 };

static const double WIDEST = 1.5;       /* cells that a string may be wide                                 */
static const double REACH = 1.5;        /* cells that the line may be off                                  */
static const double STRETCH = 2;        /* cells                                                           */
static const double NOISE = 0.002;      /* of codes: no contrast below counts                              */
static const double SEEN = 4;           /* times the usual contrast of the profile: the string shows       */
static const double CONTRAST_MOST = 10; /* what one stretch may say                                        */
static const double OFF_CURVE = 1.5;    /* pixels                                                          */
static const double SEEN_LEAST = 0.7;   /* of the stretches                                                */
static const double SHORTEST = 0.4;     /* of the way across the frame                                     */
static const double MARGIN = 0.3;       /* of a cell beside a string, which outlines may come near to      */

struct track {
  const struct image *image;
  const struct cells *cells;
  const struct string_line *line;
  double side;          /* of a cell, pixels                                                          */
  int along, across;    /* pixels                                                                     */
  int stretches, reach; /* offsets run from -reach to reach                                           */
  int rim;              /* offsets of the profile beyond that                                         */
  float *profile;       /* owned; R G B an offset, stretch after stretch                              */
  float *contrast;      /* owned; an offset, times the usual one of the profile                       */
  float *sum;           /* owned; best sum of contrasts up to here                                    */
  signed char *step;    /* owned; where it came from                                                  */
  float *at;            /* owned; offset of the string, by stretch                                    */
  bool *open;           /* owned; the stretch is in the frame and off the card                        */
  bool *seen;           /* owned                                                                      */
};

static void track_clear(struct track *t)
{
  free(t->profile);
  free(t->contrast);
  free(t->sum);
  free(t->step);
  free(t->at);
  free(t->open);
  free(t->seen);
}

static bool track_make(const struct image *image, const struct cells *cells, const struct string_line *line,
                       struct track *t)
{
  *t = (struct track){.image = image, .cells = cells, .line = line};
  t->side = (double)cells->block * cells->merge;
  t->along = line->upright ? image->height : image->width;
  t->across = line->upright ? image->width : image->height;
  t->stretches = (int)(t->along / (STRETCH * t->side));
  t->reach = (int)(REACH * t->side);
  t->rim = (int)(2 * WIDEST * t->side) + 6;
  size_t stretches = (size_t)t->stretches + 1, places = stretches * (size_t)(2 * t->reach + 1);
  t->profile = calloc(stretches * (size_t)(2 * (t->reach + t->rim) + 1) * 3, sizeof *t->profile);
  t->contrast = calloc(places, sizeof *t->contrast);
  t->sum = calloc(places, sizeof *t->sum);
  t->step = calloc(places, sizeof *t->step);
  t->at = calloc(stretches, sizeof *t->at);
  t->open = calloc(stretches, sizeof *t->open);
  t->seen = calloc(stretches, sizeof *t->seen);
  return t->profile && t->contrast && t->sum && t->step && t->at && t->open && t->seen;
}

static double line_at(const struct track *t, double along)
{
  return t->line->from + t->line->slope * along;
}

static float *profile_of(const struct track *t, int stretch)
{
  return t->profile + (size_t)stretch * (size_t)(2 * (t->reach + t->rim) + 1) * 3;
}

/* The cell at a place along and across; NULL outside. */
static const struct cell *cell_of(const struct track *t, double along, double across)
{
  int column = (int)floor((t->line->upright ? across : along) / t->side),
      row = (int)floor((t->line->upright ? along : across) / t->side);
  bool inside = column >= 0 && row >= 0 && column < t->cells->columns && row < t->cells->rows;

  return inside ? &t->cells->cell[(size_t)row * (size_t)t->cells->columns + (size_t)column] : NULL;
}

static void add_codes(const struct track *t, int along, int across, float scale, float *profile)
{
  across = across < 0 ? 0 : across < t->across ? across : t->across - 1;
  for (int k = 0; k < 3; k++) {
    unsigned code =
        t->line->upright ? image_code(t->image, across, along, k) : image_code(t->image, along, across, k);
    profile[k] += (float)code * scale;
  }
}

/* Codes of a stretch, averaged along the line; places beyond the frame repeat its rim. */
static void take_profile(struct track *t, int stretch)
{
  float *profile = profile_of(t, stretch);
  int begin = stretch * t->along / t->stretches, end = (stretch + 1) * t->along / t->stretches;
  int half = t->reach + t->rim;
  float scale = 1 / ((float)(end - begin) * (t->image->bits == 8 ? 255.0F : 65535.0F));

  /* Rows of the picture lie together in memory. */
  int outer = t->line->upright ? end - begin : 2 * half + 1,
      inner = t->line->upright ? 2 * half + 1 : end - begin;
  for (int o = 0; o < outer; o++) {
    for (int i = 0; i < inner; i++) {
      int along = begin + (t->line->upright ? o : i), place = t->line->upright ? i : o;
      add_codes(t, along, (int)floor(line_at(t, along + 0.5)) + place - half, scale, profile + 3 * place);
    }
  }
}

/* A stretch tells nothing where its middle is outside or on the card. */
static void take_profiles(struct track *t)
{
  for (int i = 0; i < t->stretches; i++) {
    double along = (i + 0.5) * t->along / t->stretches, across = line_at(t, along);
    const struct cell *cell = cell_of(t, along, across);
    t->open[i] = cell && !cell->card && across > 2 && across < t->across - 2;
    if (t->open[i]) {
      take_profile(t, i);
    }
  }
}

static float mean_of(const float *profile, int first, int count, int channel)
{
  float sum = 0;

  for (int i = first; i < first + count; i++) {
    sum += profile[3 * i + channel];
  }
  return sum / (float)count;
}

/* By how much `width` pixels about a place differ from both sides in the same sense, in the channel where that is most. */
static float contrast_at(const float *profile, int middle, int width)
{
  int first = middle - width / 2, gap = 1 + width / 4, side = 2 + width / 3;
  float most = 0;

  for (int k = 0; k < 3; k++) {
    float inside = mean_of(profile, first, width, k);
    float before = inside - mean_of(profile, first - gap - side, side, k);
    float behind = inside - mean_of(profile, first + width + gap, side, k);
    float least = fminf(fabsf(before), fabsf(behind));
    most = before * behind > 0 && least > most ? least : most;
  }
  return most;
}

static bool take_contrasts(struct track *t, int width)
{
  int places = 2 * t->reach + 1;
  double *sorted = calloc((size_t)places, sizeof *sorted);

  for (int i = 0; sorted && i < t->stretches; i++) {
    float *contrast = t->contrast + (size_t)i * (size_t)places;
    for (int p = 0; p < places; p++) {
      contrast[p] = t->open[i] ? contrast_at(profile_of(t, i), p + t->rim, width) : 0;
      sorted[p] = (double)contrast[p];
    }
    order_doubles(sorted, (size_t)places);
    for (int p = 0; p < places; p++) {
      contrast[p] /= (float)(sorted[places / 2] + NOISE);
    }
  }
  free(sorted);
  return sorted != NULL;
}

/* The way from end to end, at most a pixel aside each stretch, with the largest sum of contrasts, which is returned. */
static double best_way(struct track *t)
{
  int places = 2 * t->reach + 1, end = 0;

  for (int i = 0; i < t->stretches; i++) {
    for (int p = 0; p < places; p++) {
      size_t at = (size_t)i * (size_t)places + (size_t)p;
      float best = i > 0 ? t->sum[at - (size_t)places] : 0;
      t->step[at] = 0;
      for (int s = -1; s <= 1 && i > 0; s += 2) {
        float other = p + s >= 0 && p + s < places ? t->sum[at - (size_t)(places - s)] - 1 : -1e9F;
        t->step[at] = (signed char)(other > best ? s : t->step[at]);
        best = fmaxf(best, other);
      }
      t->sum[at] = best + fminf(t->contrast[at], (float)CONTRAST_MOST);
    }
  }
  const float *last = t->sum + (size_t)(t->stretches - 1) * (size_t)places;
  for (int p = 0; p < places; p++) {
    end = last[p] > last[end] ? p : end;
  }
  double sum = (double)last[end];
  for (int i = t->stretches - 1; i >= 0; i--) {
    t->at[i] = (float)(end - t->reach);
    end += t->step[(size_t)i * (size_t)places + (size_t)end];
  }
  return sum;
}

static double contrast_near(const struct track *t, int stretch, double offset)
{
  int places = 2 * t->reach + 1, middle = (int)lround(offset) + t->reach;
  double most = 0;

  for (int p = middle - 1; p <= middle + 1; p++) {
    double contrast =
        p >= 0 && p < places ? (double)t->contrast[(size_t)stretch * (size_t)places + (size_t)p] : 0;
    most = fmax(most, contrast);
  }
  return most;
}

/* A parabola through the stretches where the string shows, those far off it left out the second time; `at` becomes its offsets.
 * Lenses bow what is taut by no more than that. */
static bool fit_curve(struct track *t)
{
  for (int turn = 0; turn < 3; turn++) {
    struct mat3 normal = {{{0}}}, inverse;
    struct vec3 right = {{0}}, curve;
    for (int i = 0; i < t->stretches; i++) {
      double u = (i + 0.5) / t->stretches - 0.5;
      struct vec3 power = {{1, u, u * u}};
      if (t->open[i] && t->seen[i]) {
        normal = mat3_add(normal, mat3_outer(power, power));
        right = vec3_add(right, vec3_scale(power, (double)t->at[i]));
      }
    }
    if (!mat3_invert(normal, &inverse)) {
      return false;
    }
    curve = mat3_apply(inverse, right);
    for (int i = 0; i < t->stretches; i++) {
      double u = (i + 0.5) / t->stretches - 0.5, at = curve.v[0] + u * (curve.v[1] + u * curve.v[2]);
      t->seen[i] = t->open[i] && fabs((double)t->at[i] - at) <= (turn < 2 ? 2 : 1) * OFF_CURVE &&
                   contrast_near(t, i, (double)t->at[i]) >= SEEN;
      t->at[i] = turn < 2 ? t->at[i] : (float)at;
    }
  }
  return true;
}

/* The stretches first..last that have most seen ones against unseen ones. Returns how many of them tell something. */
static int longest_run(const struct track *t, int *first, int *last, int *seen)
{
  double sum = 0, most = 0;
  int begin = 0, told = 0;

  *first = 0;
  *last = -1;
  *seen = 0;
  for (int i = 0; i < t->stretches; i++) {
    if (sum <= 0) {
      begin = i;
      sum = 0;
    }
    sum += !t->open[i] ? 0 : t->seen[i] ? 1 - SEEN_LEAST : -SEEN_LEAST;
    if (sum > most) {
      most = sum;
      *first = begin;
      *last = i;
    }
  }
  for (int i = *first; i <= *last; i++) {
    told += t->open[i];
    *seen += t->open[i] && t->seen[i];
  }
  return told;
}

static void mark_run(const struct track *t, int first, int last, double half, uint8_t mark, uint8_t *thing)
{
  double length = t->along / (double)t->stretches;
  int begin = first <= 2 ? 0 : (int)(first * length),
      end = last >= t->stretches - 3 ? t->along : (int)((last + 1) * length);

  for (int along = begin; along < end; along++) {
    int i = (int)(along / length);
    double across = line_at(t, along + 0.5) + (double)t->at[i < t->stretches ? i : t->stretches - 1] + 0.5;
    double low = across - half - MARGIN * t->side, high = across + half + MARGIN * t->side;
    for (double at = floor(low / t->side); at <= floor(high / t->side); at++) {
      const struct cell *cell = cell_of(t, along + 0.5, (at + 0.5) * t->side);
      if (cell) {
        thing[cell - t->cells->cell] = mark;
      }
    }
  }
}

/* The width whose way has the largest sum; the contrasts and the way of that one are left in the track. 0: no memory. */
static int best_width(struct track *t)
{
  static const double width[WIDTHS] = {1,   2,   0.35,
                                       0.6, 0.9, 1.3}; /* the first two pixels, the others cells */
  double most = -1;
  int best = 0;

  for (int turn = 0; turn <= WIDTHS; turn++) {
    int now = turn == WIDTHS ? best : (int)(width[turn] * (turn < 2 ? 1 : t->side) + 0.5);
    if (!take_contrasts(t, now)) {
      return 0;
    }
    double sum = best_way(t);
    best = sum > most ? now : best;
    most = fmax(most, sum);
  }
  return best;
}

bool string_track(const struct image *image, const struct cells *cells, const struct string_line *line,
                  uint8_t mark, uint8_t *thing, bool *found)
{
  struct track t;
  int first, last, seen, width = 0;
  bool done = track_make(image, cells, line, &t);

  *found = false;

  if (done && t.stretches > 0) {
    take_profiles(&t);
    width = best_width(&t);
    done = width > 0;
    for (int i = 0; i < t.stretches; i++) {
      t.seen[i] = t.open[i] && contrast_near(&t, i, (double)t.at[i]) >= SEEN;
    }
  }
  if (width > 0 && fit_curve(&t)) {
    int told = longest_run(&t, &first, &last, &seen);
    if (seen >= SEEN_LEAST * told && last - first + 1 >= SHORTEST * t.stretches && 2 * told > last - first) {
      *found = true;
      mark_run(&t, first, last, 0.625 * width + 1, mark, thing);
    }
  }
  track_clear(&t);
  return done;
}
