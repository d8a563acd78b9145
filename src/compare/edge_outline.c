/* SPDX-License-Identifier: MIT */
#include "compare/edge_outline.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/order.h"
#include "compare/edge_course.h"
#include "compare/edge_parts.h"

/* Length of a line to either side over the root of the region's area, and its limits in pixels. */
static const double REACH_SHARE = 0.18, REACH_LEAST = 16, REACH_MOST = 160;

/* Pixels between places, at least; half the band of a line, pixels. */
static const double SPACING_LEAST = 10, HALF_LEAST = 4, HALF_MOST = 60;

enum { BINS_MAX = 128, STRONG_LEAST = 4 };

/* A change at one place is the outline's when it goes the same way: its part along the common change, over that. */
static const double SAME_LEAST = 0.4;

/* What is worked on: the samples of all places, in common channels. */
struct ring {
  const struct measurement *m;
  struct edge_outline *outline;
  struct edge_samples *samples; /* owned, one a place */
  struct edge_fit *fit;         /* owned, one a place */
  struct edge common;           /* channels and prior of all places */
  double change[3];             /* what the clear places agree on */
  double half;
};

/* Length of the outline, all the way round. */
static double perimeter_of(const struct region *region)
{
  double sum = 0;

  for (size_t i = 0; i < region->vertices; i++) {
    struct point a = region->vertex[i], b = region->vertex[(i + 1) % region->vertices];
    sum += hypot(b.x - a.x, b.y - a.y);
  }
  return sum;
}

/* The place at a length along the outline, which closes on itself. */
static struct point place_on(const struct region *region, double perimeter, double along)
{
  along -= perimeter * floor(along / perimeter);
  for (size_t i = 0; i < region->vertices; i++) {
    struct point a = region->vertex[i], b = region->vertex[(i + 1) % region->vertices];
    double length = hypot(b.x - a.x, b.y - a.y);
    if (along <= length && length > 0) {
      return (struct point){a.x + along / length * (b.x - a.x), a.y + along / length * (b.y - a.y)};
    }
    along -= length;
  }
  return region->vertex[0];
}

/* Twice the signed area: positive where the corners go clockwise as seen, y down. */
static double turn_of(const struct region *region)
{
  double sum = 0;

  for (size_t i = 0; i < region->vertices; i++) {
    struct point a = region->vertex[i], b = region->vertex[(i + 1) % region->vertices];
    sum += a.x * b.y - b.x * a.y;
  }
  return sum;
}

/* Spaces the places and finds which way is out: square to the chord over one spacing, so that a corner is cut evenly. */
static bool space_places(struct edge_outline *outline)
{
  const struct region *region = outline->region;
  double perimeter = perimeter_of(region), sign = turn_of(region) > 0 ? 1 : -1;
  double count = fmin(fmax(floor(perimeter / SPACING_LEAST), EDGE_PLACES_LEAST), EDGE_PLACES_MAX);

  outline->places = (size_t)count;
  outline->place = calloc(outline->places, sizeof *outline->place);
  for (size_t i = 0; outline->place && i < outline->places; i++) {
    double along = ((double)i + 0.5) * perimeter / count, step = perimeter / count / 2;
    struct point before = place_on(region, perimeter, along - step),
                 behind = place_on(region, perimeter, along + step);
    double dx = behind.x - before.x, dy = behind.y - before.y, length = fmax(hypot(dx, dy), 1e-9);
    outline->place[i] = (struct edge_place){.at = place_on(region, perimeter, along),
                                            .outward = {sign * dy / length, -sign * dx / length}};
  }
  return outline->place != NULL;
}

static struct point moved(const struct edge_place *place, double off)
{
  return (struct point){place->at.x + off * place->outward.x, place->at.y + off * place->outward.y};
}

static struct edge_line line_at(const struct edge_outline *outline, size_t index)
{
  const struct edge_place *place = &outline->place[index];

  return (struct edge_line){moved(place, -outline->reach), moved(place, outline->reach)};
}

static bool is_open(const struct measurement *m, struct point p)
{
  return p.x >= 0 && p.y >= 0 && p.x <= m->image.width && p.y <= m->image.height &&
         !card_pose_covers(&m->pose, &m->card, p) && light_side_at(&m->light, p) != LIGHT_ON_EDGE;
}

/* Both ends and the middle must be in the photo and off the card, and enough must be left of it. */
static bool take_place(struct ring *ring, size_t index, struct error *error)
{
  struct edge_outline *outline = ring->outline;
  struct edge_line line = line_at(outline, index);
  double length = 2 * outline->reach;
  struct edge_grid grid = {0, length / fmin(floor(length), BINS_MAX), ring->half,
                           0, (int)fmin(floor(length), BINS_MAX),     1};
  struct edge_pixels pixels = {0};

  if (!is_open(ring->m, line.from) || !is_open(ring->m, line.to) ||
      !is_open(ring->m, outline->place[index].at)) {
    return true;
  }
  bool done = edge_pixels_take(ring->m, &line, 0, length, ring->half, &pixels, error) &&
              edge_samples_take(&pixels, &grid, &ring->samples[index], error);
  outline->place[index].read = done && ring->samples[index].count >= EDGE_SAMPLES_MIN;
  outline->read += outline->place[index].read;
  edge_pixels_clear(&pixels);
  return done;
}

static bool convert_all(struct ring *ring)
{
  struct vec3 sum = {{0, 0, 0}};
  double count = 0;
  struct edge_samples *one = ring->samples;

  for (size_t i = 0; i < ring->outline->places; i++) {
    for (size_t j = 0; ring->outline->place[i].read && j < one[i].count; j++) {
      sum = vec3_add(sum, one[i].linear[j]);
      count++;
    }
  }
  if (!edge_channels_set(ring->m, vec3_scale(sum, 1 / fmax(count, 1)), &ring->common,
                         &ring->outline->error)) {
    return false;
  }
  for (size_t i = 0; i < ring->outline->places; i++) {
    if (ring->outline->place[i].read) {
      edge_samples_convert(&ring->common, &one[i]);
      edge_samples_mark(&one[i]);
    }
  }
  return true;
}

static struct edge_limits limits_of(const struct edge_outline *outline)
{
  double end = fmax(4, 0.1 * outline->reach);

  return (struct edge_limits){end, 2 * outline->reach - end, 0.5, 1.6 * outline->reach};
}

static double size_of(const double change[3])
{
  return sqrt(change[0] * change[0] + change[1] * change[1] + change[2] * change[2]);
}

/* Part of a change along the common one, over that. */
static double along_common(const struct ring *ring, const double change[3])
{
  double dot = 0, size = size_of(ring->change);

  for (int k = 0; k < 3; k++) {
    dot += change[k] * ring->change[k];
  }
  return size > 0 ? dot / (size * size) : 0;
}

/* Away from the ends of the line, where half a change is none. */
static bool is_inside(const struct edge_fit *fit, const struct edge_limits *limits)
{
  return fit->place > limits->place_low + 0.5 && fit->place < limits->place_high - 0.5;
}

static void fit_places(struct ring *ring)
{
  struct edge_limits limits = limits_of(ring->outline);
  struct error ignored; /* a place of which too little is left tells nothing */

  for (size_t i = 0; i < ring->outline->places; i++) {
    struct edge_fit *fit = &ring->fit[i];
    bool done = ring->outline->place[i].read &&
                edge_samples_fit(&ring->samples[i], &ring->common.prior, &limits, fit, &ignored);
    if (!done || !is_inside(fit, &limits)) {
      fit->evidence = 0;
    }
  }
}

/* The change that the clearest places agree on: channel by channel the median of theirs. False where fewer than STRONG_LEAST are
 * clear. */
static bool find_common(struct ring *ring)
{
  double value[3][EDGE_PLACES_MAX];
  size_t count = 0;

  for (size_t i = 0; i < ring->outline->places; i++) {
    const struct edge_fit *fit = &ring->fit[i];
    if (fit->evidence > EDGE_EVIDENCE && size_of(fit->change) > EDGE_CHANGE) {
      for (int k = 0; k < 3; k++) {
        value[k][count] = fit->change[k];
      }
      count++;
    }
  }
  for (int k = 0; count >= STRONG_LEAST && k < 3; k++) {
    ring->change[k] = order_quantile(value[k], count, 0.5);
  }
  return count >= STRONG_LEAST && size_of(ring->change) > EDGE_CHANGE;
}

static void tell_places(struct ring *ring)
{
  for (size_t i = 0; i < ring->outline->places; i++) {
    struct edge_place *place = &ring->outline->place[i];
    const struct edge_fit *fit = &ring->fit[i];
    place->told = fit->evidence > EDGE_PLACE_EVIDENCE && size_of(fit->change) > EDGE_CHANGE &&
                  along_common(ring, fit->change) > SAME_LEAST;
    if (place->told) {
      place->offset = edge_place_figure(fit);
      place->offset.value -= ring->outline->reach;
      place->offset.low -= ring->outline->reach;
      place->offset.high -= ring->outline->reach;
      place->at_most = edge_thickness(ring->m, fit, 0, &place->thick);
    }
    ring->outline->told += place->told;
  }
}

/* Medians and spreads of what the places tell. */
static void summarise(struct edge_outline *outline)
{
  double offset[EDGE_PLACES_MAX], thick[EDGE_PLACES_MAX], high[EDGE_PLACES_MAX], off[EDGE_PLACES_MAX];
  size_t count = 0, thin = 0;

  for (size_t i = 0; i < outline->places; i++) {
    if (outline->place[i].told) {
      offset[count] = outline->place[i].offset.value;
      thick[count] = outline->place[i].thick.value;
      high[count] = outline->place[i].thick.high;
      thin += outline->place[i].at_most;
      count++;
    }
  }
  outline->fades = 1 - (double)outline->told / (double)outline->read;
  if (count == 0) {
    return;
  }
  double middle = order_quantile(offset, count, 0.5);
  for (size_t i = 0; i < count; i++) {
    off[i] = fabs(offset[i] - middle);
  }
  outline->scatter = 1.4826 * order_quantile(off, count, 0.5);
  double error = fmax(1.96 * 1.2533 * outline->scatter / sqrt((double)count), 0.5); /* of a median */
  outline->offset = (struct edge_figure){middle, middle - error, middle + error};
  outline->at_most = 2 * thin > count;
  outline->thick = (struct edge_figure){order_quantile(thick, count, 0.5), order_quantile(thick, count, 0.25),
                                        outline->at_most ? order_quantile(high, count, 0.5)
                                                         : order_quantile(thick, count, 0.75)};
}

static struct edge_figure scaled(struct edge_figure figure, double by)
{
  return (struct edge_figure){figure.value * by, figure.low * by, figure.high * by};
}

/* mm over pixels across the outline, mean over the places read. */
static void take_mm(const struct measurement *m, struct edge_outline *outline)
{
  double sum = 0;

  for (size_t i = 0; i < outline->places; i++) {
    struct edge_line line = line_at(outline, i);
    sum += outline->place[i].read ? edge_mm(m, &line, 2 * outline->reach) / (2 * outline->reach) : 0;
  }
  outline->mm_per_pixel = sum / (double)outline->read;
  outline->scaled = m->card.sized && isfinite(outline->mm_per_pixel);
  if (outline->scaled) {
    outline->offset_mm = scaled(outline->offset, outline->mm_per_pixel);
    outline->thick_mm = scaled(outline->thick, outline->mm_per_pixel);
  }
}

/* A band along the measured boundary from `near` to `far` beyond it, as one ring with a slit; no wider than nothing where the place
 * could not be read. */
static bool outline_band(const struct edge_outline *outline, double near, double far, struct region *region)
{
  size_t n = outline->places;

  region->shape = REGION_POLYGON;
  region->vertex = malloc((2 * n + 2) * sizeof *region->vertex);
  if (!region->vertex) {
    return false;
  }
  region->vertices = 2 * n + 2;
  for (size_t i = 0; i <= n; i++) {
    const struct edge_place *place = &outline->place[i % n];
    double off = outline->offset.value;
    region->vertex[i] = moved(place, off + near);
    region->vertex[2 * n + 1 - i] = moved(place, off + (place->read ? far : near));
  }
  return true;
}

/* What was stated of the region holds inside it. A face is moistened as a whole: outside it is as moist, so that both are read on the same
 * terms, but may be no such zone. */
static void state_side(const struct region *stated, int outside, struct region *side)
{
  snprintf(side->label, sizeof side->label, outside ? "outside" : "inside");
  snprintf(side->zone, sizeof side->zone, "%s", outside ? "" : stated->zone);
  side->moisture = stated->moisture;
}

static bool read_sides(const struct measurement *m, struct edge_outline *outline, struct error *error)
{
  double near =
      0.9 * (outline->at_most ? outline->thick.high : outline->thick.value) + 2 * outline->scatter + 2;
  double far = fmax(outline->reach, near + 8);
  struct shared_unknowns *shared = malloc(sizeof *shared);
  bool done = shared != NULL;

  if (done) {
    shared_unknowns_make(&m->profile, &m->light, shared);
  }
  for (int i = 0; done && i < 2; i++) {
    struct edge_side *side = &outline->side[i];
    double sign = i ? 1 : -1;
    state_side(outline->region, i, &side->region);
    done = outline_band(outline, sign * near, sign * far, &side->region);
    if (done) {
      edge_side_read(m, shared, side);
    }
  }
  free(shared);
  outline->compared = done && outline->side[0].reading.measured && outline->side[1].reading.measured;
  if (outline->compared) {
    outline->difference = difference_across(&outline->side[0].reading, &outline->side[1].reading);
  }
  return done || error_no_memory(error, "the sides of an outline");
}

static bool follow(struct ring *ring, struct error *error)
{
  struct edge_outline *outline = ring->outline;

  for (size_t i = 0; i < outline->places; i++) {
    if (!take_place(ring, i, error)) {
      return false;
    }
  }
  if (outline->read < EDGE_PLACES_LEAST) {
    outline->measured =
        error_set(&outline->error, ERROR_UNMEASURABLE, "few-places",
                  "its boundary can be read at %zu places only, the rest lies beside the photo or on the "
                  "card; draw it inside the photo",
                  outline->read);
    return true;
  }
  outline->measured = convert_all(ring);
  if (!outline->measured) {
    return true;
  }
  fit_places(ring);
  if (find_common(ring)) {
    tell_places(ring);
  }
  summarise(outline);
  take_mm(ring->m, outline);
  if (outline->told == 0) {
    return true;
  }
  edge_course_find(outline);
  return read_sides(ring->m, outline, error);
}

bool edge_outline_measure(const struct measurement *m, const struct region *region,
                          struct edge_outline *outline, struct error *error)
{
  struct ring ring = {.m = m, .outline = outline};

  *outline = (struct edge_outline){.region = region};
  if (!region_check(region, m->image.width, m->image.height, &outline->error)) {
    return true;
  }
  outline->reach = fmin(fmax(REACH_SHARE * sqrt(region_area(region)), REACH_LEAST), REACH_MOST);
  if (!space_places(outline)) {
    return error_no_memory(error, "an outline");
  }
  ring.half = fmin(fmax(perimeter_of(region) / (double)outline->places / 2, HALF_LEAST), HALF_MOST);
  for (int k = 0; k < 6; k++) {
    ring.common.prior.drift[k / 3][k % 3] =
        k < 3 ? 0.5 : 0.3; /* what a deposit may grade over so short a line */
  }
  edge_blur_set(m, 0, fmax(2 * outline->reach / BINS_MAX, 1), &ring.common.prior);
  ring.samples = calloc(outline->places, sizeof *ring.samples);
  ring.fit = calloc(outline->places, sizeof *ring.fit);
  bool done = ring.samples && ring.fit ? follow(&ring, error)
                                       : error_no_memory(error, "the colour across an outline");
  free(ring.samples);
  free(ring.fit);
  if (!done) {
    edge_outline_clear(outline);
  }
  return done;
}

void edge_outline_clear(struct edge_outline *outline)
{
  free(outline->place);
  region_clear(&outline->side[0].region);
  region_clear(&outline->side[1].region);
  *outline = (struct edge_outline){0};
}
