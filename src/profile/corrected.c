/* SPDX-License-Identifier: MIT */
#include "profile/corrected.h"

#include <math.h>
#include <stdlib.h>

#include "profile/icc.h"

/* Steps of linear light in the table back to codes: 20 to the smallest 8-bit step of sRGB. */
enum { LEVELS = 65536 };

/* Where each channel's light goes: codes in to levels of linear light, levels to codes out. */
struct tables {
  float *level[3];  /* owned in level[0]; by code, may be below 0      */
  uint8_t *code[3]; /* owned in code[0]; by level                      */
};

/* Inverse gains at the corners of squares of PROFILE_GAIN_STEP pixels. */
struct grid {
  int columns, rows;
  float *inverse; /* owned; R G B a corner, row after row */
};

static bool make_tables(const struct image *image, const struct profile *profile, struct tables *tables)
{
  size_t codes = (size_t)image_code_max(image) + 1;

  tables->level[0] = malloc(3 * codes * sizeof *tables->level[0]);
  tables->code[0] = malloc((size_t)3 * LEVELS);
  for (size_t c = 0; c < 3 && tables->level[0] && tables->code[0]; c++) {
    const struct encoding *encoding = &profile->encoding;
    double top = profile_tone(profile, encoding_linear(encoding, (int)c, 1)) / (LEVELS - 1);
    tables->level[c] = tables->level[0] + c * codes;
    tables->code[c] = tables->code[0] + c * LEVELS;
    for (size_t i = 0; i < codes; i++) {
      double nominal = encoding_linear(encoding, (int)c, (double)i / (double)(codes - 1));
      tables->level[c][i] = (float)(profile_tone(profile, nominal) / top);
    }
    for (int i = 0; i < LEVELS; i++) {
      double code = encoding_code(encoding, (int)c, profile_tone_inverse(profile, i * top));
      tables->code[c][i] = (uint8_t)(255 * fmin(fmax(code, 0), 1) + 0.5);
    }
  }
  return tables->level[0] && tables->code[0];
}

static bool make_grid(const struct image *image, profile_gain gain, const void *context, struct grid *grid)
{
  grid->columns = (image->width - 1) / PROFILE_GAIN_STEP + 2;
  grid->rows = (image->height - 1) / PROFILE_GAIN_STEP + 2;
  grid->inverse = malloc((size_t)grid->columns * (size_t)grid->rows * 3 * sizeof *grid->inverse);
  float *at = grid->inverse;
  for (int y = 0; y < grid->rows && at; y++) {
    for (int x = 0; x < grid->columns; x++) {
      struct vec3 g = gain(context, (struct point){x * PROFILE_GAIN_STEP, y * PROFILE_GAIN_STEP});
      for (int c = 0; c < 3; c++) {
        *at++ = (float)(1 / fmax(g.v[c], 1e-3));
      }
    }
  }
  return grid->inverse != NULL;
}

/* Inverse gains of one row of pixels' middles, at the grid's columns. */
static void blend_rows(const struct grid *grid, int y, float *row)
{
  float place = ((float)y + 0.5f) / PROFILE_GAIN_STEP;
  size_t values = 3 * (size_t)grid->columns;
  const float *above = grid->inverse + (size_t)place * values, *below = above + values;
  float share = place - floorf(place);

  for (size_t i = 0; i < values; i++) {
    row[i] = above[i] + share * (below[i] - above[i]);
  }
}

static uint8_t even_code(const struct tables *tables, int channel, unsigned code, float inverse)
{
  float level = tables->level[channel][code] * inverse;

  level = level < 0 ? 0 : level > LEVELS - 1 ? LEVELS - 1 : level;
  return tables->code[channel][(int)(level + 0.5f)];
}

static void even_row(const struct image *image, const struct tables *tables, const float *row, int y,
                     uint8_t *out)
{
  for (int x = 0; x < image->width; x++) {
    const float *left = row + (size_t)3 * (size_t)(x / PROFILE_GAIN_STEP);
    float share = ((float)(x % PROFILE_GAIN_STEP) + 0.5f) / PROFILE_GAIN_STEP;
    for (int c = 0; c < 3; c++) {
      float inverse = left[c] + share * (left[c + 3] - left[c]);
      *out++ = even_code(tables, c, image_code(image, x, y, c), inverse);
    }
  }
}

static bool even_rows(const struct image *image, const struct tables *tables, const struct grid *grid,
                      uint8_t *out)
{
  float *row = malloc((size_t)grid->columns * 3 * sizeof *row);

  for (int y = 0; y < image->height && row; y++) {
    blend_rows(grid, y, row);
    even_row(image, tables, row, y, out + (size_t)y * (size_t)image->width * 3);
  }
  bool done = row != NULL;
  free(row);
  return done;
}

bool profile_even_image(const struct image *image, const struct profile *profile, profile_gain gain,
                        const void *context, const char *description, struct image *evened,
                        struct error *error)
{
  struct tables tables = {0};
  struct grid grid = {0};
  struct file_bytes icc;

  *evened = (struct image){0};
  if (!profile_icc(profile, description, &icc, error)) {
    return false;
  }
  *evened = (struct image){.width = image->width,
                           .height = image->height,
                           .bits = 8,
                           .codes = malloc((size_t)image->width * (size_t)image->height * 3),
                           .icc = icc.data,
                           .icc_size = icc.size,
                           .lossy = image->lossy,
                           .exposure = image->exposure};
  bool done = evened->codes && make_tables(image, profile, &tables) &&
              make_grid(image, gain, context, &grid) && even_rows(image, &tables, &grid, evened->codes);
  free(tables.level[0]);
  free(tables.code[0]);
  free(grid.inverse);
  if (!done) {
    image_clear(evened);
    error_no_memory(error, "the corrected picture");
  }
  return done;
}
