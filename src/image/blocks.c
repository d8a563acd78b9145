/* SPDX-License-Identifier: MIT */
#include "image/blocks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Codes worked on at a time: whole pixels and whole vector registers, and a count that the compiler knows. */
enum { CHUNK = 48 };

/* Sums down the rows of a strip of blocks, one for each code of a row (R G B R G B ...). */
struct columns {
  size_t count; /* codes of a row, rounded up to whole chunks                          */
  uint32_t *sum;
  uint64_t *square;
  uint16_t *ends; /* valid at the red code: rows whose pixel there is clipped          */
};

static bool columns_allocate(struct columns *columns, int width)
{
  size_t count = (3 * (size_t)width + CHUNK - 1) / CHUNK * CHUNK;

  columns->count = count;
  columns->square = malloc(count * (sizeof *columns->square + sizeof *columns->sum + sizeof *columns->ends));
  if (!columns->square) {
    return false;
  }
  columns->sum = (uint32_t *)(columns->square + count);
  columns->ends = (uint16_t *)(columns->sum + count);
  return true;
}

static void columns_zero(struct columns *columns)
{
  memset(columns->square, 0, columns->count * sizeof *columns->square);
  memset(columns->sum, 0, columns->count * sizeof *columns->sum);
  memset(columns->ends, 0, columns->count * sizeof *columns->ends);
}

/* Adds, for the red code of each pixel, whether any of its three codes is at an end. */
static inline void add_ends(uint16_t *ends, const uint8_t *at_end)
{
  for (int i = 0; i < CHUNK; i++) {
    ends[i] = (uint16_t)(ends[i] + (at_end[i] | at_end[i + 1] | at_end[i + 2]));
  }
}

/* code - 1, unsigned, is at least max - 1 for 0 and max alone. */
static void add_chunk8(const struct columns *columns, size_t at, const uint8_t *codes)
{
  uint8_t at_end[CHUNK + 2] = {0};

  for (int i = 0; i < CHUNK; i++) {
    columns->sum[at + (size_t)i] += codes[i];
  }
  for (int i = 0; i < CHUNK; i++) {
    uint16_t square = (uint16_t)(codes[i] * codes[i]);
    columns->square[at + (size_t)i] += square;
  }
  for (int i = 0; i < CHUNK; i++) {
    at_end[i] = (uint8_t)(codes[i] - 1) >= 254;
  }
  add_ends(columns->ends + at, at_end);
}

static void add_chunk16(const struct columns *columns, size_t at, const uint16_t *codes)
{
  uint8_t at_end[CHUNK + 2] = {0};

  for (int i = 0; i < CHUNK; i++) {
    uint32_t code = codes[i];
    columns->sum[at + (size_t)i] += code;
    columns->square[at + (size_t)i] += code * code;
  }
  for (int i = 0; i < CHUNK; i++) {
    at_end[i] = (uint16_t)(codes[i] - 1) >= 65534;
  }
  add_ends(columns->ends + at, at_end);
}

/* The rest of a row that fills no chunk is padded; nobody reads the sums of the padding. */
static void add_row8(const struct columns *columns, const uint8_t *row, size_t codes)
{
  uint8_t rest[CHUNK] = {0};
  size_t at = 0;

  for (; at + CHUNK <= codes; at += CHUNK) {
    add_chunk8(columns, at, row + at);
  }
  memcpy(rest, row + at, codes - at);
  if (at < codes) {
    add_chunk8(columns, at, rest);
  }
}

static void add_row16(const struct columns *columns, const uint16_t *row, size_t codes)
{
  uint16_t rest[CHUNK] = {0};
  size_t at = 0;

  for (; at + CHUNK <= codes; at += CHUNK) {
    add_chunk16(columns, at, row + at);
  }
  memcpy(rest, row + at, (codes - at) * sizeof *row);
  if (at < codes) {
    add_chunk16(columns, at, rest);
  }
}

static void add_image_row(const struct columns *columns, const struct image *image, int y)
{
  size_t codes = 3 * (size_t)image->width;

  if (image->bits == 8) {
    add_row8(columns, (const uint8_t *)image->codes + codes * (size_t)y, codes);
  } else {
    add_row16(columns, (const uint16_t *)image->codes + codes * (size_t)y, codes);
  }
}

/* One block out of the columns [first, last) of a strip of `rows` rows. */
static void close_block(const struct columns *columns, int first, int last, int rows, double code_max,
                        struct image_blocks *blocks, size_t block)
{
  uint64_t sum[3] = {0}, square = 0, ends = 0, pixels = (uint64_t)(last - first) * (uint64_t)rows;

  for (size_t at = 3 * (size_t)first; at < 3 * (size_t)last; at += 3) {
    for (size_t c = 0; c < 3; c++) {
      sum[c] += columns->sum[at + c];
    }
    square += columns->square[at + 1];
    ends += columns->ends[at];
  }
  for (size_t c = 0; c < 3; c++) {
    blocks->mean[3 * block + c] = (float)((double)sum[c] / ((double)pixels * code_max));
  }
  /* n sum(g^2) - sum(g)^2 is exact: both stay under 2^64 for 256 x 256 pixels of 16 bits. */
  uint64_t scaled_variance = pixels * square - sum[1] * sum[1];
  blocks->spread[block] = (float)(sqrt((double)scaled_variance) / ((double)pixels * code_max));
  blocks->clipped[block] = (uint8_t)((255 * ends + pixels - 1) / pixels);
}

static void close_strip(const struct columns *columns, const struct image *image, int rows, int strip,
                        struct image_blocks *blocks)
{
  for (int i = 0; i < blocks->columns; i++) {
    int first = i * blocks->size, last = first + blocks->size;
    last = last < image->width ? last : image->width;
    close_block(columns, first, last, rows, image_code_max(image), blocks,
                (size_t)strip * (size_t)blocks->columns + (size_t)i);
  }
}

/* Blocks along a side: the rest counts from half a block on. */
static int blocks_along(int pixels, int size)
{
  return pixels / size + (2 * (pixels % size) >= size ? 1 : 0);
}

static bool blocks_allocate(struct image_blocks *blocks, const struct image *image, int size)
{
  *blocks = (struct image_blocks){
      .size = size, .columns = blocks_along(image->width, size), .rows = blocks_along(image->height, size)};
  size_t count = (size_t)blocks->columns * (size_t)blocks->rows;
  blocks->mean = malloc(3 * count * sizeof *blocks->mean);
  blocks->spread = malloc(count * sizeof *blocks->spread);
  blocks->clipped = malloc(count * sizeof *blocks->clipped);
  return blocks->mean && blocks->spread && blocks->clipped;
}

bool image_blocks_make(const struct image *image, int size, struct image_blocks *blocks, struct error *error)
{
  struct columns columns = {0};

  if (!blocks_allocate(blocks, image, size) || !columns_allocate(&columns, image->width)) {
    image_blocks_clear(blocks);
    return error_no_memory(error, "the blocks of a photo");
  }
  for (int strip = 0; strip < blocks->rows; strip++) {
    int first = strip * size, last = first + size;
    last = last < image->height ? last : image->height;
    columns_zero(&columns);
    for (int y = first; y < last; y++) {
      add_image_row(&columns, image, y);
    }
    close_strip(&columns, image, last - first, strip, blocks);
  }
  free(columns.square);
  return true;
}

void image_blocks_clear(struct image_blocks *blocks)
{
  free(blocks->mean);
  free(blocks->spread);
  free(blocks->clipped);
  *blocks = (struct image_blocks){0};
}
