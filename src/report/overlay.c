/* SPDX-License-Identifier: MIT */
#include "report/overlay.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/font.h"

enum { LONGEST = 2400, SMALL = 600, DOT_LONGEST = 600 };
enum { LABEL_ROWS = 12 }; /* places tried above an outline, and below */

static const double READ_SHARE = 0.6; /* of a patch's side, as card/patches.h reads it */
static const struct overlay_colour DARK = {20, 20, 20}, LIGHT = {255, 255, 255}, CARD = {255, 220, 60},
                                   LEFT_OUT = {255, 70, 60};

static double scale_for(int longest)
{
  return longest > LONGEST ? (double)LONGEST / longest : longest < SMALL ? 2 * SMALL / longest : 1;
}

/* Mean of the photo's pixels under one of the canvas, or the one pixel there. */
static void fill_pixel(const struct image *photo, double scale, int x, int y, uint8_t *out)
{
  int x0 = (int)(x / scale), x1 = (int)fmin((x + 1) / scale, photo->width);
  int y0 = (int)(y / scale), y1 = (int)fmin((y + 1) / scale, photo->height);
  double sum[3] = {0};

  x0 = x0 < photo->width ? x0 : photo->width - 1;
  y0 = y0 < photo->height ? y0 : photo->height - 1;
  x1 = x1 > x0 ? x1 : x0 + 1;
  y1 = y1 > y0 ? y1 : y0 + 1;
  for (int v = y0; v < y1; v++) {
    for (int u = x0; u < x1; u++) {
      for (int c = 0; c < 3; c++) {
        sum[c] += image_code(photo, u, v, c);
      }
    }
  }
  double each = 255.0 / image_code_max(photo) / (x1 - x0) / (y1 - y0);
  for (int c = 0; c < 3; c++) {
    out[c] = (uint8_t)(sum[c] * each + 0.5);
  }
}

static bool copy_profile(const struct image *photo, struct image *canvas)
{
  if (!photo->icc) {
    return true;
  }
  canvas->icc = malloc(photo->icc_size);
  if (!canvas->icc) {
    return false;
  }
  memcpy(canvas->icc, photo->icc, photo->icc_size);
  canvas->icc_size = photo->icc_size;
  return true;
}

bool overlay_begin(const struct image *photo, struct overlay *overlay, struct error *error)
{
  int longest = photo->width > photo->height ? photo->width : photo->height;
  double scale = scale_for(longest);
  struct image *canvas = &overlay->canvas;

  *overlay = (struct overlay){.scale = scale};
  canvas->width = (int)fmax(lround(photo->width * scale), 1);
  canvas->height = (int)fmax(lround(photo->height * scale), 1);
  canvas->bits = 8;
  overlay->dot = (int)fmax(lround(longest * scale / DOT_LONGEST), 1);
  canvas->codes = malloc((size_t)canvas->width * (size_t)canvas->height * 3);
  if (!canvas->codes || !copy_profile(photo, canvas)) {
    overlay_clear(overlay);
    return error_no_memory(error, "an overlay picture");
  }
  uint8_t *out = canvas->codes;
  for (int y = 0; y < canvas->height; y++) {
    for (int x = 0; x < canvas->width; x++, out += 3) {
      fill_pixel(photo, scale, x, y, out);
    }
  }
  return true;
}

void overlay_clear(struct overlay *overlay)
{
  image_clear(&overlay->canvas);
}

static void blend(struct overlay *overlay, int x, int y, struct overlay_colour colour, double share)
{
  const uint8_t to[3] = {colour.red, colour.green, colour.blue};

  if (x < 0 || y < 0 || x >= overlay->canvas.width || y >= overlay->canvas.height || share <= 0) {
    return;
  }
  uint8_t *at =
      (uint8_t *)overlay->canvas.codes + 3 * ((size_t)y * (size_t)overlay->canvas.width + (size_t)x);
  for (int c = 0; c < 3; c++) {
    at[c] = (uint8_t)(at[c] + fmin(share, 1) * (to[c] - at[c]) + 0.5);
  }
}

static double distance_to_segment(struct point p, struct point a, struct point b)
{
  double dx = b.x - a.x, dy = b.y - a.y, length2 = dx * dx + dy * dy;
  double t = length2 > 0 ? fmin(fmax(((p.x - a.x) * dx + (p.y - a.y) * dy) / length2, 0), 1) : 0;

  return hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}

/* A line of the canvas with smooth edges: along its longer direction, and a few pixels across at each step. */
static void line(struct overlay *overlay, struct point a, struct point b, double width,
                 struct overlay_colour colour)
{
  bool flat = fabs(b.x - a.x) >= fabs(b.y - a.y);
  double from = flat ? fmin(a.x, b.x) : fmin(a.y, b.y), to = flat ? fmax(a.x, b.x) : fmax(a.y, b.y);
  double slope = flat ? (b.y - a.y) / (b.x - a.x) : (b.x - a.x) / (b.y - a.y);
  double reach = width / 2 + 1, limit = flat ? overlay->canvas.width : overlay->canvas.height;

  if (!isfinite(a.x + a.y + b.x + b.y) || from - reach > limit || to + reach < 0) {
    return;
  }
  slope = to > from ? slope : 0;
  for (int i = (int)fmax(from - reach, 0); i <= fmin(to + reach, limit - 1); i++) {
    double along = fmin(fmax(i + 0.5, from), to);
    double across = flat ? a.y + slope * (along - a.x) : a.x + slope * (along - a.y);
    if (fabs(across) > 1e6) {
      continue;
    }
    for (int k = (int)floor(across - 1.5 * reach); k <= across + 1.5 * reach; k++) {
      int x = flat ? i : k, y = flat ? k : i;
      double off = distance_to_segment((struct point){x + 0.5, y + 0.5}, a, b);
      blend(overlay, x, y, colour, width / 2 + 0.5 - off);
    }
  }
}

static struct point on_canvas(const struct overlay *overlay, struct point place)
{
  return (struct point){place.x * overlay->scale, place.y * overlay->scale};
}

/* The closed line through places of the photo, with a dark rim that shows on light ground. */
static void polygon(struct overlay *overlay, const struct point *place, size_t count, double width,
                    struct overlay_colour colour)
{
  for (int layer = 0; layer < 2; layer++) {
    for (size_t i = 0; i < count; i++) {
      struct point a = on_canvas(overlay, place[i]), b = on_canvas(overlay, place[(i + 1) % count]);
      line(overlay, a, b, layer ? width : width + 2, layer ? colour : DARK);
    }
  }
}

static void glyph(struct overlay *overlay, char character, int left, int top, int dot,
                  struct overlay_colour colour)
{
  for (int y = 0; y < FONT_ROWS * dot; y++) {
    for (int x = 0; x < FONT_WIDTH * dot; x++) {
      if (font_dot(character, x / dot, y / dot)) {
        blend(overlay, left + x, top + y, colour, 1);
      }
    }
  }
}

/* The plate of a text with its middle at (x, y) of the canvas, moved so that it stays on the canvas. */
static struct overlay_label plate_box(const struct overlay *overlay, const char *text, double x, double y,
                                      int dot)
{
  int width = ((int)font_length(text) * FONT_ADVANCE + 1) * dot, height = (FONT_ROWS + 2) * dot;
  int left = isfinite(x) ? (int)fmax(fmin(x - width / 2.0, overlay->canvas.width - width), 0) : 0;
  int top = isfinite(y) ? (int)fmax(fmin(y - height / 2.0, overlay->canvas.height - height), 0) : 0;

  return (struct overlay_label){left, top, left + width, top + height};
}

/* Text on a dark plate (none for letters of no size), its middle at (x, y) of the canvas, moved so that the plate stays on the canvas. */
static void plate(struct overlay *overlay, const char *text, double x, double y, int dot,
                  struct overlay_colour colour)
{
  struct overlay_label box = plate_box(overlay, text, x, y, dot);
  int width = box.right - box.left, height = box.bottom - box.top, left = box.left, top = box.top;

  if (!isfinite(x) || !isfinite(y) || width <= dot || dot <= 0) {
    return;
  }
  for (int v = 0; v < height; v++) {
    for (int u = 0; u < width; u++) {
      blend(overlay, left + u, top + v, DARK, 0.75);
    }
  }
  for (left += dot; *text; left += FONT_ADVANCE * dot) {
    glyph(overlay, font_next(&text), left, top + dot, dot, colour);
  }
}

/* Dots of letters so that `characters` fit across `pixels`; 0 when there is no room. */
static int dot_to_fit(const struct overlay *overlay, size_t characters, double pixels)
{
  int dot = (int)fmin(pixels / (double)(characters * FONT_ADVANCE + 1), overlay->dot);

  return dot > 0 ? dot : 0;
}

static void draw_card(struct overlay *overlay, const struct card_reference *card,
                      const struct card_pose *pose)
{
  enum { STEPS = 12 }; /* a side: a bent card has curved sides */
  struct card_extent e = card_reference_extent(card, 0.1);
  const struct card_place bound[4] = {
      {e.left, e.top}, {e.right, e.top}, {e.right, e.bottom}, {e.left, e.bottom}};
  struct point outline[4 * STEPS];

  for (int i = 0; i < 4 * STEPS; i++) {
    struct card_place a = bound[i / STEPS], b = bound[(i / STEPS + 1) % 4];
    double t = (double)(i % STEPS) / STEPS;
    outline[i] =
        card_pose_project(pose, card, a.x_mm + t * (b.x_mm - a.x_mm), a.y_mm + t * (b.y_mm - a.y_mm));
  }
  polygon(overlay, outline, sizeof outline / sizeof *outline, overlay->dot, CARD);
}

static void cross_out(struct overlay *overlay, const struct point outline[4], double width)
{
  for (int k = 0; k < 2; k++) {
    line(overlay, on_canvas(overlay, outline[k]), on_canvas(overlay, outline[k + 2]), width, LEFT_OUT);
  }
}

static void draw_patch(struct overlay *overlay, const struct card_reference *card,
                       const struct card_pose *pose, size_t patch, enum card_cause cause)
{
  struct point outline[4];
  struct overlay_colour colour = cause == CARD_USED ? LIGHT : LEFT_OUT;
  char number[24];

  card_pose_outline(pose, card, patch, READ_SHARE, outline);
  double room = pose->patch_pixels * READ_SHARE * overlay->scale;
  double width = fmax(fmin(overlay->dot - 1, room / 10), 1);
  polygon(overlay, outline, 4, width, colour);
  if (cause != CARD_USED) {
    cross_out(overlay, outline, width);
  }
  struct point a = on_canvas(overlay, outline[0]), c = on_canvas(overlay, outline[2]);
  int dot = dot_to_fit(overlay, 3, room);
  snprintf(number, sizeof number, "%zu", patch + 1);
  plate(overlay, number, (a.x + c.x) / 2, (a.y + c.y) / 2, dot, colour);
  if (cause != CARD_USED) {
    const char *word = card_cause_word(cause);
    int small = dot_to_fit(overlay, strlen(word), room / READ_SHARE);
    double below = (dot + small) * (FONT_ROWS + 2) / 2.0;
    plate(overlay, word, (a.x + c.x) / 2, (a.y + c.y) / 2 + below, small, colour);
  }
}

void overlay_card(struct overlay *overlay, const struct card_reference *card, const struct card_pose *pose,
                  const struct card_patches *patches)
{
  draw_card(overlay, card, pose);
  for (size_t i = 0; i < card->count; i++) {
    draw_patch(overlay, card, pose, i, patches ? patches->view[i].cause : CARD_USED);
  }
}

static bool is_free(const struct overlay *overlay, struct overlay_label box)
{
  for (size_t i = 0; i < overlay->labels; i++) {
    const struct overlay_label *other = &overlay->label[i];
    if (box.left < other->right && other->left < box.right && box.top < other->bottom &&
        other->top < box.bottom) {
      return false;
    }
  }
  return true;
}

/* Draws a label in the first free place: above `top`, below `bottom`, then row by row further off; above where none is free. */
static void label_outline(struct overlay *overlay, const char *label, double x, double top, double bottom,
                          struct overlay_colour colour)
{
  double off = (FONT_ROWS / 2.0 + 2) * overlay->dot, row = (FONT_ROWS + 3) * overlay->dot, y = top - off;
  bool found = false;

  for (int k = 0; !found && k < 2 * LABEL_ROWS; k++) {
    double at = k % 2 ? bottom + off + row * (k / 2) : top - off - row * (k / 2);
    found = is_free(overlay, plate_box(overlay, label, x, at, overlay->dot));
    y = found ? at : y;
  }
  plate(overlay, label, x, y, overlay->dot, colour);
  if (overlay->labels < OVERLAY_LABELS) {
    overlay->label[overlay->labels++] = plate_box(overlay, label, x, y, overlay->dot);
  }
}

void overlay_outline(struct overlay *overlay, const struct point *place, size_t count, const char *label,
                     struct overlay_colour colour)
{
  double top = INFINITY, bottom = -INFINITY, left = INFINITY, right = -INFINITY;

  if (count == 0) {
    return;
  }
  polygon(overlay, place, count, overlay->dot, colour);
  for (size_t i = 0; i < count; i++) {
    struct point p = on_canvas(overlay, place[i]);
    top = fmin(top, p.y);
    bottom = fmax(bottom, p.y);
    left = fmin(left, p.x);
    right = fmax(right, p.x);
  }
  label_outline(overlay, label, (left + right) / 2, top, bottom, colour);
}

/* A dot at every second stretch, white in a dark ring. */
void overlay_dotted(struct overlay *overlay, const struct point *place, size_t count, struct point middle,
                    const char *label)
{
  double width = 4.0 * overlay->dot, gap = 2 * width;
  struct point last = {-1e9, -1e9};

  for (size_t i = 0; i + 1 < count; i += 2) {
    struct point a = on_canvas(overlay, place[i]), b = on_canvas(overlay, place[i + 1]);
    struct point at = {(a.x + b.x) / 2, (a.y + b.y) / 2};
    if (hypot(at.x - last.x, at.y - last.y) >= gap) {
      line(overlay, at, at, width + 2, DARK);
      line(overlay, at, at, width, LIGHT);
      last = at;
    }
  }
  struct point at = on_canvas(overlay, middle);
  plate(overlay, label, at.x, at.y, overlay->dot, LIGHT);
}

void overlay_dashed(struct overlay *overlay, struct point place, struct point normal, const char *label)
{
  const struct image *canvas = &overlay->canvas;
  double width = 2.0 * overlay->dot, dash = 6 * width, most = hypot(canvas->width, canvas->height);
  struct point at = on_canvas(overlay, place);
  /* The foot of the canvas's middle: from there the line leaves the canvas within its diagonal. */
  double along = (at.y - canvas->height / 2.0) * normal.x - (at.x - canvas->width / 2.0) * normal.y;
  struct point foot = {at.x + along * normal.y, at.y - along * normal.x};

  for (double from = -most; from < most; from += 2 * dash) {
    struct point a = {foot.x - from * normal.y, foot.y + from * normal.x};
    struct point b = {a.x - dash * normal.y, a.y + dash * normal.x};
    line(overlay, a, b, width + 2, DARK);
    line(overlay, a, b, width, LIGHT);
  }
  label_outline(overlay, label, foot.x, foot.y, foot.y, LIGHT);
}

struct overlay_colour overlay_cycle(size_t index)
{
  static const struct overlay_colour cycle[] = {{90, 200, 250},  {255, 170, 60},  {140, 230, 120},
                                                {240, 130, 220}, {250, 240, 110}, {120, 150, 255},
                                                {255, 140, 130}, {100, 230, 210}};

  return cycle[index % (sizeof cycle / sizeof *cycle)];
}
