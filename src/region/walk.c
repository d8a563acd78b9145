/* SPDX-License-Identifier: MIT */
#include "region/walk.h"

#include <math.h>
#include <stdlib.h>

#include "region/outline.h"

enum {
  BLOCK_LOSSY = 8, /* JPEG's own blocks             */
  BLOCK_PLAIN = 4, /* demosaicking couples so many  */
  NODE = 6         /* numbers at a corner of a cell: 1 / gain and log(1 / gain), R G B each */
};

static void bound(struct walk *walk)
{
  double left = INFINITY, right = -INFINITY, top = INFINITY, bottom = -INFINITY;

  for (size_t i = 0; i < walk->region->vertices; i++) {
    struct point p = walk->region->vertex[i];
    left = fmin(left, p.x);
    right = fmax(right, p.x);
    top = fmin(top, p.y);
    bottom = fmax(bottom, p.y);
  }
  walk->left = (int)fmax(floor(left), 0);
  walk->top = (int)fmax(floor(top), 0);
  walk->right = (int)fmin(ceil(right), walk->image->width);
  walk->bottom = (int)fmin(ceil(bottom), walk->image->height);
}

static int round_up(int number, int multiple)
{
  return (number + multiple - 1) / multiple * multiple;
}

static void choose_blocks(struct walk *walk)
{
  int width = walk->right - walk->left, height = walk->bottom - walk->top;
  int longer = width > height ? width : height, least = walk->image->lossy ? BLOCK_LOSSY : BLOCK_PLAIN;
  int side = (longer + WALK_BLOCKS_ACROSS - 1) / WALK_BLOCKS_ACROSS;

  side = round_up(side > least ? side : least, least);
  walk->block = side > WALK_CELL ? round_up(side, WALK_CELL) : side;
  walk->cell = side > WALK_CELL ? WALK_CELL : side;
  walk->columns = (width + walk->block - 1) / walk->block;
  walk->rows = (height + walk->block - 1) / walk->block;
}

static bool make_table(struct walk *walk, const struct profile *profile)
{
  walk->steps = walk->image->bits == 8 ? 255 : ENCODING_STEPS;
  walk->table = calloc(6 * (walk->steps + 1), sizeof *walk->table);
  for (size_t i = 0; walk->table && i <= walk->steps; i++) {
    double code = (double)i / (double)walk->steps;
    struct vec3 linear = profile_linear(profile, (struct vec3){{code, code, code}});
    for (size_t k = 0; k < 3; k++) {
      float *entry = walk->table + 2 * (k * (walk->steps + 1) + i);
      entry[0] = (float)linear.v[k];
      entry[1] = (float)log(fmax(linear.v[k], 0) + WALK_FLOOR);
    }
  }
  return walk->table != NULL;
}

static size_t nodes_across(const struct walk *walk)
{
  return (size_t)((walk->right - walk->left + walk->cell - 1) / walk->cell) + 1;
}

bool walk_begin(struct walk *walk, const struct image *image, const struct profile *profile,
                const struct light *light, const struct region *region, struct error *error)
{
  *walk = (struct walk){.image = image, .light = light, .region = region};
  bound(walk);
  choose_blocks(walk);
  walk->node[0] = calloc(NODE * nodes_across(walk), sizeof(float));
  walk->node[1] = calloc(NODE * nodes_across(walk), sizeof(float));
  walk->crossing = calloc(region->vertices, sizeof *walk->crossing);
  walk->span = calloc(region->vertices, sizeof *walk->span);
  if (!make_table(walk, profile) || !walk->node[0] || !walk->node[1] || !walk->crossing || !walk->span) {
    walk_end(walk);
    return error_no_memory(error, "the pixels of a region");
  }
  return true;
}

void walk_end(struct walk *walk)
{
  free(walk->table);
  free(walk->node[0]);
  free(walk->node[1]);
  free(walk->crossing);
  free(walk->span);
  *walk = (struct walk){0};
}

/* The light's side is asked once a cell, in its middle. */
static size_t count_beyond(const struct walk *walk, int y, struct outline_span span)
{
  size_t beyond = 0;

  for (int x = span.begin, end; x < span.end; x = end) {
    int cell = (x - walk->left) / walk->cell;
    end = walk->left + (cell + 1) * walk->cell;
    end = end < span.end ? end : span.end;
    struct point middle = {walk->left + (cell + 0.5) * walk->cell, y + 0.5};
    if (light_side_at(walk->light, middle) != LIGHT_AS_CARD) {
      beyond += (size_t)(end - x);
    }
  }
  return beyond;
}

size_t walk_count(struct walk *walk, size_t *beyond)
{
  size_t count = 0;

  *beyond = 0;
  for (int y = walk->top; y < walk->bottom; y++) {
    size_t spans = outline_row(walk->region, y, walk->image->width, walk->crossing, walk->span);
    for (size_t i = 0; i < spans; i++) {
      count += (size_t)(walk->span[i].end - walk->span[i].begin);
      *beyond += count_beyond(walk, y, walk->span[i]);
    }
  }
  return count;
}

static void fill_nodes(const struct walk *walk, double y, float *node)
{
  size_t count = nodes_across(walk);

  for (size_t i = 0; i < count; i++, node += NODE) {
    struct vec3 gain = light_gain(walk->light, (struct point){walk->left + (double)i * walk->cell, y});
    for (int k = 0; k < 3; k++) {
      node[k] = (float)(1 / gain.v[k]);
      node[3 + k] = (float)-log(gain.v[k]);
    }
  }
}

/* The six numbers at a corner's place between the two rows of corners. */
static void blend(const struct walk *walk, int corner, float down, float out[NODE])
{
  const float *upper = walk->node[0] + NODE * corner, *lower = walk->node[1] + NODE * corner;

  for (int k = 0; k < NODE; k++) {
    out[k] = upper[k] + down * (lower[k] - upper[k]);
  }
}

/* Decodes channel k of a run; `from` and `step` are the evening factors at its first pixel and from pixel to pixel. */
static void decode8(const struct walk *walk, struct walk_run *run, int k, const float *from,
                    const float *step)
{
  const uint8_t *code = (const uint8_t *)walk->image->codes +
                        3 * ((size_t)run->y * (size_t)walk->image->width + (size_t)run->x) + k;
  const float *table = walk->table + 2 * (size_t)k * (walk->steps + 1);
  float linear = from[k], log_gain = from[3 + k];

  for (int i = 0; i < run->count; i++, code += 3) {
    run->linear[k][i] = table[2 * *code] * linear;
    run->log[k][i] = table[2 * *code + 1] + log_gain;
    run->clipped[i] |= *code == 0 || *code == 255;
    linear += step[k];
    log_gain += step[3 + k];
  }
}

static void decode16(const struct walk *walk, struct walk_run *run, int k, const float *from,
                     const float *step)
{
  const uint16_t *code = (const uint16_t *)walk->image->codes +
                         3 * ((size_t)run->y * (size_t)walk->image->width + (size_t)run->x) + k;
  const float *table = walk->table + 2 * (size_t)k * (walk->steps + 1);
  float linear = from[k], log_gain = from[3 + k];

  for (int i = 0; i < run->count; i++, code += 3) {
    float place = (float)*code * (ENCODING_STEPS / 65535.0f);
    int at = place < ENCODING_STEPS ? (int)place : ENCODING_STEPS - 1;
    float part = place - (float)at;
    const float *entry = table + 2 * at;
    run->linear[k][i] = (entry[0] + part * (entry[2] - entry[0])) * linear;
    run->log[k][i] = entry[1] + part * (entry[3] - entry[1]) + log_gain;
    run->clipped[i] |= *code == 0 || *code == 65535;
    linear += step[k];
    log_gain += step[3 + k];
  }
}

/* Fills a run from column `begin` to below `end` of the cell. */
static void decode(const struct walk *walk, int y, int cell, int begin, int end, float down,
                   struct walk_run *run)
{
  float left[NODE], right[NODE], from[NODE], step[NODE];
  int x0 = walk->left + cell * walk->cell;

  run->x = begin;
  run->y = y;
  run->count = end - begin;
  run->block = (size_t)((y - walk->top) / walk->block) * (size_t)walk->columns +
               (size_t)((begin - walk->left) / walk->block);
  blend(walk, cell, down, left);
  blend(walk, cell + 1, down, right);
  for (int k = 0; k < NODE; k++) {
    step[k] = (right[k] - left[k]) / (float)walk->cell;
    from[k] = left[k] + step[k] * ((float)(begin - x0) + 0.5f);
  }
  for (int i = 0; i < run->count; i++) {
    run->clipped[i] = 0;
  }
  for (int k = 0; k < 3; k++) {
    run->gain[k] = 1 / (from[k] + step[k] * 0.5f * (float)(run->count - 1));
    (walk->image->bits == 8 ? decode8 : decode16)(walk, run, k, from, step);
  }
}

static void walk_span(const struct walk *walk, int y, struct outline_span span, float down,
                      void (*take)(const struct walk_run *run, void *context), void *context)
{
  struct walk_run run;

  for (int x = span.begin, end; x < span.end; x = end) {
    int cell = (x - walk->left) / walk->cell;
    end = walk->left + (cell + 1) * walk->cell;
    end = end < span.end ? end : span.end;
    decode(walk, y, cell, x, end, down, &run);
    take(&run, context);
  }
}

void walk_rows(struct walk *walk, int step, void (*take)(const struct walk_run *run, void *context),
               void *context)
{
  int filled = -1; /* row of cells whose corners are in `node` */
  int middle = (walk->bottom - walk->top) / 2, first = step / 2 < middle ? step / 2 : middle;

  for (int y = walk->top + first; y < walk->bottom; y += step) {
    size_t spans = outline_row(walk->region, y, walk->image->width, walk->crossing, walk->span);
    int row = (y - walk->top) / walk->cell;
    if (spans > 0 && row != filled) {
      fill_nodes(walk, walk->top + (double)row * walk->cell, walk->node[0]);
      fill_nodes(walk, walk->top + (row + 1.0) * walk->cell, walk->node[1]);
      filled = row;
    }
    float down = (float)(y - walk->top - row * walk->cell + 0.5) / (float)walk->cell;
    for (size_t i = 0; i < spans; i++) {
      walk_span(walk, y, walk->span[i], down, take, context);
    }
  }
}
