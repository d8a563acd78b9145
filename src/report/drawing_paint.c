/* SPDX-License-Identifier: MIT */
/* Shapes to pixels. Each shape first fills the share of every pixel that it covers, then its colour is mixed in by that share, so that
 * parts of one shape that meet leave no seam. */
#include "report/drawing_parts.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "report/font.h"

/* Rows that a pixel row is cut into for areas; across, shares are exact. */
enum { FINE = 8 };

struct canvas {
  struct image *image;
  float *share; /* of each pixel, row after row; zero between shapes */
};

/* Pixels that a shape may touch: left <= x < right. */
struct frame {
  int left, top, right, bottom;
};

static int within(double value, int limit)
{
  return value <= 0 ? 0 : value >= limit ? limit : (int)value;
}

/* Around the places, `reach` further, cut to the canvas. */
static struct frame frame_of(const struct canvas *canvas, const struct drawing_shape *shape, double reach)
{
  double x0 = INFINITY, x1 = -INFINITY, y0 = INFINITY, y1 = -INFINITY;

  for (size_t i = 0; i < shape->count; i++) {
    x0 = fmin(x0, shape->place[i].x);
    x1 = fmax(x1, shape->place[i].x);
    y0 = fmin(y0, shape->place[i].y);
    y1 = fmax(y1, shape->place[i].y);
  }
  return (struct frame){
      within(floor(x0 - reach), canvas->image->width), within(floor(y0 - reach), canvas->image->height),
      within(ceil(x1 + reach), canvas->image->width), within(ceil(y1 + reach), canvas->image->height)};
}

static float *share_at(const struct canvas *canvas, int x, int y)
{
  return canvas->share + (size_t)y * (size_t)canvas->image->width + x;
}

/* Mixes the colour in and leaves the shares zero. */
static void mix(const struct canvas *canvas, struct frame frame, struct drawing_colour colour)
{
  const uint8_t to[3] = {colour.red, colour.green, colour.blue};

  for (int y = frame.top; y < frame.bottom; y++) {
    for (int x = frame.left; x < frame.right; x++) {
      float *share = share_at(canvas, x, y);
      uint8_t *code = (uint8_t *)canvas->image->codes + 3 * (share - canvas->share);
      for (int k = 0; *share > 0 && k < 3; k++) {
        code[k] = (uint8_t)(code[k] + fminf(*share, 1) * (float)(to[k] - code[k]) + 0.5f);
      }
      *share = 0;
    }
  }
}

/* Covers row y from x0 to x1 by `part` of its height. */
static void cover(const struct canvas *canvas, int y, double x0, double x1, float part)
{
  double limit = canvas->image->width;

  x0 = fmin(fmax(x0, 0), limit);
  x1 = fmin(fmax(x1, 0), limit);
  for (int x = (int)x0; x < x1; x++) {
    *share_at(canvas, x, y) += part * (float)(fmin(x1, x + 1) - fmax(x0, x));
  }
}

static void paint_rectangle(const struct canvas *canvas, const struct drawing_shape *shape)
{
  struct frame frame = frame_of(canvas, shape, 0);

  for (int y = frame.top; y < frame.bottom; y++) {
    cover(canvas, y, shape->place[0].x, shape->place[1].x, 1);
  }
  mix(canvas, frame, shape->colour);
}

/* Where the outline crosses the height y, left to right, into `crossing`; returns how many. */
static size_t find_crossings(const struct drawing_shape *shape, double y, double *crossing)
{
  size_t count = 0;

  for (size_t i = 0; i < shape->count; i++) {
    struct point a = shape->place[i], b = shape->place[(i + 1) % shape->count];
    if ((a.y <= y) != (b.y <= y)) {
      crossing[count++] = a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y));
    }
  }
  qsort(crossing, count, sizeof *crossing, order_doubles);
  return count;
}

static void paint_area(const struct canvas *canvas, const struct drawing_shape *shape, double *crossing)
{
  struct frame frame = frame_of(canvas, shape, 0);

  for (int fine = frame.top * FINE; fine < frame.bottom * FINE; fine++) {
    size_t count = find_crossings(shape, (fine + 0.5) / FINE, crossing);
    for (size_t i = 0; i + 1 < count; i += 2) {
      cover(canvas, fine / FINE, crossing[i], crossing[i + 1], 1.0f / FINE);
    }
  }
  mix(canvas, frame, shape->colour);
}

static double distance_to_segment(struct point p, struct point a, struct point b)
{
  double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
  double t = length2 > 0 ? fmin(fmax(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0), 1) : 0;

  return hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

/* A line thinner than a pixel covers no more than its thickness. */
static float share_of_line(double off, double thick)
{
  return (float)fmin(fmax(thick / 2 + 0.5 - off, 0), fmin(thick, 1));
}

static void cover_segment(const struct canvas *canvas, struct point a, struct point b, double thick)
{
  struct point end[2] = {a, b};
  struct frame frame = frame_of(canvas, &(struct drawing_shape){.place = end, .count = 2}, thick / 2 + 1);
  double slope = b.x == a.x ? 0 : (b.y - a.y) / (b.x - a.x); /* of lines that lie rather than stand */
  double reach = (thick / 2 + 1) * sqrt(1 + slope * slope);
  bool lies = fabs(b.x - a.x) >= fabs(b.y - a.y);

  for (int x = frame.left; x < frame.right; x++) {
    double fine = fmin(fmax(x + 0.5, fmin(a.x, b.x)), fmax(a.x, b.x)), y = a.y + slope * (fine - a.x);
    int top = lies ? (int)fmax(frame.top, floor(y - reach - 1)) : frame.top;
    int bottom = lies ? (int)fmin(frame.bottom, ceil(y + reach + 1)) : frame.bottom;
    for (int row = top; row < bottom; row++) {
      float share = share_of_line(distance_to_segment((struct point){x + 0.5, row + 0.5}, a, b), thick);
      float *at = share_at(canvas, x, row);
      *at = fmaxf(*at, share);
    }
  }
}

static void paint_path(const struct canvas *canvas, const struct drawing_shape *shape)
{
  for (size_t i = 0; i + 1 < shape->count; i++) {
    cover_segment(canvas, shape->place[i], shape->place[i + 1], shape->size);
  }
  mix(canvas, frame_of(canvas, shape, shape->size / 2 + 1), shape->colour);
}

static void cover_dot(const struct canvas *canvas, double left, double top, int dot)
{
  for (int y = within(top, canvas->image->height); y < within(top + dot, canvas->image->height); y++) {
    cover(canvas, y, left, left + dot, 1);
  }
}

static void cover_letter(const struct canvas *canvas, char letter, double left, double top, int dot)
{
  for (int row = 0; row < FONT_ROWS; row++) {
    for (int column = 0; column < FONT_WIDTH; column++) {
      if (font_dot(letter, column, row)) {
        cover_dot(canvas, left + column * dot, top + row * dot, dot);
      }
    }
  }
}

static void paint_text(const struct canvas *canvas, const struct drawing_shape *shape)
{
  static const double before[] = {[DRAWING_LEFT] = 0, [DRAWING_MIDDLE] = 0.5, [DRAWING_RIGHT] = 1};
  const char *text = shape->text;
  int dot = drawing_dot(shape->size);
  double width = drawing_text_width(shape->size, text);
  double left = floor(shape->place[0].x - before[shape->anchor] * width + 0.5);
  double bottom = floor(shape->place[0].y + 0.5), top = bottom - FONT_HEIGHT * dot;
  struct point corner[2] = {{left, top}, {left + width, bottom + FONT_BELOW * dot}};

  for (double at = left; *text; at += FONT_ADVANCE * dot) {
    cover_letter(canvas, font_next(&text), at, top, dot);
  }
  mix(canvas, frame_of(canvas, &(struct drawing_shape){.place = corner, .count = 2}, 0), shape->colour);
}

/* Crossings at a height: no more than corners. */
static double *room_for_crossings(const struct drawing *drawing)
{
  size_t most = 1;

  for (size_t i = 0; i < drawing->count; i++) {
    most = drawing->shape[i].count > most ? drawing->shape[i].count : most;
  }
  return malloc(most * sizeof(double));
}

bool drawing_paint(const struct drawing *drawing, struct image *image, float *share)
{
  struct canvas canvas = {image, share};
  double *crossing = room_for_crossings(drawing);

  for (size_t i = 0; crossing && i < drawing->count; i++) {
    const struct drawing_shape *shape = &drawing->shape[i];
    if (shape->kind == DRAWING_RECTANGLE) {
      paint_rectangle(&canvas, shape);
    } else if (shape->kind == DRAWING_AREA) {
      paint_area(&canvas, shape, crossing);
    } else if (shape->kind == DRAWING_PATH) {
      paint_path(&canvas, shape);
    } else {
      paint_text(&canvas, shape);
    }
  }
  bool done = crossing != NULL;
  free(crossing);
  return done;
}
