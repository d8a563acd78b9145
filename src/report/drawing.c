/* SPDX-License-Identifier: MIT */
#include "report/drawing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/file.h"
#include "colour/srgb.h"
#include "image/write.h"
#include "report/drawing_parts.h"
#include "report/font.h"

void drawing_begin(struct drawing *drawing, double width, double height)
{
  *drawing = (struct drawing){.width = ceil(width), .height = ceil(height)};
}

static void clear_shape(struct drawing_shape *shape)
{
  free(shape->place);
  free(shape->text);
}

void drawing_clear(struct drawing *drawing)
{
  for (size_t i = 0; i < drawing->count; i++) {
    clear_shape(&drawing->shape[i]);
  }
  free(drawing->shape);
  *drawing = (struct drawing){0};
}

static bool are_finite(const struct point *place, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    if (!isfinite(place[i].x) || !isfinite(place[i].y)) {
      return false;
    }
  }
  return true;
}

static bool has_room(struct drawing *drawing)
{
  if (drawing->count < drawing->capacity) {
    return true;
  }
  size_t capacity = drawing->capacity ? 2 * drawing->capacity : 64;
  struct drawing_shape *shape = realloc(drawing->shape, capacity * sizeof *shape);
  if (shape) {
    drawing->shape = shape;
    drawing->capacity = capacity;
  }
  return shape != NULL;
}

/* Adds a copy of the shape with places and text of its own. */
static void add(struct drawing *drawing, struct drawing_shape shape, const struct point *place,
                const char *text)
{
  if (!are_finite(place, shape.count) || !isfinite(shape.size) || drawing->failed) {
    return;
  }
  shape.place = malloc(shape.count * sizeof *place);
  shape.text = text ? strdup(text) : NULL;
  if (!shape.place || (text && !shape.text) || !has_room(drawing)) {
    clear_shape(&shape);
    drawing->failed = true;
    return;
  }
  memcpy(shape.place, place, shape.count * sizeof *place);
  drawing->shape[drawing->count++] = shape;
}

/* From a to b, or b to a, on whole pixels at least one apart. */
static void settle(double a, double b, double *least, double *most)
{
  *least = floor(fmin(a, b) + 0.5);
  *most = fmax(floor(fmax(a, b) + 0.5), *least + 1);
}

void drawing_rectangle(struct drawing *drawing, struct point corner, double width, double height,
                       struct drawing_colour fill)
{
  struct point side[2];

  settle(corner.x, corner.x + width, &side[0].x, &side[1].x);
  settle(corner.y, corner.y + height, &side[0].y, &side[1].y);
  add(drawing, (struct drawing_shape){.kind = DRAWING_RECTANGLE, .colour = fill, .count = 2}, side, NULL);
}

void drawing_area(struct drawing *drawing, const struct point *corner, size_t count,
                  struct drawing_colour fill)
{
  if (count >= 3) {
    add(drawing, (struct drawing_shape){.kind = DRAWING_AREA, .colour = fill, .count = count}, corner, NULL);
  }
}

void drawing_path(struct drawing *drawing, const struct point *place, size_t count, double thick,
                  struct drawing_colour colour)
{
  if (count >= 2) {
    add(drawing,
        (struct drawing_shape){.kind = DRAWING_PATH, .colour = colour, .count = count, .size = thick}, place,
        NULL);
  }
}

void drawing_text(struct drawing *drawing, struct point base, enum drawing_anchor anchor, double size,
                  struct drawing_colour colour, const char *text)
{
  add(drawing,
      (struct drawing_shape){
          .kind = DRAWING_TEXT, .colour = colour, .count = 1, .size = size, .anchor = anchor},
      &base, text);
}

int drawing_dot(double size)
{
  return size > FONT_HEIGHT ? (int)fmin(floor(size / FONT_HEIGHT + 0.5), DRAWING_SIDE_MAX) : 1;
}

double drawing_text_width(double size, const char *text)
{
  size_t length = font_length(text);

  return length ? ((double)length * FONT_ADVANCE - (FONT_ADVANCE - FONT_WIDTH)) * drawing_dot(size) : 0;
}

struct drawing_colour drawing_colour_of(struct lab lab_d50)
{
  struct srgb c = colour_srgb_from_lab_d50(lab_d50);

  return (struct drawing_colour){c.red, c.green, c.blue};
}

static bool write_svg(const struct drawing *drawing, const char *path, struct error *error)
{
  struct text out = {0};

  drawing_svg(drawing, &out);
  bool done = out.failed ? error_no_memory(error, path) : file_write(path, out.data, out.length, error);
  text_clear(&out);
  return done;
}

static bool write_png(const struct drawing *drawing, const char *path, struct error *error)
{
  if (!(drawing->width >= 1 && drawing->height >= 1 && drawing->width <= DRAWING_SIDE_MAX &&
        drawing->height <= DRAWING_SIDE_MAX)) {
    return error_set(error, ERROR_UNMEASURABLE, "too-large",
                     "%s would be %.0f x %.0f pixels, more than %d a side; give a name that ends in .svg",
                     path, drawing->width, drawing->height, DRAWING_SIDE_MAX);
  }
  struct image image = {.width = (int)drawing->width, .height = (int)drawing->height, .bits = 8};
  size_t pixels = (size_t)image.width * (size_t)image.height;
  float *share = calloc(pixels, sizeof *share);
  image.codes = malloc(3 * pixels);
  bool done = (share && image.codes) || error_no_memory(error, path);
  if (done) {
    memset(image.codes, 255, 3 * pixels);
    done = drawing_paint(drawing, &image, share) ? image_write(&image, path, error)
                                                 : error_no_memory(error, path);
  }
  image_clear(&image);
  free(share);
  return done;
}

static bool ends_in(const char *path, const char *ending)
{
  size_t length = strlen(path), tail = strlen(ending);

  return length > tail && strcasecmp(path + length - tail, ending) == 0;
}

bool drawing_check_ending(const char *path, struct error *error)
{
  if (ends_in(path, ".svg") || ends_in(path, ".png")) {
    return true;
  }
  return error_set(error, ERROR_USAGE, "ending",
                   "%s does not say which picture format is wanted; end the name in .svg or .png", path);
}

bool drawing_write(const struct drawing *drawing, const char *path, struct error *error)
{
  if (!drawing_check_ending(path, error)) {
    return false;
  }
  if (drawing->failed) {
    return error_no_memory(error, path);
  }
  return (ends_in(path, ".svg") ? write_svg : write_png)(drawing, path, error);
}
