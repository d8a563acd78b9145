/* SPDX-License-Identifier: MIT */
/* Pictures as files, by libjpeg and libpng. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <png.h>

#include "exif.h"
#include "render.h"

/* Where a stored pixel is seen, by EXIF orientation; w, h of the picture as stored. */
static void seen_at(int orientation, int x, int y, int w, int h, int *seen_x, int *seen_y)
{
  bool right_to_left = orientation == 2 || orientation == 3 || orientation == 7 || orientation == 8;
  bool bottom_up = orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7;
  int across = right_to_left ? w - 1 - x : x, down = bottom_up ? h - 1 - y : y;

  *seen_x = orientation >= 5 ? down : across;
  *seen_y = orientation >= 5 ? across : down;
}

/* A copy that a reader who applies the orientation sees as `picture`. */
static bool turned(const struct picture *picture, int orientation, struct picture *stored,
                   struct error *error)
{
  int w = orientation >= 5 ? picture->height : picture->width,
      h = orientation >= 5 ? picture->width : picture->height;

  *stored = (struct picture){w, h, malloc(3 * (size_t)w * (size_t)h)};
  if (!stored->rgb) {
    return error_no_memory(error, "the picture");
  }
  for (int y = 0; y < h; y++) {
    for (int x = 0; x < w; x++) {
      int from_x, from_y;
      seen_at(orientation, x, y, w, h, &from_x, &from_y);
      memcpy(stored->rgb + 3 * ((size_t)y * (size_t)w + (size_t)x),
             picture->rgb + 3 * ((size_t)from_y * (size_t)picture->width + (size_t)from_x), 3);
    }
  }
  return true;
}

static void start_jpeg(j_compress_ptr jpeg, const struct picture *picture, const struct scene_file *how)
{
  uint8_t block[EXIF_BYTES_MAX];

  jpeg->image_width = (JDIMENSION)picture->width;
  jpeg->image_height = (JDIMENSION)picture->height;
  jpeg->input_components = 3;
  jpeg->in_color_space = JCS_RGB;
  jpeg_set_defaults(jpeg);
  jpeg_set_quality(jpeg, how->jpeg_quality, TRUE);
  jpeg->dct_method = JDCT_ISLOW;
  jpeg_start_compress(jpeg, TRUE);
  if (how->exif) {
    jpeg_write_marker(jpeg, JPEG_APP0 + 1, block, (unsigned)exif_block(how, block));
  }
}

/* libjpeg's own error handler ends the program, which is right for a tool that only tests use. */
static bool as_jpeg(const struct picture *picture, const struct scene_file *how, struct file_bytes *file)
{
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr fatal;
  unsigned char *data = NULL;
  unsigned long size = 0;

  jpeg.err = jpeg_std_error(&fatal);
  jpeg_create_compress(&jpeg);
  jpeg_mem_dest(&jpeg, &data, &size);
  start_jpeg(&jpeg, picture, how);
  while (jpeg.next_scanline < jpeg.image_height) {
    JSAMPROW row = picture->rgb + 3 * (size_t)jpeg.next_scanline * (size_t)picture->width;
    jpeg_write_scanlines(&jpeg, &row, 1);
  }
  jpeg_finish_compress(&jpeg);
  jpeg_destroy_compress(&jpeg);
  *file = (struct file_bytes){data, size};
  return true;
}

static bool as_png(const struct picture *picture, struct file_bytes *file, struct error *error)
{
  png_image png = {.version = PNG_IMAGE_VERSION, .format = PNG_FORMAT_RGB, .flags = PNG_IMAGE_FLAG_FAST};
  png_alloc_size_t size = 0;

  png.width = (png_uint_32)picture->width;
  png.height = (png_uint_32)picture->height;
  if (!png_image_write_get_memory_size(png, size, 0, picture->rgb, 0, NULL)) {
    return error_set(error, ERROR_INTERNAL, "png", "%s", png.message);
  }
  *file = (struct file_bytes){malloc(size), size};
  if (!file->data || !png_image_write_to_memory(&png, file->data, &size, 0, picture->rgb, 0, NULL)) {
    file_bytes_clear(file);
    return error_set(error, ERROR_INTERNAL, "png", "%s", png.message);
  }
  return true;
}

bool picture_file(const struct picture *picture, const struct scene_file *how, struct file_bytes *file,
                  struct error *error)
{
  struct picture stored;

  if (!turned(picture, how->jpeg_quality && how->exif ? how->orientation : 1, &stored, error)) {
    return false;
  }
  bool done = how->jpeg_quality ? as_jpeg(&stored, how, file) : as_png(&stored, file, error);
  picture_clear(&stored);
  return done;
}
