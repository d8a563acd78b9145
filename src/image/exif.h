/* SPDX-License-Identifier: MIT */
/* What the camera wrote into the file, by libexif; for the floor's own files. */
#ifndef TAWNY_IMAGE_EXIF_H
#define TAWNY_IMAGE_EXIF_H

#include "image/image.h"

/* The six bytes before the TIFF structure in a JPEG's APP1 segment. */
#define EXIF_MARK "Exif\0\0"
enum { EXIF_MARK_SIZE = 6 };

/* Reads the exposure facts out of `bytes`, which begins with EXIF_MARK, and returns the orientation 1 to 8. What is
 * missing or makes no sense stays unknown, orientation 1: EXIF never decides whether a picture can be read. */
int exif_read(const uint8_t *bytes, size_t size, struct image_exposure *exposure);

#endif
