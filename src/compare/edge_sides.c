/* SPDX-License-Identifier: MIT */
/* The deposits on both sides of a boundary, read like regions, and what has to be said about the change. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "compare/edge_parts.h"
#include "measure/shared.h"

/* A side begins where 99 % of the change is behind it: 0.9 of the distance from 10 to 90 %. It reaches so much of the line further,
 * and is at least so many pixels long, taken from the line's end if need be. */
static const double CLEAR_OF_CHANGE = 0.9, REACH_SHARE = 0.3, LONG_LEAST = 10;

/* A change that is lightness alone, CIEDE2000: what is not along the light's own direction is within the first, what is along it more than
 * the second. */
static const double LIGHT_ALONE = 0.7, LIGHT_LEAST = 2.0;

/* Along the line, where a side begins and ends. */
static bool side_span(const struct edge *edge, int side, double *from, double *to)
{
  double lean = fabs(tan(edge->slant * M_PI / 180)),
         off = edge->thick.value * sqrt(1 + lean * lean) * CLEAR_OF_CHANGE;
  double least = fmax(LONG_LEAST, 0.05 * edge->length), reach = REACH_SHARE * edge->length;
  double start = side ? edge->place.high + off + 1 : edge->place.low - off - 1;
  double end = side ? edge->length : 0, sign = side ? 1 : -1;
  bool clear = sign * (end - start) >= least;

  start = clear ? start : end - sign * least;
  end = sign * (end - start) > reach ? start + sign * reach : end;
  *from = fmin(start, end);
  *to = fmax(start, end);
  return clear;
}

static bool outline_side(struct edge *edge, int side, double from, double to, struct error *error)
{
  struct region *region = &edge->side[side].region;
  double slant = tan(edge->slant * M_PI / 180), half = edge->half;

  snprintf(region->label, sizeof region->label, side ? "second side" : "first side");
  region->shape = REGION_POLYGON;
  region->vertex = malloc(4 * sizeof *region->vertex);
  if (!region->vertex) {
    return error_no_memory(error, "a side of the boundary");
  }
  region->vertices = 4;
  region->vertex[0] = edge_line_at(&edge->line, from - slant * half, -half);
  region->vertex[1] = edge_line_at(&edge->line, to - slant * half, -half);
  region->vertex[2] = edge_line_at(&edge->line, to + slant * half, half);
  region->vertex[3] = edge_line_at(&edge->line, from + slant * half, half);
  return true;
}

void edge_side_read(const struct measurement *m, const struct shared_unknowns *shared, struct edge_side *side)
{
  measure_part(m, shared, &side->region, &side->reading);
}

/* Whether the change is one of light: along the direction in which the first side's colour moves when all channels gain alike. */
static bool is_lightness_alone(const struct edge *edge)
{
  const struct vec3 linear = edge->side[0].reading.statistics.linear;
  struct vec3 light = mat3_apply(edge->channels, linear);
  struct vec3 change = {{edge->fit.change[0], edge->fit.change[1], edge->fit.change[2]}};
  double along = vec3_dot(light, change) / vec3_dot(light, light);
  struct vec3 rest = vec3_subtract(change, vec3_scale(light, along));
  double size = sqrt(vec3_dot(light, light)) * fabs(along);

  return size > LIGHT_LEAST && sqrt(vec3_dot(rest, rest)) < LIGHT_ALONE;
}

static void say_if_like_shadow(const struct measurement *m, struct edge *edge)
{
  if (light_is_unsure(&m->light, edge->side[0].reading.statistics.centre) !=
      light_is_unsure(&m->light, edge->side[1].reading.statistics.centre)) {
    edge_add_caveat(edge, "shadow-unsure", true,
                    "the change lies on a straight step in brightness that may be the edge of a shadow; look "
                    "at the face before it goes on the sheet");
  } else if (is_lightness_alone(edge)) {
    edge_add_caveat(edge, "lightness-alone", true,
                    "the two sides differ in lightness alone, as they do at the edge of a shadow or of a "
                    "damp patch; look at the face before it goes on the sheet");
  }
}

static void say_what_is_doubtful(const struct measurement *m, const bool clear[2], struct edge *edge)
{
  if (!clear[0] || !clear[1]) {
    edge_add_caveat(
        edge, "cut-short", true,
        "the change reaches the line's %s, so the difference is a least; draw the line further to both "
        "sides",
        clear[0]   ? "second end"
        : clear[1] ? "first end"
                   : "ends");
  }
  for (int side = 0; side < 2; side++) {
    if (!edge->side[side].reading.measured) {
      edge_add_caveat(edge, "side-unread", true, "the deposit %s the boundary can't be read: %s",
                      side ? "behind" : "before", edge->side[side].reading.error.text);
    }
  }
  if (edge->compared) {
    say_if_like_shadow(m, edge);
  }
}

bool edge_sides_read(const struct measurement *m, struct edge *edge, struct error *error)
{
  struct shared_unknowns *shared = malloc(sizeof *shared);
  bool clear[2], done = shared != NULL || error_no_memory(error, "the sides of a boundary");

  if (done) {
    shared_unknowns_make(&m->profile, &m->light, shared);
  }
  for (int side = 0; done && side < 2; side++) {
    double from, to;
    clear[side] = side_span(edge, side, &from, &to);
    done = outline_side(edge, side, from, to, error);
    if (done) {
      edge_side_read(m, shared, &edge->side[side]);
    }
  }
  free(shared);
  if (done) {
    edge->compared = edge->side[0].reading.measured && edge->side[1].reading.measured;
    if (edge->compared) {
      edge->difference = difference_across(&edge->side[0].reading, &edge->side[1].reading);
    }
    say_what_is_doubtful(m, clear, edge);
  }
  return done;
}
