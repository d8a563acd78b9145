/* SPDX-License-Identifier: MIT */
#include "image/write.h"

#include <setjmp.h>
#include <stdio.h> /* jpeglib.h needs it first */
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include <jpeglib.h>
#include <png.h>

#include "base/text.h"

/* Level 2 with this one filter took a seventh of the time of the library's defaults on photos of 12 and 14 million
 * pixels, and made files 11 and 15 % larger. */
enum { PNG_LEVEL = 2, PNG_FILTER = PNG_FILTER_UP, JPEG_QUALITY = 95 };

static bool cannot_encode(struct error *error, const char *path, const char *why)
{
  return error_set(error, ERROR_FILE, "encoder", "%s can't be made: %s; choose the other picture format",
                   path, why);
}

struct png_job {
  png_structp png;
  png_infop info;
  jmp_buf escape;
  const char *path;
  const struct image *image;
  struct text out;
  struct error *error;
};

static void png_give_up(png_structp png, png_const_charp words)
{
  struct png_job *job = png_get_error_ptr(png);

  cannot_encode(job->error, job->path, words);
  longjmp(job->escape, 1);
}

static void png_pass_over(png_structp png, png_const_charp words)
{
  (void)png;
  (void)words;
}

static void png_take(png_structp png, png_bytep bytes, size_t count)
{
  struct png_job *job = png_get_io_ptr(png);

  text_add_bytes(&job->out, (const char *)bytes, count);
}

static void png_flush_nothing(png_structp png)
{
  (void)png;
}

/* Everything that may jump is below this call; what it owns hangs on *job, outside its frame. */
static bool png_run(struct png_job *job)
{
  const struct image *image = job->image;
  png_structp png = job->png;

  if (setjmp(job->escape)) {
    return false;
  }
  job->info = png_create_info_struct(png);
  png_set_benign_errors(png, 0); /* a profile that libpng would leave out ... */
  png_set_option(png, PNG_SKIP_sRGB_CHECK_PROFILE,
                 PNG_OPTION_ON); /* ... but for the commonest sRGB profile */
  png_set_write_fn(png, job, png_take, png_flush_nothing);
  png_set_compression_level(png, PNG_LEVEL);
  png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER);
  png_set_IHDR(png, job->info, (png_uint_32)image->width, (png_uint_32)image->height, image->bits,
               PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  if (image->icc) {
    png_set_iCCP(png, job->info, "icc", PNG_COMPRESSION_TYPE_BASE, image->icc, (png_uint_32)image->icc_size);
  }
  png_write_info(png, job->info);
  if (image->bits == 16 && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__) {
    png_set_swap(png);
  }
  size_t row = 3 * (size_t)image->width * (size_t)(image->bits / 8);
  for (int y = 0; y < image->height; y++) {
    png_write_row(png, (png_const_bytep)image->codes + row * (size_t)y);
  }
  png_write_end(png, NULL);
  return true;
}

static bool write_png(const struct image *image, const char *path, struct error *error)
{
  struct png_job job = {.path = path, .image = image, .error = error};

  job.png = png_create_write_struct(PNG_LIBPNG_VER_STRING, &job, png_give_up, png_pass_over);
  bool done = job.png && png_run(&job);
  if (!job.png || (done && job.out.failed)) {
    done = error_no_memory(error, path);
  }
  png_destroy_write_struct(&job.png, &job.info);
  done = done && file_write(path, job.out.data, job.out.length, error);
  text_clear(&job.out);
  return done;
}

enum { JPEG_BUFFER = 65536 };

struct jpeg_job {
  struct jpeg_compress_struct jpeg;
  struct jpeg_error_mgr library;
  struct jpeg_destination_mgr destination;
  jmp_buf escape;
  const char *path;
  const struct image *image;
  uint8_t *row; /* owned; 8-bit codes of a row of a 16-bit image, else NULL */
  struct text out;
  struct error *error;
  JOCTET buffer[JPEG_BUFFER];
};

static void jpeg_give_up(j_common_ptr common)
{
  struct jpeg_job *job = common->client_data;
  char words[JMSG_LENGTH_MAX];

  common->err->format_message(common, words);
  cannot_encode(job->error, job->path, words);
  longjmp(job->escape, 1);
}

static void jpeg_stay_silent(j_common_ptr common, int level)
{
  (void)common;
  (void)level;
}

static void jpeg_empty_buffer(j_compress_ptr jpeg)
{
  struct jpeg_job *job = jpeg->client_data;

  job->destination.next_output_byte = job->buffer;
  job->destination.free_in_buffer = JPEG_BUFFER;
}

/* The library fills the buffer before it calls, whatever free_in_buffer says. */
static boolean jpeg_take_full(j_compress_ptr jpeg)
{
  struct jpeg_job *job = jpeg->client_data;

  text_add_bytes(&job->out, (const char *)job->buffer, JPEG_BUFFER);
  jpeg_empty_buffer(jpeg);
  return TRUE;
}

static void jpeg_take_last(j_compress_ptr jpeg)
{
  struct jpeg_job *job = jpeg->client_data;

  text_add_bytes(&job->out, (const char *)job->buffer, JPEG_BUFFER - job->destination.free_in_buffer);
}

/* Row y in 8 bits. */
static JSAMPROW jpeg_row(const struct jpeg_job *job, int y)
{
  size_t codes = 3 * (size_t)job->image->width;

  if (!job->row) {
    return (uint8_t *)job->image->codes + codes * (size_t)y;
  }
  const uint16_t *from = (const uint16_t *)job->image->codes + codes * (size_t)y;
  for (size_t i = 0; i < codes; i++) {
    job->row[i] = (uint8_t)((from[i] + 128u) / 257u);
  }
  return job->row;
}

static bool jpeg_run(struct jpeg_job *job)
{
  struct jpeg_compress_struct *jpeg = &job->jpeg;

  if (setjmp(job->escape)) {
    return false;
  }
  jpeg_create_compress(jpeg);
  jpeg->dest = &job->destination;
  jpeg->image_width = (JDIMENSION)job->image->width;
  jpeg->image_height = (JDIMENSION)job->image->height;
  jpeg->input_components = 3;
  jpeg->in_color_space = JCS_RGB;
  jpeg_set_defaults(jpeg);
  jpeg_set_quality(jpeg, JPEG_QUALITY, TRUE);
  jpeg->comp_info[0].h_samp_factor = jpeg->comp_info[0].v_samp_factor = 1; /* no subsampling */
  jpeg_start_compress(jpeg, TRUE);
  if (job->image->icc) {
    jpeg_write_icc_profile(jpeg, job->image->icc, (unsigned)job->image->icc_size);
  }
  for (int y = 0; y < job->image->height; y++) {
    JSAMPROW row = jpeg_row(job, y);
    jpeg_write_scanlines(jpeg, &row, 1);
  }
  jpeg_finish_compress(jpeg);
  return true;
}

static struct jpeg_job *jpeg_job_make(const struct image *image, const char *path, struct error *error)
{
  struct jpeg_job *job = calloc(1, sizeof *job);
  uint8_t *row = image->bits == 16 ? malloc(3 * (size_t)image->width) : NULL;

  if (!job || (image->bits == 16 && !row)) {
    free(row);
    free(job);
    error_no_memory(error, path);
    return NULL;
  }
  job->path = path;
  job->image = image;
  job->row = row;
  job->error = error;
  job->destination.init_destination = jpeg_empty_buffer;
  job->destination.empty_output_buffer = jpeg_take_full;
  job->destination.term_destination = jpeg_take_last;
  job->jpeg.err = jpeg_std_error(&job->library);
  job->jpeg.client_data = job;
  job->library.error_exit = jpeg_give_up;
  job->library.emit_message = jpeg_stay_silent;
  return job;
}

static bool write_jpeg(const struct image *image, const char *path, struct error *error)
{
  struct jpeg_job *job = jpeg_job_make(image, path, error);

  if (!job) {
    return false;
  }
  bool done = jpeg_run(job);
  jpeg_destroy_compress(&job->jpeg);
  if (done && job->out.failed) {
    done = error_no_memory(error, path);
  }
  done = done && file_write(path, job->out.data, job->out.length, error);
  text_clear(&job->out);
  free(job->row);
  free(job);
  return done;
}

static bool ends_with(const char *path, const char *ending)
{
  size_t length = strlen(path), tail = strlen(ending);

  return length > tail && strcasecmp(path + length - tail, ending) == 0;
}

bool image_write(const struct image *image, const char *path, struct error *error)
{
  if (ends_with(path, ".png")) {
    return write_png(image, path, error);
  }
  if (ends_with(path, ".jpg") || ends_with(path, ".jpeg")) {
    return write_jpeg(image, path, error);
  }
  return error_set(error, ERROR_USAGE, "ending",
                   "%s has no ending that tells the format; end it with .png or .jpg", path);
}
