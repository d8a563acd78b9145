/* SPDX-License-Identifier: MIT */
/* Any bytes as a photo: decode, read its profile, cut it into blocks. Pictures of many pixels are left to their limits'
 * tests, since they only make the search slow. */
#include <stdlib.h>

#include "fuzz.h"
#include "image/blocks.h"
#include "image/encoding.h"

enum { PIXELS_MAX = 4000000 };

static unsigned big_endian(const uint8_t *bytes, int count)
{
  unsigned value = 0;

  for (int i = 0; i < count; i++) {
    value = value << 8 | bytes[i];
  }
  return value;
}

/* The largest size that any frame header of the file claims. */
static bool claims_many_pixels(const uint8_t *data, size_t size)
{
  for (size_t i = 0; i + 9 < size; i++) {
    bool frame = data[i] == 0xff && data[i + 1] >= 0xc0 && data[i + 1] <= 0xcf;
    if (frame && (double)big_endian(data + i + 5, 2) * big_endian(data + i + 7, 2) > PIXELS_MAX) {
      return true;
    }
  }
  return size > 24 && data[0] == 0x89 &&
         (double)big_endian(data + 16, 4) * big_endian(data + 20, 4) > PIXELS_MAX;
}

static void use(const struct image *image)
{
  struct image_blocks blocks;
  struct encoding encoding;
  struct error error = {0};

  if (encoding_of_image(image, "fuzz", &encoding, &error) && !(encoding_code(&encoding, 0, 0.5) <= 1)) {
    abort();
  }
  if (image_blocks_make(image, 8, &blocks, &error)) {
    image_blocks_clear(&blocks);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct file_bytes file = {(uint8_t *)(uintptr_t)data, size};
  struct image image;
  struct error error = {0};

  if (claims_many_pixels(data, size)) {
    return 0;
  }
  if (image_decode(&file, "fuzz", &image, &error)) {
    use(&image);
  } else if (error.kind == ERROR_NONE || !*error.text || image.codes || image.icc) {
    abort();
  }
  image_clear(&image);
  return 0;
}
