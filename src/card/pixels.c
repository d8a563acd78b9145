/* SPDX-License-Identifier: MIT */
#include "card/pixels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { PIXELS_MOST = 65536 };          /* a patch; more are read in strides */
static const double TRIM = 4 * 1.4826; /* MADs */
static const double TRIM_LEAST =
    4.0 / 255; /* codes: neighbouring JPEG blocks of an even area differ by so much */

bool card_pixels_open(struct card_pixels *p, const struct image *image, const struct encoding *encoding)
{
  size_t codes = (size_t)image_code_max(image) + 1;

  *p = (struct card_pixels){0};
  p->linear_of[0] = malloc(3 * codes * sizeof *p->linear_of[0]);
  for (size_t c = 0; c < 3 && p->linear_of[0]; c++) {
    p->linear_of[c] = p->linear_of[0] + c * codes;
    for (size_t code = 0; code < codes; code++) {
      p->linear_of[c][code] = (float)encoding_linear(encoding, (int)c, (double)code / (double)(codes - 1));
    }
  }
  return p->linear_of[0] != NULL;
}

void card_pixels_close(struct card_pixels *p)
{
  free(p->linear_of[0]);
  free(p->block);
  free(p->kept);
  free(p->cell);
  *p = (struct card_pixels){0};
}

static double quad_area(const struct point q[4])
{
  return fabs((q[2].x - q[0].x) * (q[3].y - q[1].y) - (q[3].x - q[1].x) * (q[2].y - q[0].y)) / 2;
}

/* q is convex and runs clockwise with y down. */
static bool inside(const struct point q[4], double x, double y)
{
  for (int k = 0; k < 4; k++) {
    struct point a = q[k], b = q[(k + 1) % 4];
    if ((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x) < 0) {
      return false;
    }
  }
  return true;
}

static bool reserve(struct card_pixels *pixels, size_t wanted)
{
  if (wanted <= pixels->capacity) {
    return true;
  }
  free(pixels->block);
  free(pixels->kept);
  free(pixels->cell);
  pixels->block = malloc(wanted * 9 * sizeof *pixels->block);
  pixels->kept = malloc(wanted * sizeof *pixels->kept);
  pixels->cell = malloc(wanted * sizeof *pixels->cell);
  pixels->capacity = pixels->block && pixels->kept && pixels->cell ? wanted : 0;
  for (size_t c = 0; c < 3 && pixels->capacity; c++) {
    pixels->code[c] = pixels->block + c * wanted;
    pixels->linear[c] = pixels->block + (3 + c) * wanted;
  }
  pixels->x = pixels->block ? pixels->block + 6 * wanted : NULL;
  pixels->y = pixels->block ? pixels->block + 7 * wanted : NULL;
  pixels->work = pixels->block ? pixels->block + 8 * wanted : NULL;
  return pixels->capacity > 0;
}

static void add_pixel(struct card_pixels *p, const struct image *image, int x, int y)
{
  unsigned most = image_code_max(image), top = most - most / 255;
  size_t at = p->count++;

  p->x[at] = (float)(x + 0.5);
  p->y[at] = (float)(y + 0.5);
  for (int c = 0; c < 3; c++) {
    unsigned code = image_code(image, x, y, c);
    p->code[c][at] = (float)code / (float)most;
    p->linear[c][at] = p->linear_of[c][code];
    p->high[c] += code >= top;
    p->low[c] += code == 0;
  }
}

bool card_pixels_gather(struct card_pixels *p, const struct image *image, const struct point q[4])
{
  double x0 = q[0].x, x1 = x0, y0 = q[0].y, y1 = y0;

  for (int k = 1; k < 4; k++) {
    x0 = fmin(x0, q[k].x);
    x1 = fmax(x1, q[k].x);
    y0 = fmin(y0, q[k].y);
    y1 = fmax(y1, q[k].y);
  }
  p->stride = (int)ceil(sqrt(quad_area(q) / PIXELS_MOST));
  p->stride = p->stride < 1 ? 1 : p->stride;
  /* a convex figure holds at most about area + perimeter / sqrt(2) pixel centres */
  double perimeter = 2 * (x1 - x0 + y1 - y0);
  if (!reserve(p, (size_t)(quad_area(q) / p->stride / p->stride + perimeter / p->stride) + 16)) {
    return false;
  }
  p->count = 0;
  memset(p->high, 0, sizeof p->high);
  memset(p->low, 0, sizeof p->low);
  for (int y = (int)y0; y < image->height && y <= y1; y += p->stride) {
    for (int x = (int)x0; x < image->width && x <= x1; x += p->stride) {
      if (p->count < p->capacity && inside(q, x + 0.5, y + 0.5)) {
        add_pixel(p, image, x, y);
      }
    }
  }
  return true;
}

/* The value that `rank` others are not above (Hoare's selection); reorders the values. */
static double select_rank(float *value, size_t count, size_t rank)
{
  size_t low = 0, high = count - 1;

  while (low < high) {
    float pivot = value[low + (high - low) / 2];
    size_t i = low, j = high;
    for (;;) {
      while (value[i] < pivot) {
        i++;
      }
      while (value[j] > pivot) {
        j--;
      }
      if (i >= j) {
        break;
      }
      float kept = value[i];
      value[i++] = value[j];
      value[j--] = kept;
    }
    /* [low, j] <= pivot <= [j + 1, high] */
    if (rank <= j) {
      high = j;
    } else {
      low = j + 1;
    }
  }
  return (double)value[rank];
}

double card_pixels_median(float *value, size_t count)
{
  return select_rank(value, count, count / 2);
}

size_t card_pixels_trim(struct card_pixels *p)
{
  size_t kept = 0;

  memset(p->kept, true, p->count);
  for (int c = 0; c < 3; c++) {
    memcpy(p->work, p->code[c], p->count * sizeof *p->work);
    double centre = card_pixels_median(p->work, p->count);
    for (size_t i = 0; i < p->count; i++) {
      p->work[i] = fabsf(p->code[c][i] - (float)centre);
    }
    double reach = fmax(TRIM * card_pixels_median(p->work, p->count), TRIM_LEAST);
    for (size_t i = 0; i < p->count; i++) {
      p->kept[i] = p->kept[i] && fabs((double)p->code[c][i] - centre) <= reach;
    }
  }
  for (size_t i = 0; i < p->count; i++) {
    kept += p->kept[i];
  }
  p->mixed = kept < p->count / 4;
  if (p->mixed) {
    memset(p->kept, true, p->count);
    kept = p->count;
  }
  return kept;
}
