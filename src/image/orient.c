/* SPDX-License-Identifier: MIT */
#include "image/orient.h"

#include <stdlib.h>
#include <string.h>

/* A turned row becomes a column: as many rows at a time as make a column's piece longer than a cache line. */
enum { STRIP_ROWS = 32 };

/* Place of stored pixel (x, y) in the upright picture: origin + x step_x + y step_y, in pixels. */
struct way {
  ptrdiff_t origin, step_x, step_y;
};

static struct way way_upright(const struct orient *orient)
{
  int o = orient->orientation;
  bool turned = o >= 5, x_back = o == 2 || o == 3 || o == 7 || o == 8,
       y_back = o == 3 || o == 4 || o == 6 || o == 7;
  ptrdiff_t row = orient->image->width;
  struct way way = {0, turned ? row : 1, turned ? 1 : row};

  if (x_back) {
    way.origin += (orient->width - 1) * way.step_x;
    way.step_x = -way.step_x;
  }
  if (y_back) {
    way.origin += (orient->height - 1) * way.step_y;
    way.step_y = -way.step_y;
  }
  return way;
}

static size_t pixel_bytes(const struct image *image)
{
  return image->bits == 8 ? 3 : 6;
}

bool orient_begin(struct orient *orient, struct image *image, int orientation, int width, int height,
                  struct error *error)
{
  size_t row = pixel_bytes(image) * (size_t)width;

  *orient = (struct orient){image, orientation, width, height, NULL};
  image->width = orientation >= 5 ? height : width;
  image->height = orientation >= 5 ? width : height;
  image->codes = malloc(row * (size_t)height);
  orient->strip = orientation == 1 ? NULL : malloc(row * STRIP_ROWS);
  return (image->codes && (orient->strip || orientation == 1)) ||
         error_no_memory(error, "the pixels of a photo");
}

void *orient_row(const struct orient *orient, int y)
{
  size_t row = pixel_bytes(orient->image) * (size_t)orient->width;

  if (!orient->strip) {
    return (uint8_t *)orient->image->codes + row * (size_t)y;
  }
  return orient->strip + row * (size_t)(y % STRIP_ROWS);
}

/* Always called with a constant `bytes`, so that each copy is one or two moves. */
static inline void copy_pixels(uint8_t *to, ptrdiff_t to_step, const uint8_t *from, ptrdiff_t from_step,
                               int count, const size_t bytes)
{
  for (int i = 0; i < count; i++) {
    memcpy(to + i * to_step * (ptrdiff_t)bytes, from + i * from_step * (ptrdiff_t)bytes, bytes);
  }
}

static void copy_line(const struct image *image, ptrdiff_t to, ptrdiff_t to_step, const uint8_t *from,
                      ptrdiff_t from_step, int count)
{
  if (image->bits == 8) {
    copy_pixels((uint8_t *)image->codes + 3 * to, to_step, from, from_step, count, 3);
  } else {
    copy_pixels((uint8_t *)image->codes + 6 * to, to_step, from, from_step, count, 6);
  }
}

/* Brings the strip's rows [first, first + count) to their places, writing along upright rows. */
static void place_strip(const struct orient *orient, int first, int count)
{
  struct way way = way_upright(orient);
  const struct image *image = orient->image;
  size_t bytes = pixel_bytes(image);
  ptrdiff_t start = way.origin + first * way.step_y;

  for (int y = 0; orient->orientation < 5 && y < count; y++) {
    copy_line(image, start + y * way.step_y, way.step_x,
              orient->strip + bytes * (size_t)y * (size_t)orient->width, 1, orient->width);
  }
  for (int x = 0; orient->orientation >= 5 && x < orient->width; x++) {
    copy_line(image, start + x * way.step_x, way.step_y, orient->strip + bytes * (size_t)x, orient->width,
              count);
  }
}

void orient_row_done(const struct orient *orient, int y)
{
  int held = y % STRIP_ROWS + 1;

  if (orient->strip && (held == STRIP_ROWS || y == orient->height - 1)) {
    place_strip(orient, y + 1 - held, held);
  }
}

void orient_end(struct orient *orient)
{
  free(orient->strip);
  orient->strip = NULL;
}
