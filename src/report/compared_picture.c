/* SPDX-License-Identifier: MIT */
/* All pairs as a picture: a square a pair, coloured by distance; on the diagonal the colours themselves. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "report/compared.h"
#include "report/figures.h"
#include "report/plain.h"

/* Pixels. */
static const double MARGIN = 16, LETTER = 9, SMALL = 7, CELL_MOST = 46, CELL_LEAST = 14, WIDE = 640;
/* Cells from this size on carry their number. */
static const double CELL_NUMBERED = 30;
static const struct drawing_colour INK = {40, 40, 40}, PALE = {250, 250, 250}, LINE = {255, 255, 255};

struct map {
  const struct findings *f;
  struct drawing *drawing;
  size_t *order; /* owned; readings by deposit */
  size_t count;
  double left, top, cell, most; /* most: distance of the scale's end */
  bool clipped;                 /* some pairs lie beyond it */
};

static double text_width(size_t characters, double size)
{
  return (double)characters * size * 6 / 7;
}

/* Stops of the scale from 0 to its end, pale to dark, lightness falling evenly: one hue turning, readable in print. */
static struct drawing_colour scale_colour(double share)
{
  static const struct drawing_colour stop[] = {{250, 246, 228}, {237, 212, 152}, {219, 164, 96},
                                               {178, 100, 72},  {112, 52, 66},   {52, 22, 48}};
  enum { STOPS = sizeof stop / sizeof *stop };
  double at = fmin(fmax(share, 0), 1) * (STOPS - 1);
  int k = (int)fmin(floor(at), STOPS - 2);
  double t = at - k;

  return (struct drawing_colour){(uint8_t)lround(stop[k].red + t * (stop[k + 1].red - stop[k].red)),
                                 (uint8_t)lround(stop[k].green + t * (stop[k + 1].green - stop[k].green)),
                                 (uint8_t)lround(stop[k].blue + t * (stop[k + 1].blue - stop[k].blue))};
}

static struct drawing_colour ink_on(double share)
{
  return share > 0.5 ? PALE : INK;
}

static struct point corner_of(const struct map *map, size_t row, size_t column)
{
  return (struct point){map->left + (double)column * map->cell, map->top + (double)row * map->cell};
}

/* Strokes from lower left to upper right: the two were read in unlike states. */
static void hatch(const struct map *map, struct point corner, double share)
{
  for (int k = 1; k <= 5; k += 2) {
    double reach = map->cell * k / 3;
    double near = fmin(reach, map->cell), far = reach - near;
    struct point stroke[2] = {{corner.x + far, corner.y + near}, {corner.x + near, corner.y + far}};
    drawing_path(map->drawing, stroke, 2, 1, ink_on(share));
  }
}

/* A frame inside the square: not told apart. */
static void frame(const struct map *map, struct point corner, double share)
{
  double in = map->cell * 0.16, side = map->cell - 2 * in;
  struct point path[5] = {{corner.x + in, corner.y + in},
                          {corner.x + in + side, corner.y + in},
                          {corner.x + in + side, corner.y + in + side},
                          {corner.x + in, corner.y + in + side},
                          {corner.x + in, corner.y + in}};

  drawing_path(map->drawing, path, 5, 1.5, ink_on(share));
}

static void add_number(const struct map *map, struct point corner, double de00, double share)
{
  char digits[16];
  struct point base = {corner.x + map->cell / 2, corner.y + map->cell / 2 + SMALL / 2};

  snprintf(digits, sizeof digits, de00 < 9.95 ? "%.1f" : "%.0f", de00);
  double width = text_width(de00 < 9.95 ? 3 : 2, SMALL);
  struct point back = {base.x - width / 2 - 1, base.y - SMALL - 1.5};
  drawing_rectangle(map->drawing, back, width + 2, SMALL + 3, scale_colour(share));
  drawing_text(map->drawing, base, DRAWING_MIDDLE, SMALL, ink_on(share), digits);
}

static bool states_unlike(const struct region *a, const struct region *b)
{
  return a->moisture != b->moisture || a->moisture == MOISTURE_UNSTATED;
}

static void add_pair(const struct map *map, size_t row, size_t column)
{
  size_t a = map->order[row], b = map->order[column];
  size_t at = pair_index(map->count, a < b ? a : b, a < b ? b : a);
  double de00 = (double)map->f->table.de00[at], share = de00 / map->most;
  struct point corner = corner_of(map, row, column);

  drawing_rectangle(map->drawing, corner, map->cell, map->cell, scale_colour(share));
  if (states_unlike(&map->f->collection->item[a].region, &map->f->collection->item[b].region)) {
    hatch(map, corner, share);
  }
  if (!map->f->table.apart[at]) {
    frame(map, corner, share);
  }
  if (map->cell >= CELL_NUMBERED) {
    add_number(map, corner, de00, share);
  }
}

static void add_cells(const struct map *map)
{
  for (size_t row = 0; row < map->count; row++) {
    for (size_t column = 0; column < map->count; column++) {
      const struct collected *item = &map->f->collection->item[map->order[row]];
      if (row != column) {
        add_pair(map, row, column);
      } else {
        drawing_rectangle(map->drawing, corner_of(map, row, column), map->cell, map->cell,
                          drawing_colour_of(item->reading.lab_d50));
      }
    }
  }
}

static size_t subject_at(const struct map *map, size_t row)
{
  return map->f->deposits.list[map->f->deposits.of[map->order[row]]].subject;
}

/* White lines between subjects. */
static void add_grid(const struct map *map)
{
  double side = (double)map->count * map->cell;

  for (size_t row = 1; row < map->count; row++) {
    double thick = subject_at(map, row) != subject_at(map, row - 1) ? 4 : 0.75;
    double y = map->top + (double)row * map->cell, x = map->left + (double)row * map->cell;
    struct point across[2] = {{map->left, y}, {map->left + side, y}};
    struct point down[2] = {{x, map->top}, {x, map->top + side}};
    drawing_path(map->drawing, across, 2, thick, LINE);
    drawing_path(map->drawing, down, 2, thick, LINE);
  }
}

static void row_label(const struct map *map, size_t row, struct text *label)
{
  const struct collected *item = &map->f->collection->item[map->order[row]];

  report_compared_name(map->f, map->order[row], false, label);
  if (item->region.context[0] || item->region.find[0]) {
    text_add(label, "  ");
    plain_add(label, item->region.label);
  }
  if (map->f->collection->photos > 1) {
    text_format(label, " [%zu]", item->photo + 1);
  }
  text_format(label, "  %zu", row + 1);
}

static void add_labels(const struct map *map)
{
  char number[24];

  for (size_t row = 0; row < map->count; row++) {
    struct text label = {0};
    double middle = ((double)row + 0.5) * map->cell;
    row_label(map, row, &label);
    drawing_text(map->drawing, (struct point){map->left - 6, map->top + middle + LETTER / 2}, DRAWING_RIGHT,
                 LETTER, INK, label.data ? label.data : "");
    snprintf(number, sizeof number, "%zu", row + 1);
    drawing_text(map->drawing, (struct point){map->left + middle, map->top - 6}, DRAWING_MIDDLE,
                 map->cell < 18 ? SMALL - 1 : LETTER, INK, number);
    map->drawing->failed |= label.failed;
    text_clear(&label);
  }
}

static double label_width(const struct map *map, bool *failed)
{
  double widest = 0;

  for (size_t row = 0; row < map->count; row++) {
    struct text label = {0};
    row_label(map, row, &label);
    widest = fmax(widest, text_width(label.data ? plain_columns(label.data, label.length) : 0, LETTER));
    *failed |= label.failed;
    text_clear(&label);
  }
  return widest;
}

static void add_key(const struct map *map, double y, double share,
                    void (*mark)(const struct map *, struct point, double), const char *words)
{
  struct map small = *map;
  struct point corner = {map->left + 260, y};

  small.cell = 16;
  drawing_rectangle(map->drawing, corner, small.cell, small.cell, scale_colour(share));
  mark(&small, corner, share);
  drawing_text(map->drawing, (struct point){corner.x + 24, y + 8 + LETTER / 2}, DRAWING_LEFT, LETTER, INK,
               words);
}

/* Scale with numbers, and what the marks mean, below the squares. */
static void add_scale(const struct map *map, double top)
{
  enum { STEPS = 60 };
  double width = 220;
  char number[16];

  drawing_text(map->drawing, (struct point){map->left, top + LETTER}, DRAWING_LEFT, LETTER, INK, "CIEDE2000");
  for (int k = 0; k < STEPS; k++) {
    struct point corner = {map->left + width * k / STEPS, top + LETTER + 6};
    drawing_rectangle(map->drawing, corner, width / STEPS + 0.5, 14, scale_colour((k + 0.5) / STEPS));
  }
  for (int k = 0; k <= 4; k++) {
    snprintf(number, sizeof number, "%.4g%s", map->most * k / 4, k == 4 && map->clipped ? "+" : "");
    drawing_text(map->drawing, (struct point){map->left + width * k / 4, top + 2 * LETTER + 28},
                 DRAWING_MIDDLE, LETTER, INK, number);
  }
  add_key(map, top, 0.05, frame, "not told apart");
  add_key(map, top + 24, 0.3, hatch, "unlike states, or a state not given");
}

/* Readings by deposit, in a deposit by the order in which they were given. */
static bool order_readings(struct map *map)
{
  size_t at = 0;

  map->order = calloc(map->count + 1, sizeof *map->order);
  for (size_t d = 0; map->order && d < map->f->deposits.count; d++) {
    for (size_t i = 0; i < map->count; i++) {
      if (map->f->deposits.of[i] == d) {
        map->order[at++] = i;
      }
    }
  }
  return map->order != NULL;
}

/* The scale ends at the largest distance, to a round number; few colours of a face are further apart than 40. */
static void choose_scale(struct map *map)
{
  const struct pair_table *table = &map->f->table;
  double most = 4;

  for (size_t i = 0; i < table->count * (table->count - 1) / 2; i++) {
    most = fmax(most, (double)table->de00[i]);
  }
  map->most = fmin(4 * ceil(most / 4), 40);
  map->clipped = most > map->most;
}

bool report_compared_picture(const struct findings *f, struct drawing *drawing, struct error *error)
{
  struct map map = {.f = f, .drawing = drawing, .count = f->collection->count};
  bool failed = false;

  *drawing = (struct drawing){0};
  if (map.count > COMPARED_PICTURE_MAX) {
    return error_set(
        error, ERROR_UNMEASURABLE, "too-many",
        "%zu readings are too many for a picture in which they could be told apart; compare at most %d",
        map.count, COMPARED_PICTURE_MAX);
  }
  if (!order_readings(&map)) {
    return error_no_memory(error, "the picture");
  }
  map.cell = fmin(fmax(WIDE / (double)map.count, CELL_LEAST), CELL_MOST);
  map.left = MARGIN + label_width(&map, &failed) + 8;
  map.top = MARGIN + 3 * LETTER + 12;
  choose_scale(&map);
  double side = (double)map.count * map.cell;
  drawing_begin(drawing, map.left + fmax(side, 600) + MARGIN, map.top + side + 80 + MARGIN);
  drawing->failed = failed;
  drawing_text(drawing, (struct point){MARGIN, MARGIN + LETTER}, DRAWING_LEFT, LETTER, INK,
               "Differences of all pairs; on the diagonal the colours read");
  add_cells(&map);
  add_grid(&map);
  add_labels(&map);
  add_scale(&map, map.top + side + 20);
  free(map.order);
  return true;
}
