/* SPDX-License-Identifier: MIT */
#include "pictures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

unsigned picture_code(int x, int y, int channel)
{
  static const double along[3] = {3.1, 0.9, -2.3}, down[3] = {0.7, 3.4, 1.9}, start[3] = {40, 60, 140};

  return (unsigned)lrint(start[channel] + along[channel] * x + down[channel] * y) % 256;
}

unsigned picture_code16(int x, int y, int channel)
{
  return picture_code(x, y, channel) << 8 | (unsigned)(7 * x + 13 * y + 31 * channel) % 256;
}

static void *need(void *memory)
{
  if (!memory) {
    abort();
  }
  return memory;
}

static int or_else(int value, int usual)
{
  return value ? value : usual;
}

static void set_up_jpeg(struct jpeg_compress_struct *jpeg, const struct picture_jpeg *kind)
{
  jpeg->image_width = (JDIMENSION)or_else(kind->width, PICTURE_WIDTH);
  jpeg->image_height = (JDIMENSION)or_else(kind->height, PICTURE_HEIGHT);
  bool inks = kind->space == JCS_CMYK || kind->space == JCS_YCCK;
  jpeg->input_components = inks ? 4 : kind->space == JCS_GRAYSCALE ? 1 : 3;
  jpeg->in_color_space = inks ? JCS_CMYK : kind->space == JCS_GRAYSCALE ? JCS_GRAYSCALE : JCS_RGB;
  jpeg_set_defaults(jpeg);
  jpeg_set_colorspace(jpeg, kind->space);
  jpeg_set_quality(jpeg, or_else(kind->quality, 100), TRUE);
  jpeg->comp_info[0].h_samp_factor = or_else(kind->sampling_x, 1);
  jpeg->comp_info[0].v_samp_factor = or_else(kind->sampling_y, 1);
  jpeg->arith_code = kind->arithmetic;
  jpeg->restart_in_rows = kind->restart_rows;
  if (kind->progressive) {
    jpeg_simple_progression(jpeg);
  }
}

static void write_jpeg_rows(struct jpeg_compress_struct *jpeg)
{
  int channels = jpeg->input_components;
  uint8_t *row = need(malloc(4 * jpeg->image_width));

  for (int y = 0; y < (int)jpeg->image_height; y++) {
    for (int i = 0; i < channels * (int)jpeg->image_width; i++) {
      row[i] = (uint8_t)picture_code(i / channels, y, i % channels % 3);
    }
    JSAMPROW rows = row;
    jpeg_write_scanlines(jpeg, &rows, 1);
  }
  free(row);
}

struct file_bytes picture_make_jpeg(const struct picture_jpeg *kind)
{
  static const jpeg_scan_info separate[3] = {
      {1, {0}, 0, 63, 0, 0}, {1, {1}, 0, 63, 0, 0}, {1, {2}, 0, 63, 0, 0}};
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr library;
  unsigned char *data = NULL;
  unsigned long size = 0;

  jpeg.err = jpeg_std_error(&library); /* it ends the program */
  jpeg_create_compress(&jpeg);
  jpeg_mem_dest(&jpeg, &data, &size);
  set_up_jpeg(&jpeg, kind);
  if (kind->separate_scans) {
    jpeg.scan_info = separate;
    jpeg.num_scans = 3;
  }
  jpeg_start_compress(&jpeg, TRUE);
  if (kind->exif) {
    jpeg_write_marker(&jpeg, JPEG_APP0 + 1, kind->exif, (unsigned)kind->exif_size);
  }
  if (kind->icc) {
    jpeg_write_icc_profile(&jpeg, kind->icc, (unsigned)kind->icc_size);
  }
  write_jpeg_rows(&jpeg);
  jpeg_finish_compress(&jpeg);
  jpeg_destroy_compress(&jpeg);
  return (struct file_bytes){data, size};
}

static void grow(png_structp png, png_bytep bytes, size_t count)
{
  struct file_bytes *file = png_get_io_ptr(png);

  file->data = need(realloc(file->data, file->size + count));
  memcpy(file->data + file->size, bytes, count);
  file->size += count;
}

static void flush_nothing(png_structp png)
{
  (void)png;
}

static void set_up_png(png_structp png, png_infop info, const struct picture_png *kind)
{
  png_color palette[2] = {{10, 20, 30}, {200, 190, 180}};
  png_color_16 key = {0};

  png_set_IHDR(png, info, (png_uint_32)or_else(kind->width, PICTURE_WIDTH),
               (png_uint_32)or_else(kind->height, PICTURE_HEIGHT), or_else(kind->bits, 8), kind->colours,
               kind->interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  if (kind->colours == PNG_COLOR_TYPE_PALETTE) {
    png_set_PLTE(png, info, palette, 2);
  }
  if (kind->key_used || kind->key_unused) {
    bool deep = kind->bits == 16;
    key.red = (png_uint_16)(deep ? picture_code16(5, 7, 0) : picture_code(5, 7, 0));
    key.green = (png_uint_16)(deep ? picture_code16(5, 7, 1) : picture_code(5, 7, 1));
    key.blue = (png_uint_16)(kind->key_used ? deep ? picture_code16(5, 7, 2) : picture_code(5, 7, 2) : 1);
    png_set_tRNS(png, info, NULL, 0, &key);
  }
  if (kind->exif) {
    png_set_eXIf_1(png, info, (png_uint_32)kind->exif_size, (png_bytep)(uintptr_t)kind->exif);
  }
  if (kind->icc) {
    png_set_iCCP(png, info, "icc", PNG_COMPRESSION_TYPE_BASE, kind->icc, (png_uint_32)kind->icc_size);
  }
}

/* Sample `channel` of pixel (x, y) as the kind of picture has it. */
static unsigned png_sample(const struct picture_png *kind, int x, int y, int channel, int channels)
{
  if (kind->colours == PNG_COLOR_TYPE_PALETTE) {
    return (unsigned)(x + y) % 2;
  }
  if (channel == 3 || (channels == 2 && channel == 1)) {
    return x == PICTURE_WIDTH / 2 && y == PICTURE_HEIGHT / 2 ? kind->opacity : kind->bits == 16 ? 65535 : 255;
  }
  return kind->bits == 16 ? picture_code16(x, y, channel) : picture_code(x, y, channel);
}

/* Fills a row of 1 to 16 bits a sample, most significant bit first. */
static void fill_png_row(const struct picture_png *kind, int y, int width, int channels, uint8_t *row)
{
  int bits = or_else(kind->bits, 8);

  memset(row, 0, (size_t)width * (size_t)channels * 2);
  for (int i = 0; i < width * channels; i++) {
    unsigned sample = png_sample(kind, i / channels, y, i % channels, channels);
    if (bits == 16) {
      row[2 * i] = (uint8_t)(sample >> 8);
      row[2 * i + 1] = (uint8_t)sample;
    } else {
      unsigned low = kind->colours == PNG_COLOR_TYPE_PALETTE ? sample : sample >> (8 - bits);
      row[i * bits / 8] |= (uint8_t)(low << (8 - bits - i * bits % 8));
    }
  }
}

struct file_bytes picture_make_png(const struct picture_png *kind)
{
  struct file_bytes file = {0};
  png_structp png = need(png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL));
  png_infop info = need(png_create_info_struct(png));

  png_set_option(png, PNG_SKIP_sRGB_CHECK_PROFILE, PNG_OPTION_ON);
  png_set_write_fn(png, &file, grow, flush_nothing);
  set_up_png(png, info, kind);
  png_write_info(png, info);
  int width = (int)png_get_image_width(png, info), height = (int)png_get_image_height(png, info);
  int passes = png_set_interlace_handling(png), channels = png_get_channels(png, info);
  uint8_t *row = need(malloc((size_t)width * (size_t)channels * 2));
  for (int pass = 0; pass < passes; pass++) {
    for (int y = 0; y < height; y++) {
      fill_png_row(kind, y, width, channels, row);
      png_write_row(png, row);
    }
  }
  png_write_end(png, info);
  png_destroy_write_struct(&png, &info);
  free(row);
  return file;
}

struct file_bytes picture_png_header(unsigned width, unsigned height)
{
  struct file_bytes file = {0};
  png_structp png = need(png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL));
  png_infop info = need(png_create_info_struct(png));

  png_set_write_fn(png, &file, grow, flush_nothing);
  png_set_IHDR(png, info, width, height, 8, PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  png_write_info(png, info);
  png_write_chunk(png, (png_const_bytep) "IDAT", (png_const_bytep) "x", 1);
  png_destroy_write_struct(&png, &info);
  return file;
}

static void put_long(uint8_t *at, uint32_t value)
{
  for (int i = 0; i < 4; i++) {
    at[i] = (uint8_t)(value >> (24 - 8 * i));
  }
}

/* PNG specification, annex on the CRC (ISO 3309). */
static uint32_t checksum(const uint8_t *data, size_t size)
{
  uint32_t crc = 0xffffffffu;

  for (size_t i = 0; i < size; i++) {
    crc ^= data[i];
    for (int bit = 0; bit < 8; bit++) {
      crc = crc & 1 ? crc >> 1 ^ 0xedb88320u : crc >> 1;
    }
  }
  return ~crc;
}

void picture_png_insert(struct file_bytes *file, const char *name, const void *data, size_t size)
{
  enum { HEADER_END = 8 + 12 + 13, FRAME = 12 };

  file->data = need(realloc(file->data, file->size + FRAME + size));
  uint8_t *chunk = file->data + HEADER_END;
  memmove(chunk + FRAME + size, chunk, file->size - HEADER_END);
  put_long(chunk, (uint32_t)size);
  memcpy(chunk + 4, name, 4);
  memcpy(chunk + 8, data, size);
  put_long(chunk + 8 + size, checksum(chunk + 4, 4 + size));
  file->size += FRAME + size;
}

void picture_exif(int orientation, uint8_t exif[PICTURE_EXIF_SIZE])
{
  /* mark; big endian, directory at 8; one entry: tag 0x0112, SHORT, count 1, value; no next directory */
  static const uint8_t frame[PICTURE_EXIF_SIZE] = {'E', 'x', 'i', 'f', 0, 0, 'M',  'M', 0, 42, 0,
                                                   0,   0,   8,   0,   1, 1, 0x12, 0,   3, 0,  0,
                                                   0,   1,   0,   0,   0, 0, 0,    0,   0, 0};

  memcpy(exif, frame, sizeof frame);
  exif[25] = (uint8_t)orientation;
}

struct image picture_image(int width, int height, int bits)
{
  struct image image = {.width = width, .height = height, .bits = bits};

  image.codes = need(malloc(3 * (size_t)width * (size_t)height * (size_t)(bits / 8)));
  for (int i = 0; i < 3 * width * height; i++) {
    int x = i / 3 % width, y = i / 3 / width;
    if (bits == 8) {
      ((uint8_t *)image.codes)[i] = (uint8_t)picture_code(x, y, i % 3);
    } else {
      ((uint16_t *)image.codes)[i] = (uint16_t)picture_code16(x, y, i % 3);
    }
  }
  return image;
}
