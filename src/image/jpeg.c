/* SPDX-License-Identifier: MIT */
/* JPEG by libjpeg-turbo. Its warnings mean guessed pixels, so each is a refusal here. */
#include <setjmp.h>
#include <stdlib.h>
#include <stdio.h> /* jpeglib.h needs it first */
#include <string.h>

#include <jpeglib.h>
#include <jerror.h>

#include "image/decoders.h"
#include "image/exif.h"
#include "image/orient.h"

/* A progressive photo has about 10 scans; thousands are an attempt to waste time. */
enum { SCANS_MAX = 200, SEGMENT_MAX = 0xffff, EXIF_MARKER = JPEG_APP0 + 1, ICC_MARKER = JPEG_APP0 + 2 };

struct job {
  struct jpeg_decompress_struct jpeg;
  struct jpeg_error_mgr library;
  struct jpeg_progress_mgr progress;
  jmp_buf escape;
  int orientation;
  struct orient orient;
  struct image *image;
  const char *name;
  struct error *error;
};

static void explain(const struct job *job, const char *words)
{
  switch (job->library.msg_code) {
  case JERR_OUT_OF_MEMORY:
    error_no_memory(job->error, job->name);
    break;
  case JERR_IMAGE_TOO_BIG:
    error_set(job->error, ERROR_UNMEASURABLE, "too-large",
              "%s claims more than %d pixels a side; make it smaller or cut it", job->name, IMAGE_SIDE_MAX);
    break;
  case JERR_BAD_PRECISION:
    error_set(job->error, ERROR_FILE, "bits", "%s does not have 8 bits a code; save it as PNG with 16 bits",
              job->name);
    break;
  case JERR_SOF_UNSUPPORTED:
    error_set(job->error, ERROR_FILE, "unsupported", "%s is a lossless or other rare JPEG; save it as PNG",
              job->name);
    break;
  case JWRN_BOGUS_ICC:
    error_set(job->error, ERROR_FILE, "bad-profile",
              "%s holds a colour profile in pieces that don't fit; save it again with a plain sRGB profile",
              job->name);
    break;
  default:
    image_damaged(job->name, words, job->error);
  }
}

static void give_up(j_common_ptr common)
{
  struct job *job = common->client_data;
  char words[JMSG_LENGTH_MAX];

  common->err->format_message(common, words);
  explain(job, words);
  longjmp(job->escape, 1);
}

static void hear_message(j_common_ptr common, int level)
{
  if (level < 0) { /* a warning; the rest is trace */
    give_up(common);
  }
}

static void watch_scans(j_common_ptr common)
{
  struct job *job = common->client_data;

  if (job->jpeg.input_scan_number > SCANS_MAX) {
    image_damaged(job->name, "too many scans", job->error);
    longjmp(job->escape, 1);
  }
}

static const char *colours_wanting(J_COLOR_SPACE space)
{
  switch (space) {
  case JCS_YCbCr:
  case JCS_RGB:
    return NULL;
  case JCS_GRAYSCALE:
    return "grey";
  case JCS_CMYK:
  case JCS_YCCK:
    return "made of printing inks (CMYK)";
  default:
    return "of an unknown colour kind";
  }
}

/* Orientation, exposure facts and profile from the saved segments. */
static void read_segments(struct job *job)
{
  for (jpeg_saved_marker_ptr marker = job->jpeg.marker_list; marker; marker = marker->next) {
    if (marker->marker == EXIF_MARKER && marker->data_length > EXIF_MARK_SIZE &&
        memcmp(marker->data, EXIF_MARK, EXIF_MARK_SIZE) == 0) {
      job->orientation = exif_read(marker->data, marker->data_length, &job->image->exposure);
      break;
    }
  }
  JOCTET *icc = NULL;
  unsigned icc_size = 0;
  if (jpeg_read_icc_profile(&job->jpeg, &icc, &icc_size)) {
    job->image->icc = icc;
    job->image->icc_size = icc_size;
  }
}

static bool read_header(struct job *job)
{
  struct jpeg_decompress_struct *jpeg = &job->jpeg;

  jpeg_save_markers(jpeg, EXIF_MARKER, SEGMENT_MAX);
  jpeg_save_markers(jpeg, ICC_MARKER, SEGMENT_MAX);
  jpeg_read_header(jpeg, TRUE);
  const char *wanting = colours_wanting(jpeg->jpeg_color_space);
  if (wanting) {
    return image_not_rgb(job->name, wanting, job->error);
  }
  if (!image_check_size(jpeg->image_width, jpeg->image_height, job->name, job->error)) {
    return false;
  }
  read_segments(job);
  jpeg->out_color_space = JCS_RGB;
  jpeg->dct_method = JDCT_ISLOW;
  jpeg->do_fancy_upsampling = TRUE;
  jpeg->do_block_smoothing = FALSE; /* it invents what a broken progressive file lacks */
  return true;
}

/* The library takes a file with scans left out, cut and closed by some repair program, without a word. */
static bool check_complete(struct job *job)
{
  const struct jpeg_decompress_struct *jpeg = &job->jpeg;
  bool complete = true;

  for (int c = 0; c < jpeg->num_components; c++) {
    complete = complete && jpeg->comp_info[c].quant_table;
    for (int k = 0; jpeg->coef_bits && k < DCTSIZE2; k++) {
      complete = complete && jpeg->coef_bits[c][k] == 0;
    }
  }
  return complete || image_damaged(job->name, "scans are missing", job->error);
}

static bool read_rows(struct job *job)
{
  struct jpeg_decompress_struct *jpeg = &job->jpeg;

  jpeg_start_decompress(jpeg);
  if (!check_complete(job) || !orient_begin(&job->orient, job->image, job->orientation,
                                            (int)jpeg->output_width, (int)jpeg->output_height, job->error)) {
    return false;
  }
  for (int y = 0; y < job->orient.height; y++) {
    JSAMPROW row = orient_row(&job->orient, y);
    jpeg_read_scanlines(jpeg, &row, 1);
    orient_row_done(&job->orient, y);
  }
  return jpeg_finish_decompress(jpeg);
}

/* Everything that may jump is below this call; what it owns hangs on *job, outside its frame. */
static bool run(struct job *job, const struct file_bytes *file)
{
  if (setjmp(job->escape)) {
    return false;
  }
  jpeg_create_decompress(&job->jpeg);
  job->jpeg.progress = &job->progress;
  jpeg_mem_src(&job->jpeg, file->data, file->size);
  return read_header(job) && read_rows(job);
}

bool image_decode_jpeg(const struct file_bytes *file, const char *name, struct image *image,
                       struct error *error)
{
  struct job job = {.image = image, .name = name, .error = error, .orientation = 1};

  image->bits = 8;
  image->lossy = true;
  job.jpeg.err = jpeg_std_error(&job.library);
  job.jpeg.client_data = &job;
  job.library.error_exit = give_up;
  job.library.emit_message = hear_message;
  job.progress.progress_monitor = watch_scans;
  bool done = run(&job, file);
  orient_end(&job.orient);
  jpeg_destroy_decompress(&job.jpeg);
  return done;
}
