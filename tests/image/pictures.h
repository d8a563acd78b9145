/* SPDX-License-Identifier: MIT */
/* Picture files of every kind for the tests, made in memory with the plain libraries. What they show is known: see
 * picture_code(). A failure of the library ends the test program. */
#ifndef TAWNY_TESTS_PICTURES_H
#define TAWNY_TESTS_PICTURES_H

#include <stdio.h> /* jpeglib.h needs it first */

#include <jpeglib.h>
#include <png.h>

#include "base/file.h"
#include "image/image.h"

enum { PICTURE_WIDTH = 48, PICTURE_HEIGHT = 40 };

/* The code 0..255 of channel 0..2 at (x, y): smooth at the usual size, so that it lives through a
 * JPEG, and not symmetric under any turn. */
unsigned picture_code(int x, int y, int channel);

/* The same in 16 bits, with low bytes of their own. */
unsigned picture_code16(int x, int y, int channel);

struct picture_jpeg {
  J_COLOR_SPACE space;        /* JCS_YCbCr, JCS_RGB, JCS_GRAYSCALE, JCS_CMYK, JCS_YCCK        */
  int quality;                /* 0: 100                                                       */
  int sampling_x, sampling_y; /* of the first component; 0: 1                          */
  bool progressive, arithmetic, separate_scans;
  int restart_rows;
  int width, height; /* 0: PICTURE_WIDTH, PICTURE_HEIGHT                               */
  const void *exif;  /* APP1 with its mark, or NULL                                    */
  size_t exif_size;
  const void *icc;
  size_t icc_size;
};

struct file_bytes picture_make_jpeg(const struct picture_jpeg *kind);

struct picture_png {
  int colours; /* PNG_COLOR_TYPE_...; 0 is grey                                    */
  int bits;    /* 0: 8                                                             */
  bool interlaced;
  unsigned opacity;          /* of the pixel in the middle where there is alpha; others are opaque */
  bool key_used, key_unused; /* tRNS naming a colour that is, or isn't, in the picture */
  int width, height;
  const void *exif; /* the TIFF structure, or NULL                                     */
  size_t exif_size;
  const void *icc;
  size_t icc_size;
};

struct file_bytes picture_make_png(const struct picture_png *kind);

/* A PNG that ends behind a header claiming that size: RGB, 8 bits. */
struct file_bytes picture_png_header(unsigned width, unsigned height);

/* Puts a chunk with a right checksum behind the header of a PNG. */
void picture_png_insert(struct file_bytes *file, const char *name, const void *data, size_t size);

/* An Exif segment (mark and TIFF structure) that holds the orientation alone. */
enum { PICTURE_EXIF_SIZE = 6 + 8 + 2 + 12 + 4 };
void picture_exif(int orientation, uint8_t exif[PICTURE_EXIF_SIZE]);

/* An image as decoded, filled by picture_code() or picture_code16(). */
struct image picture_image(int width, int height, int bits);

#endif
