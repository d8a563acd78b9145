/* SPDX-License-Identifier: MIT */
#include "compare/edge_pixels.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "region/outline.h"
#include "region/walk.h"

/* Share left out at either end. */
static const double INNER = 0.3;

double edge_line_length(const struct edge_line *line)
{
  return hypot(line->to.x - line->from.x, line->to.y - line->from.y);
}

struct point edge_line_at(const struct edge_line *line, double along, double across)
{
  double length = edge_line_length(line);
  double c = (line->to.x - line->from.x) / length, s = (line->to.y - line->from.y) / length;

  return (struct point){line->from.x + along * c - across * s, line->from.y + along * s + across * c};
}

/* What the walk hands its runs to. */
struct taker {
  const struct measurement *measurement;
  struct edge_pixels *pixels;
  struct point from;
  double c, s; /* direction of the line */
  struct region card;
  size_t room;
};

static bool is_of_face(const struct taker *taker, const struct walk_run *run)
{
  struct point middle = {run->x + run->count / 2.0, run->y + 0.5};

  return light_side_at(&taker->measurement->light, middle) != LIGHT_ON_EDGE &&
         !region_contains(&taker->card, middle);
}

static void take_run(const struct walk_run *run, void *context)
{
  struct taker *taker = context;
  struct edge_pixels *pixels = taker->pixels;

  if (!is_of_face(taker, run)) {
    return;
  }
  double dx = run->x + 0.5 - taker->from.x, dy = run->y + 0.5 - taker->from.y;
  for (int i = 0; i < run->count && pixels->count < taker->room; i++) {
    if (run->clipped[i]) {
      continue;
    }
    size_t at = pixels->count++;
    pixels->along[at] = (float)((dx + i) * taker->c + dy * taker->s);
    pixels->across[at] = (float)(dy * taker->c - (dx + i) * taker->s);
    for (int k = 0; k < 3; k++) {
      pixels->log[k][at] = run->log[k][i];
    }
  }
}

static bool has_room(struct edge_pixels *pixels, size_t room)
{
  float *all = malloc((room ? room : 1) * 5 * sizeof *all);

  pixels->along = all;
  if (!all) {
    return false;
  }
  pixels->across = all + room;
  for (size_t k = 0; k < 3; k++) {
    pixels->log[k] = all + (2 + k) * room;
  }
  return true;
}

void edge_pixels_clear(struct edge_pixels *pixels)
{
  free(pixels->along);
  *pixels = (struct edge_pixels){0};
}

/* The card with half a patch around it. */
static void outline_card(const struct measurement *m, struct point corner[4])
{
  struct card_extent e = card_reference_extent(&m->card, 0.5);

  corner[0] = card_pose_project(&m->pose, &m->card, e.left, e.top);
  corner[1] = card_pose_project(&m->pose, &m->card, e.right, e.top);
  corner[2] = card_pose_project(&m->pose, &m->card, e.right, e.bottom);
  corner[3] = card_pose_project(&m->pose, &m->card, e.left, e.bottom);
}

static bool walk_band(struct taker *taker, const struct region *band, struct error *error)
{
  const struct measurement *m = taker->measurement;
  struct walk walk;
  size_t beyond;

  if (!walk_begin(&walk, &m->image, &m->profile, &m->light, band, error)) {
    return false;
  }
  size_t count = walk_count(&walk, &beyond);
  int step = (int)(count / EDGE_PIXELS_MAX) + 1;
  taker->room = count / (size_t)step + (size_t)(walk.right - walk.left) + 1;
  bool done = has_room(taker->pixels, taker->room) || error_no_memory(error, "the pixels along a line");
  if (done) {
    walk_rows(&walk, step, take_run, taker);
  }
  walk_end(&walk);
  return done;
}

bool edge_pixels_take(const struct measurement *m, const struct edge_line *line, double from, double to,
                      double half, struct edge_pixels *pixels, struct error *error)
{
  struct point band_corner[4] = {edge_line_at(line, from, -half), edge_line_at(line, to, -half),
                                 edge_line_at(line, to, half), edge_line_at(line, from, half)};
  struct point card_corner[4];
  struct region band = {.shape = REGION_POLYGON, .vertex = band_corner, .vertices = 4};
  double length = edge_line_length(line);
  struct taker taker = {.measurement = m,
                        .pixels = pixels,
                        .from = line->from,
                        .c = (line->to.x - line->from.x) / length,
                        .s = (line->to.y - line->from.y) / length};

  *pixels = (struct edge_pixels){0};
  outline_card(m, card_corner);
  taker.card = (struct region){.shape = REGION_POLYGON, .vertex = card_corner, .vertices = 4};
  return walk_band(&taker, &band, error);
}

/* Which bin a pixel is in; -1 none. */
static int bin_of(const struct edge_grid *grid, double along, double across)
{
  double column = floor((along - grid->slant * across - grid->from) / grid->step);
  double row = floor((across + grid->half) / (2 * grid->half) * grid->rows);

  return column >= 0 && column < grid->columns && row >= 0 && row < grid->rows
             ? (int)row * grid->columns + (int)column
             : -1;
}

/* Pixels sorted by bin. */
struct order {
  uint32_t *index; /* owned */
  size_t *begin;   /* owned; of each bin, and one more */
};

/* By counting: begin[b + 1] first counts bin b, then runs from its first place to the place behind its last. */
static bool sort_by_bin(const struct edge_pixels *pixels, const struct edge_grid *grid, struct order *order)
{
  size_t bins = (size_t)grid->columns * (size_t)grid->rows;
  int *bin = malloc((pixels->count + 1) * sizeof *bin);

  order->index = malloc((pixels->count + 1) * sizeof *order->index);
  order->begin = calloc(bins + 2, sizeof *order->begin);
  for (size_t i = 0; bin && order->index && order->begin && i < pixels->count; i++) {
    bin[i] = bin_of(grid, (double)pixels->along[i], (double)pixels->across[i]);
    order->begin[bin[i] >= 0 ? (size_t)bin[i] + 2 : 0]++;
  }
  if (!bin || !order->index || !order->begin) {
    free(bin);
    return false;
  }
  order->begin[0] = 0; /* what lies in no bin */
  for (size_t b = 1; b <= bins; b++) {
    order->begin[b + 1] += order->begin[b];
  }
  for (size_t i = 0; i < pixels->count; i++) {
    if (bin[i] >= 0) {
      order->index[order->begin[bin[i] + 1]++] = (uint32_t)i;
    }
  }
  free(bin);
  return true;
}

/* Moves the value of rank k to its place, smaller ones before it (Hoare 1961). */
static void select_rank(float *value, long count, long k)
{
  long low = 0, high = count - 1;

  while (low < high) {
    float pivot = value[(low + high) / 2];
    long i = low, j = high;
    while (i <= j) {
      while (value[i] < pivot) {
        i++;
      }
      while (value[j] > pivot) {
        j--;
      }
      if (i <= j) {
        float swap = value[i];
        value[i++] = value[j];
        value[j--] = swap;
      }
    }
    if (k <= j) {
      high = j;
    } else if (k >= i) {
      low = i;
    } else {
      return;
    }
  }
}

/* Mean between the two quantiles. */
static double inner_mean(float *value, long count)
{
  long from = (long)(INNER * (double)count), to = count - from; /* from <= rank < to */
  double sum = 0;

  select_rank(value, count, from);
  select_rank(value + from, count - from, to - 1 - from);
  for (long i = from; i < to; i++) {
    sum += (double)value[i];
  }
  return sum / (double)(to - from);
}

static struct edge_centre centre_of(const struct edge_pixels *pixels, const struct order *order, size_t bin,
                                    float *value)
{
  size_t begin = order->begin[bin], end = order->begin[bin + 1];
  struct edge_centre centre = {.pixels = end - begin};

  for (int k = 0; centre.pixels && k < 3; k++) {
    for (size_t i = begin; i < end; i++) {
      value[i - begin] = pixels->log[k][order->index[i]];
    }
    centre.linear.v[k] = exp(inner_mean(value, (long)centre.pixels)) - WALK_FLOOR;
  }
  return centre;
}

bool edge_pixels_centres(const struct edge_pixels *pixels, const struct edge_grid *grid,
                         struct edge_centre *centre, struct error *error)
{
  struct order order = {0};
  float *value = malloc((pixels->count + 1) * sizeof *value);
  bool done = value && sort_by_bin(pixels, grid, &order);

  for (int bin = 0; done && bin < grid->columns * grid->rows; bin++) {
    centre[bin] = centre_of(pixels, &order, (size_t)bin, value);
  }
  free(order.index);
  free(order.begin);
  free(value);
  return done || error_no_memory(error, "the bins along a line");
}
