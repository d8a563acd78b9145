/* SPDX-License-Identifier: MIT */
/* A photograph as decoded: device codes untouched, turned upright. One decoder file a library. */
#ifndef TAWNY_IMAGE_IMAGE_H
#define TAWNY_IMAGE_IMAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "base/file.h"

/* Limits, checked before anything is allocated. 65,500 is what libjpeg takes; the product keeps memory bounded. */
enum { IMAGE_SIDE_MAX = 65500 };
#define IMAGE_PIXELS_MAX 300000000u
#define IMAGE_FILE_MAX ((size_t)1 << 30)

/* What the camera wrote about the exposure (EXIF 2.3). Missing facts are 0 or "", flags IMAGE_UNKNOWN. */
enum image_flag { IMAGE_UNKNOWN = 0, IMAGE_NO, IMAGE_YES };

struct image_exposure {
  char camera[96]; /* make and model, make not repeated                        */
  char taken[32];  /* ISO 8601 local time, "2026-05-04T11:32:05", with offset if the file has it */
  double exposure_seconds, f_number, focal_length_mm, sensitivity_iso, focal_length_35mm;
  enum image_flag flash_fired;
  enum image_flag white_balance_auto;
  enum image_flag specially_processed; /* CustomRendered: HDR, effects                     */
  enum image_flag altered_tone;        /* contrast, saturation not normal                  */
  enum image_flag digital_zoom;
};

struct image {
  int width, height; /* upright, that is with EXIF orientation applied            */
  int bits;          /* 8 or 16 a code                                             */
  void *codes;       /* owned; R G B, rows top down, no padding: uint8_t or host-order uint16_t */
  uint8_t *icc;      /* owned; embedded ICC profile or NULL                        */
  size_t icc_size;
  bool lossy; /* JPEG: codes of neighbours are not independent              */
  struct image_exposure exposure;
};

/* Decodes a JPEG or PNG held in memory; `name` is for messages. Reads strictly: what a decoder would guess is refused.
 * ERROR_FILE: neither format ("format"), truncated or damaged data ("damaged"; a JPEG has no checksums, so that some damage
 * can't be seen), other than 8 or 16 bits ("bits"), rare JPEGs ("unsupported"), a damaged profile ("bad-profile").
 * ERROR_UNMEASURABLE: grey, palette, CMYK pictures ("not-rgb"), under 16 pixels a side ("too-small"), over the limits
 * ("too-large"), not opaque everywhere ("transparent"), since transparent pixels have no colour; opaque alpha is dropped.
 * What stands behind the picture's end (second pictures, films) is passed over. */
bool image_decode(const struct file_bytes *file, const char *name, struct image *image, struct error *error);

/* Frees what the image owns and leaves it empty. Accepts an empty one. */
void image_clear(struct image *image);

/* The code of channel 0..2 at column x and row y, which must lie inside. */
static inline unsigned image_code(const struct image *image, int x, int y, int channel)
{
  size_t at = 3 * ((size_t)y * (size_t)image->width + (size_t)x) + (size_t)channel;

  return image->bits == 8 ? ((const uint8_t *)image->codes)[at] : ((const uint16_t *)image->codes)[at];
}

/* Largest code: 255 or 65535. */
static inline unsigned image_code_max(const struct image *image)
{
  return image->bits == 8 ? 255 : 65535;
}

#endif
