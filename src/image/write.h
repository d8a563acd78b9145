/* SPDX-License-Identifier: MIT */
/* Pictures out: overlays and corrected photographs. */
#ifndef TAWNY_IMAGE_WRITE_H
#define TAWNY_IMAGE_WRITE_H

#include "image/image.h"

/* Encodes the image as PNG or JPEG (quality 95, no chroma subsampling) by the ending of `path` (.png, .jpg, .jpeg; else
 * ERROR_USAGE "ending") with its ICC profile embedded, and writes it whole or not at all. PNG keeps 16 bits, JPEG has 8.
 * ERROR_FILE "unwritable", or "encoder" where the format can't hold the profile. */
bool image_write(const struct image *image, const char *path, struct error *error);

#endif
