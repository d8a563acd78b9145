/* SPDX-License-Identifier: MIT */
/* What the decoders of this floor share; for the floor's own files. */
#ifndef TAWNY_IMAGE_DECODERS_H
#define TAWNY_IMAGE_DECODERS_H

#include "image/image.h"

/* One decoder a library; the same promise as image_decode() but that a failed one may leave *image half filled for
 * the caller to clear. The library's longjmp ends inside. */
bool image_decode_jpeg(const struct file_bytes *file, const char *name, struct image *image,
                       struct error *error);
bool image_decode_png(const struct file_bytes *file, const char *name, struct image *image,
                      struct error *error);

/* Refuses a size outside the limits; to be called before anything is allocated for pixels. */
bool image_check_size(unsigned long width, unsigned long height, const char *name, struct error *error);

/* The refusal of data that a library calls broken, in the library's words. */
bool image_damaged(const char *name, const char *library_words, struct error *error);

/* The refusal of a picture that is not made of red, green and blue: `what` it is instead. */
bool image_not_rgb(const char *name, const char *what, struct error *error);

/* Keeps a copy of the ICC profile with the image. */
bool image_keep_icc(struct image *image, const uint8_t *icc, size_t size, struct error *error);

#endif
