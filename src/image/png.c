/* SPDX-License-Identifier: MIT */
/* PNG by libpng's row interface: the codes as they stand, no gamma. What libpng calls a benign error and would pass
 * over, as a colour profile it can't use, is a refusal here. */
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

#include <png.h>

#include "image/decoders.h"
#include "image/exif.h"
#include "image/orient.h"

struct job {
  png_structp png;
  png_infop info;
  jmp_buf escape;
  const struct file_bytes *file;
  size_t at; /* bytes of the file read so far */
  int orientation;
  struct orient orient;
  uint8_t *stored; /* owned; rows as stored where they can't go straight to the image: one, or all of an
                      interlaced picture */
  struct image *image;
  const char *name;
  struct error *error;
};

static void give_up(png_structp png, png_const_charp words)
{
  struct job *job = png_get_error_ptr(png);

  if (strncmp(words, "iCCP", 4) == 0) {
    error_set(job->error, ERROR_FILE, "bad-profile",
              "%s holds a colour profile that is damaged (%s); save it again with a plain sRGB profile",
              job->name, words);
  } else {
    image_damaged(job->name, words, job->error);
  }
  longjmp(job->escape, 1);
}

static void pass_over(png_structp png, png_const_charp words)
{
  (void)png;
  (void)words;
}

static void read_bytes(png_structp png, png_bytep to, size_t count)
{
  struct job *job = png_get_io_ptr(png);

  if (count > job->file->size - job->at) {
    png_error(png, "the file ends too early");
  }
  memcpy(to, job->file->data + job->at, count);
  job->at += count;
}

static void set_strictness(png_structp png)
{
  png_set_crc_action(png, PNG_CRC_ERROR_QUIT, PNG_CRC_ERROR_QUIT);
  png_set_benign_errors(png, 0);
  png_set_option(png, PNG_SKIP_sRGB_CHECK_PROFILE, PNG_OPTION_ON); /* it refuses the commonest sRGB profile */
  /* Skip all chunks that don't bear on the codes (their checksums are still verified) ... */
  png_set_keep_unknown_chunks(png, PNG_HANDLE_CHUNK_NEVER, (png_const_bytep) "sRGB", 1);
  png_set_keep_unknown_chunks(png, PNG_HANDLE_CHUNK_NEVER, NULL, -1);
  /* ... but for profile and EXIF. */
  png_set_keep_unknown_chunks(png, PNG_HANDLE_CHUNK_AS_DEFAULT, (png_const_bytep) "iCCP\0eXIf", 2);
}

static bool keep_profile(struct job *job)
{
  png_charp label;
  png_bytep icc;
  png_uint_32 size;
  int method;

  if (!png_get_iCCP(job->png, job->info, &label, &method, &icc, &size)) {
    return true;
  }
  return image_keep_icc(job->image, icc, size, job->error);
}

static bool read_facts(struct job *job)
{
  png_bytep tiff;
  png_uint_32 size;

  if (!png_get_eXIf_1(job->png, job->info, &size, &tiff)) {
    return true;
  }
  uint8_t *marked = malloc(EXIF_MARK_SIZE + (size_t)size);
  if (!marked) {
    return error_no_memory(job->error, job->name);
  }
  memcpy(marked, EXIF_MARK, EXIF_MARK_SIZE);
  memcpy(marked + EXIF_MARK_SIZE, tiff, size);
  job->orientation = exif_read(marked, EXIF_MARK_SIZE + (size_t)size, &job->image->exposure);
  free(marked);
  return true;
}

static bool check_kind(struct job *job)
{
  int colours = png_get_color_type(job->png, job->info);

  if (colours & PNG_COLOR_MASK_PALETTE) {
    return image_not_rgb(job->name, "made of a palette of colours", job->error);
  }
  if (!(colours & PNG_COLOR_MASK_COLOR)) {
    return image_not_rgb(job->name, "grey", job->error);
  }
  return image_check_size(png_get_image_width(job->png, job->info), png_get_image_height(job->png, job->info),
                          job->name, job->error);
}

static bool read_header(struct job *job)
{
  png_structp png = job->png;

  set_strictness(png);
  png_set_read_fn(png, job, read_bytes);
  png_read_info(png, job->info);
  if (!check_kind(job) || !keep_profile(job) || !read_facts(job)) {
    return false;
  }
  job->image->bits = png_get_bit_depth(png, job->info);
  if (job->image->bits == 16 && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__) {
    png_set_swap(png);
  }
  if (png_get_valid(png, job->info, PNG_INFO_tRNS)) {
    png_set_tRNS_to_alpha(png);
  }
  return true;
}

/* Copies a stored row of 3 or 4 codes a pixel, the fourth being opacity; false where a pixel is not opaque. */
static bool take_row8(const uint8_t *stored, int channels, int width, uint8_t *row)
{
  unsigned opacity = 255;

  for (int x = 0; x < width; x++, stored += channels, row += 3) {
    memcpy(row, stored, 3);
    opacity &= channels == 4 ? stored[3] : 255;
  }
  return opacity == 255;
}

static bool take_row16(const uint16_t *stored, int channels, int width, uint16_t *row)
{
  unsigned opacity = 65535;

  for (int x = 0; x < width; x++, stored += channels, row += 3) {
    memcpy(row, stored, 3 * sizeof *row);
    opacity &= channels == 4 ? stored[3] : 65535;
  }
  return opacity == 65535;
}

static bool take_row(struct job *job, const void *stored, int channels, int y)
{
  void *row = orient_row(&job->orient, y);
  bool opaque = job->image->bits == 8 ? take_row8(stored, channels, job->orient.width, row)
                                      : take_row16(stored, channels, job->orient.width, row);

  orient_row_done(&job->orient, y);
  return opaque || error_set(job->error, ERROR_UNMEASURABLE, "transparent",
                             "%s has transparent pixels, which have no colour; save it without transparency",
                             job->name);
}

static bool read_interlaced(struct job *job, int passes, size_t row_bytes, int channels)
{
  int height = job->orient.height;

  job->stored = malloc(row_bytes * (size_t)height);
  if (!job->stored) {
    return error_no_memory(job->error, job->name);
  }
  for (int pass = 0; pass < passes; pass++) {
    for (int y = 0; y < height; y++) {
      png_read_row(job->png, job->stored + row_bytes * (size_t)y, NULL);
    }
  }
  for (int y = 0; y < height; y++) {
    if (!take_row(job, job->stored + row_bytes * (size_t)y, channels, y)) {
      return false;
    }
  }
  return true;
}

static bool read_straight(struct job *job, size_t row_bytes, int channels)
{
  job->stored = channels == 3 ? NULL : malloc(row_bytes);
  if (channels != 3 && !job->stored) {
    return error_no_memory(job->error, job->name);
  }
  for (int y = 0; y < job->orient.height; y++) {
    png_read_row(job->png, job->stored ? job->stored : orient_row(&job->orient, y), NULL);
    if (!job->stored) {
      orient_row_done(&job->orient, y);
    } else if (!take_row(job, job->stored, channels, y)) {
      return false;
    }
  }
  return true;
}

static bool read_rows(struct job *job)
{
  int passes = png_set_interlace_handling(job->png);

  png_read_update_info(job->png, job->info);
  size_t row_bytes = png_get_rowbytes(job->png, job->info);
  int channels = png_get_channels(job->png, job->info);
  if (!orient_begin(&job->orient, job->image, job->orientation, (int)png_get_image_width(job->png, job->info),
                    (int)png_get_image_height(job->png, job->info), job->error)) {
    return false;
  }
  bool done = passes > 1 ? read_interlaced(job, passes, row_bytes, channels)
                         : read_straight(job, row_bytes, channels);
  if (done) {
    png_read_end(job->png, NULL);
  }
  return done;
}

/* Everything that may jump is below this call; what it owns hangs on *job, outside its frame. */
static bool run(struct job *job)
{
  if (setjmp(job->escape)) {
    return false;
  }
  job->info = png_create_info_struct(job->png);
  if (!job->info) {
    return error_no_memory(job->error, job->name);
  }
  return read_header(job) && read_rows(job);
}

bool image_decode_png(const struct file_bytes *file, const char *name, struct image *image,
                      struct error *error)
{
  struct job job = {.file = file, .image = image, .name = name, .error = error, .orientation = 1};

  job.png = png_create_read_struct(PNG_LIBPNG_VER_STRING, &job, give_up, pass_over);
  if (!job.png) {
    return error_no_memory(error, name);
  }
  bool done = run(&job);
  orient_end(&job.orient);
  free(job.stored);
  png_destroy_read_struct(&job.png, &job.info, NULL);
  return done;
}
