/* SPDX-License-Identifier: MIT */
/* How much the image floor costs over the plain library, all in one run: decoding a photo of 24 million pixels upright
 * and lying on its side, and cutting it into blocks. Times are the least of several rounds. */
#include <stdlib.h>
#include <time.h>

#include "image/blocks.h"
#include "pictures.h"

enum { WIDTH = 6000, HEIGHT = 4000, ROUNDS = 7 };

static double now(void)
{
  struct timespec moment;

  clock_gettime(CLOCK_MONOTONIC, &moment);
  return (double)moment.tv_sec + 1e-9 * (double)moment.tv_nsec;
}

static void need(bool done)
{
  if (!done) {
    fprintf(stderr, "the benchmark can't go on\n");
    exit(1);
  }
}

/* Rows straight into memory for all of the picture, nothing else. */
static void decode_plainly(const struct file_bytes *file)
{
  struct jpeg_decompress_struct jpeg;
  struct jpeg_error_mgr library;

  jpeg.err = jpeg_std_error(&library);
  jpeg_create_decompress(&jpeg);
  jpeg_mem_src(&jpeg, file->data, file->size);
  jpeg_read_header(&jpeg, TRUE);
  jpeg_start_decompress(&jpeg);
  size_t row_bytes = 3 * (size_t)jpeg.output_width;
  uint8_t *codes = malloc(row_bytes * jpeg.output_height);
  need(codes != NULL);
  while (jpeg.output_scanline < jpeg.output_height) {
    JSAMPROW row = codes + row_bytes * jpeg.output_scanline;
    jpeg_read_scanlines(&jpeg, &row, 1);
  }
  jpeg_finish_decompress(&jpeg);
  jpeg_destroy_decompress(&jpeg);
  free(codes);
}

static void decode_ours(const struct file_bytes *file, struct image *image)
{
  struct error error;

  need(image_decode(file, "bench", image, &error));
}

struct times {
  double plain, upright, turned, blocks;
};

static double least(double a, double b)
{
  return a > 0 && a < b ? a : b;
}

static void run_round(const struct file_bytes *upright, const struct file_bytes *turned, struct times *times)
{
  struct image image, other;
  struct image_blocks blocks;
  struct error error;
  double start = now();

  decode_plainly(upright);
  times->plain = least(times->plain, now() - start);
  start = now();
  decode_ours(upright, &image);
  times->upright = least(times->upright, now() - start);
  start = now();
  need(image_blocks_make(&image, 8, &blocks, &error));
  times->blocks = least(times->blocks, now() - start);
  image_blocks_clear(&blocks);
  image_clear(&image); /* before the next, so that both take fresh memory */
  start = now();
  decode_ours(turned, &other);
  times->turned = least(times->turned, now() - start);
  image_clear(&other);
}

int main(void)
{
  uint8_t exif[PICTURE_EXIF_SIZE];
  struct picture_jpeg kind = {
      .space = JCS_YCbCr, .quality = 90, .width = WIDTH, .height = HEIGHT, .sampling_x = 2, .sampling_y = 2};
  struct file_bytes upright = picture_make_jpeg(&kind);
  struct times times = {0};

  picture_exif(6, exif);
  kind.exif = exif;
  kind.exif_size = sizeof exif;
  struct file_bytes turned = picture_make_jpeg(&kind);
  for (int round = 0; round < ROUNDS; round++) {
    run_round(&upright, &turned, &times);
  }
  printf("%d x %d, %.1f MB\n", WIDTH, HEIGHT, (double)upright.size / 1e6);
  printf("plain library             %6.1f ms\n", 1e3 * times.plain);
  printf("image_decode              %6.1f ms, %.2f of plain\n", 1e3 * times.upright,
         times.upright / times.plain);
  printf("image_decode, turned      %6.1f ms, %.2f of plain\n", 1e3 * times.turned,
         times.turned / times.plain);
  printf("image_blocks_make, 8 x 8  %6.1f ms, %.2f of image_decode\n", 1e3 * times.blocks,
         times.blocks / times.upright);
  file_bytes_clear(&upright);
  file_bytes_clear(&turned);
  return 0;
}
