/* SPDX-License-Identifier: MIT */
#include "compare/edge_course.h"

#include <math.h>

/* Share of the outline without a boundary from which on it is broken; depth of the least pocket over the perimeter, and over the
 * doubt of a place. Ours: the field books give no numbers. */
static const double BROKEN = 0.25, POCKET_SHARE = 0.012, POCKET_DOUBTS = 3, POCKET_PIXELS = 3;

const char *edge_course_word(enum edge_course course)
{
  static const char *const word[] = {"smooth", "wavy", "irregular", "broken"};

  return word[course];
}

/* Offset of a place; between the nearest told places where it is not told itself. */
static double offset_at(const struct edge_outline *outline, size_t index)
{
  size_t n = outline->places, before = 0, behind = 0;

  while (before < n && !outline->place[(index + n - before) % n].told) {
    before++;
  }
  while (behind < n && !outline->place[(index + behind) % n].told) {
    behind++;
  }
  double a = outline->place[(index + n - before) % n].offset.value,
         b = outline->place[(index + behind) % n].offset.value;
  return before + behind ? a + (b - a) * (double)before / (double)(before + behind) : a;
}

/* Of three neighbours the middle one: a lone place that took another change for this one is passed over. */
static double steady_offset(const struct edge_outline *outline, size_t index)
{
  size_t n = outline->places;
  double a = offset_at(outline, (index + n - 1) % n), b = offset_at(outline, index),
         c = offset_at(outline, (index + 1) % n);

  return fmax(fmin(a, b), fmin(fmax(a, b), c));
}

/* The measured course and its trend by harmonics. */
struct course {
  size_t count;
  struct point at[EDGE_PLACES_MAX], trend[EDGE_PLACES_MAX];
  double off[EDGE_PLACES_MAX]; /* of the course from the trend, outward */
  double spacing;              /* mean, pixels */
};

static void find_trend(struct course *course)
{
  for (size_t i = 0; i < course->count; i++) {
    struct point sum = {0, 0};
    for (size_t j = 0; j < course->count; j++) {
      double angle =
                 2 * M_PI * (double)i / (double)course->count - 2 * M_PI * (double)j / (double)course->count,
             weight = 1;
      for (int h = 1; h <= EDGE_HARMONICS; h++) {
        weight += 2 * cos(h * angle);
      }
      sum.x += weight * course->at[j].x / (double)course->count;
      sum.y += weight * course->at[j].y / (double)course->count;
    }
    course->trend[i] = sum;
  }
}

static void find_offs(const struct edge_outline *outline, struct course *course)
{
  double length = 0;

  for (size_t i = 0; i < course->count; i++) {
    const struct edge_place *place = &outline->place[i];
    struct point next = course->at[(i + 1) % course->count];
    course->off[i] = (course->at[i].x - course->trend[i].x) * place->outward.x +
                     (course->at[i].y - course->trend[i].y) * place->outward.y;
    length += hypot(next.x - course->at[i].x, next.y - course->at[i].y);
  }
  course->spacing = length / (double)course->count;
}

static double typical_doubt(const struct edge_outline *outline)
{
  double sum = 0;

  for (size_t i = 0; i < outline->places; i++) {
    const struct edge_figure *offset = &outline->place[i].offset;
    sum += outline->place[i].told ? (offset->high - offset->low) / 2 / 1.96 : 0;
  }
  return sum / (double)outline->told;
}

/* Whether the course changes sides between two places. */
static bool crosses(const struct course *course, size_t i)
{
  return (course->off[i % course->count] >= 0) != (course->off[(i + 1) % course->count] >= 0);
}

/* The deepest pocket: a run between two crossings. */
static void find_pocket(const struct course *course, double *deep, double *wide)
{
  size_t n = course->count, start = 0;

  *deep = *wide = 0;
  while (start < n && !crosses(course, start)) {
    start++;
  }
  for (size_t i = start + 1; start < n && i <= start + n;) {
    double most = 0;
    size_t run = 0;
    do {
      most = fmax(most, fabs(course->off[(i + run) % n]));
      run++;
    } while (!crosses(course, i + run - 1) && run < n);
    if (most > *deep) {
      *deep = most;
      *wide = (double)run * course->spacing;
    }
    i += run;
  }
}

void edge_course_find(struct edge_outline *outline)
{
  struct course course = {.count = outline->places};

  outline->coursed = outline->told >= EDGE_PLACES_LEAST;
  if (!outline->coursed) {
    return;
  }
  for (size_t i = 0; i < course.count; i++) {
    const struct edge_place *place = &outline->place[i];
    double off = steady_offset(outline, i);
    course.at[i] = (struct point){place->at.x + off * place->outward.x, place->at.y + off * place->outward.y};
  }
  find_trend(&course);
  find_offs(outline, &course);
  find_pocket(&course, &outline->pocket_deep, &outline->pocket_wide);
  double least = fmax(fmax(POCKET_SHARE * course.spacing * (double)course.count, POCKET_PIXELS),
                      POCKET_DOUBTS * typical_doubt(outline));
  outline->course = outline->fades >= BROKEN                      ? EDGE_BROKEN
                    : outline->pocket_deep < least                ? EDGE_SMOOTH
                    : outline->pocket_deep > outline->pocket_wide ? EDGE_IRREGULAR
                                                                  : EDGE_WAVY;
}
