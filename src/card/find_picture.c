/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "card/find_parts.h"

/* Share of the photo's white below which steps count by difference rather than by ratio. */
#define TOE 0.15

/* Code that one block in a hundred exceeds: the photo's white, however dark it was rendered. */
static double white_code(const struct image_blocks *blocks)
{
  size_t histogram[256] = {0}, count = (size_t)blocks->columns * (size_t)blocks->rows, above = 0;
  int bin = 255;

  for (size_t i = 0; i < count; i++) {
    const float *mean = blocks->mean + 3 * i;
    float top = fmaxf(mean[0], fmaxf(mean[1], mean[2]));

    histogram[(int)(fminf(fmaxf(top, 0.0f), 1.0f) * 255.0f)]++;
  }
  while (bin > 8 && (above += histogram[bin]) * 100 <= count)
    bin--;
  return (bin + 1) / 256.0;
}

void find_tone_make(const struct image_blocks *blocks, struct find_tone *tone)
{
  double white = white_code(blocks), scale = log1p(1.0 / TOE);

  for (int i = 0; i <= FIND_TABLE; i++) {
    double level = log1p((double)i / FIND_TABLE / white / TOE) / scale;

    tone->byte[i] = (uint8_t)lround(255.0 * fmin(level, 1.0));
  }
  for (int i = 0; i < 256; i++)
    tone->code[i] = white * TOE * expm1(i / 255.0 * scale);
}

/* Sum of a row of blocks, `times` blocks a picture pixel. */
static void add_blocks(const struct image_blocks *blocks, int row, int times,
                       const struct find_picture *picture, float *sum)
{
  size_t left = (size_t)picture->left / (size_t)blocks->size;
  const float *mean = blocks->mean + 3 * ((size_t)row * (size_t)blocks->columns + left);

  for (int x = 0; x < picture->width; x++, sum += 3)
    for (int i = 0; i < times; i++, mean += 3) {
      sum[0] += mean[0];
      sum[1] += mean[1];
      sum[2] += mean[2];
    }
}

static void fill_from_blocks(const struct image_blocks *blocks, const struct find_tone *tone,
                             struct find_picture *picture, float *sum)
{
  int times = picture->step / blocks->size, top = picture->top / blocks->size;
  float share = (float)FIND_TABLE / (float)(times * times);

  for (int y = 0; y < picture->height; y++) {
    uint8_t *byte = picture->byte + 3 * (size_t)y * (size_t)picture->width;

    memset(sum, 0, 3 * (size_t)picture->width * sizeof *sum);
    for (int i = 0; i < times; i++)
      add_blocks(blocks, top + y * times + i, times, picture, sum);
    for (int i = 0; i < 3 * picture->width; i++)
      byte[i] = tone->byte[(int)fminf(sum[i] * share, FIND_TABLE)];
  }
}

static void add_row8(const uint8_t *code, int step, int width, uint32_t *sum)
{
  for (int x = 0; x < width; x++, sum += 3)
    for (int i = 0; i < step; i++, code += 3) {
      sum[0] += code[0];
      sum[1] += code[1];
      sum[2] += code[2];
    }
}

static void add_row16(const uint16_t *code, int step, int width, uint32_t *sum)
{
  for (int x = 0; x < width; x++, sum += 3)
    for (int i = 0; i < step; i++, code += 3) {
      sum[0] += code[0] >> 8;
      sum[1] += code[1] >> 8;
      sum[2] += code[2] >> 8;
    }
}

static void fill_from_photo(const struct image *image, const struct find_tone *tone, int step,
                            struct find_picture *picture, uint32_t *sum)
{
  double share = (double)FIND_TABLE / (255.0 * step * step);
  size_t row_bytes = 3 * (size_t)image->width, left = 3 * (size_t)picture->left;

  for (int y = 0; y < picture->height; y++) {
    uint8_t *byte = picture->byte + 3 * (size_t)y * (size_t)picture->width;

    memset(sum, 0, 3 * (size_t)picture->width * sizeof *sum);
    for (int i = 0; i < step; i++) {
      size_t at = (size_t)(picture->top + y * step + i) * row_bytes + left;

      if (image->bits == 8)
        add_row8((const uint8_t *)image->codes + at, step, picture->width, sum);
      else
        add_row16((const uint16_t *)image->codes + at, step, picture->width, sum);
    }
    for (int i = 0; i < 3 * picture->width; i++)
      byte[i] = tone->byte[(int)(sum[i] * share)];
  }
}

bool find_picture_make(const struct image *image, const struct image_blocks *blocks,
                       const struct find_tone *tone, struct find_window window, int step,
                       struct find_picture *picture, struct error *error)
{
  uint32_t *sum = NULL;
  float *mean = NULL;
  bool done = false;

  *picture = (struct find_picture){.width = window.width / step,
                                   .height = window.height / step,
                                   .step = step,
                                   .left = window.left / step * step,
                                   .top = window.top / step * step};
  picture->byte = malloc(3 * (size_t)picture->width * (size_t)picture->height + 1);
  sum = malloc((3 * (size_t)picture->width + 1) * sizeof *sum);
  mean = malloc((3 * (size_t)picture->width + 1) * sizeof *mean);
  if (picture->byte == NULL || sum == NULL || mean == NULL) {
    error_no_memory(error, "the search for the card");
    goto out;
  }
  if (step % blocks->size == 0)
    fill_from_blocks(blocks, tone, picture, mean);
  else
    fill_from_photo(image, tone, step, picture, sum);
  done = true;
out:
  free(sum);
  free(mean);
  if (!done)
    find_picture_clear(picture);
  return done;
}

void find_picture_clear(struct find_picture *picture)
{
  free(picture->byte);
  *picture = (struct find_picture){0};
}
