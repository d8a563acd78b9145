/* SPDX-License-Identifier: MIT */
#include "image/image.h"

#include <stdlib.h>
#include <string.h>

#include "image/decoders.h"

enum { SIDE_MIN = 16 };

/* Files that people take for photographs, known by their first bytes, so that the refusal can name them. */
static const struct {
  const char *format;
  size_t at, length;
  const char *bytes;
} other_formats[] = {
    {"a HEIF (HEIC, AVIF) picture", 4, 4, "ftyp"},
    {"a TIFF or raw picture", 0, 4, "II*\0"},
    {"a TIFF or raw picture", 0, 4, "MM\0*"},
    {"a WebP picture", 8, 4, "WEBP"},
    {"a GIF picture", 0, 4, "GIF8"},
    {"a BMP picture", 0, 2, "BM"},
    {"a PDF document", 0, 5, "%PDF-"},
};

static bool starts_with(const struct file_bytes *file, size_t at, const char *bytes, size_t length)
{
  return file->size >= at + length && memcmp(file->data + at, bytes, length) == 0;
}

static bool refuse_format(const struct file_bytes *file, const char *name, struct error *error)
{
  const char *format = "no picture that is known here";

  for (size_t i = 0; i < sizeof other_formats / sizeof *other_formats; i++) {
    if (starts_with(file, other_formats[i].at, other_formats[i].bytes, other_formats[i].length)) {
      format = other_formats[i].format;
      break;
    }
  }
  return error_set(error, ERROR_FILE, "format", "%s is %s; give a JPEG or PNG file", name, format);
}

bool image_decode(const struct file_bytes *file, const char *name, struct image *image, struct error *error)
{
  bool done;

  *image = (struct image){0};
  if (starts_with(file, 0, "\xff\xd8\xff", 3)) {
    done = image_decode_jpeg(file, name, image, error);
  } else if (starts_with(file, 0, "\x89PNG\r\n\x1a\n", 8)) {
    done = image_decode_png(file, name, image, error);
  } else {
    done = refuse_format(file, name, error);
  }
  if (!done) {
    image_clear(image);
  }
  return done;
}

void image_clear(struct image *image)
{
  free(image->codes);
  free(image->icc);
  *image = (struct image){0};
}

bool image_check_size(unsigned long width, unsigned long height, const char *name, struct error *error)
{
  if (width < SIDE_MIN || height < SIDE_MIN) {
    return error_set(error, ERROR_UNMEASURABLE, "too-small",
                     "%s has only %lu x %lu pixels; give the photo itself, not a thumbnail", name, width,
                     height);
  }
  if (width > IMAGE_SIDE_MAX || height > IMAGE_SIDE_MAX) {
    return error_set(error, ERROR_UNMEASURABLE, "too-large",
                     "%s claims %lu x %lu pixels, over the limit of %d a side; make it smaller or cut it",
                     name, width, height, IMAGE_SIDE_MAX);
  }
  if (width > IMAGE_PIXELS_MAX / height) {
    return error_set(error, ERROR_UNMEASURABLE, "too-large",
                     "%s claims %lu x %lu pixels, over the limit of %u million; make it smaller or cut it",
                     name, width, height, IMAGE_PIXELS_MAX / 1000000);
  }
  return true;
}

bool image_damaged(const char *name, const char *library_words, struct error *error)
{
  return error_set(error, ERROR_FILE, "damaged", "%s is damaged (%s); copy it from the camera again", name,
                   library_words);
}

bool image_not_rgb(const char *name, const char *what, struct error *error)
{
  return error_set(error, ERROR_UNMEASURABLE, "not-rgb",
                   "%s is %s, not in red, green and blue; give the camera's own colour photo", name, what);
}

bool image_keep_icc(struct image *image, const uint8_t *icc, size_t size, struct error *error)
{
  image->icc = malloc(size);
  if (!image->icc) {
    return error_no_memory(error, "a colour profile");
  }
  memcpy(image->icc, icc, size);
  image->icc_size = size;
  return true;
}
