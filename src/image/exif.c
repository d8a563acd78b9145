/* SPDX-License-Identifier: MIT */
/* Tag numbers and their values: EXIF 2.3 (CIPA DC-008). */
#include "image/exif.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include <libexif/exif-data.h>

enum { CUSTOM_RENDERED_NORMAL = 0, WHITE_BALANCE_AUTO = 0, TONE_NORMAL = 0, FLASH_FIRED_BIT = 1 };

/* The first number of an entry; false where there is none. */
static bool entry_number(ExifData *data, ExifIfd ifd, ExifTag tag, double *value)
{
  const ExifEntry *entry = exif_content_get_entry(data->ifd[ifd], tag);

  if (!entry || !entry->data || entry->components < 1 || entry->size < exif_format_get_size(entry->format)) {
    return false;
  }
  ExifByteOrder order = exif_data_get_byte_order(data);
  if (entry->format == EXIF_FORMAT_SHORT) {
    *value = exif_get_short(entry->data, order);
  } else if (entry->format == EXIF_FORMAT_LONG) {
    *value = exif_get_long(entry->data, order);
  } else if (entry->format == EXIF_FORMAT_RATIONAL) {
    ExifRational ratio = exif_get_rational(entry->data, order);
    *value = ratio.denominator ? (double)ratio.numerator / ratio.denominator : 0;
    return ratio.denominator != 0;
  } else {
    return false;
  }
  return true;
}

static double photo_number(ExifData *data, ExifTag tag)
{
  double value = 0;

  return entry_number(data, EXIF_IFD_EXIF, tag, &value) ? value : 0;
}

/* YES where the tag is there and differs from `usual`, NO where it equals it. */
static enum image_flag differs(ExifData *data, ExifTag tag, int usual)
{
  double value;

  if (!entry_number(data, EXIF_IFD_EXIF, tag, &value)) {
    return IMAGE_UNKNOWN;
  }
  return value == usual ? IMAGE_NO : IMAGE_YES;
}

/* An ASCII entry without outer blanks; what is not printable ASCII becomes '?', so that any output can hold it. */
static void entry_text(ExifData *data, ExifIfd ifd, ExifTag tag, char *text, size_t room)
{
  const ExifEntry *entry = exif_content_get_entry(data->ifd[ifd], tag);
  size_t length = 0;

  for (size_t i = 0; entry && entry->data && i < entry->size && entry->data[i] && length + 1 < room; i++) {
    unsigned char c = entry->data[i];
    if (length > 0 || c != ' ') {
      text[length++] = c >= 0x20 && c < 0x7f ? (char)c : '?';
    }
  }
  while (length > 0 && text[length - 1] == ' ') {
    length--;
  }
  text[length] = '\0';
}

static bool same_first_word(const char *a, const char *b)
{
  size_t length = strcspn(a, " ");

  return length > 0 && length == strcspn(b, " ") && strncasecmp(a, b, length) == 0;
}

static void read_camera(ExifData *data, char *camera, size_t room)
{
  char make[48], model[47];

  entry_text(data, EXIF_IFD_0, EXIF_TAG_MAKE, make, sizeof make);
  entry_text(data, EXIF_IFD_0, EXIF_TAG_MODEL, model, sizeof model);
  if (!*make || !*model || same_first_word(make, model)) {
    snprintf(camera, room, "%s", *model ? model : make);
  } else {
    snprintf(camera, room, "%s %s", make, model);
  }
}

/* Whether the text has digits where the pattern has '0' and the same characters elsewhere. */
static bool looks_like(const char *text, const char *pattern)
{
  for (; *pattern; text++, pattern++) {
    if (*pattern == '0' ? !isdigit((unsigned char)*text) : *text != *pattern) {
      return false;
    }
  }
  return *text == '\0';
}

static bool in_range(const char *digits, int least, int most)
{
  int number = 10 * (digits[0] - '0') + digits[1] - '0';

  return number >= least && number <= most;
}

static bool is_moment(const char *text)
{
  return looks_like(text, "0000:00:00 00:00:00") && in_range(text + 5, 1, 12) && in_range(text + 8, 1, 31) &&
         in_range(text + 11, 0, 23) && in_range(text + 14, 0, 59) && in_range(text + 17, 0, 60);
}

static bool is_offset(const char *text)
{
  return (looks_like(text, "+00:00") || looks_like(text, "-00:00")) && in_range(text + 1, 0, 14) &&
         in_range(text + 4, 0, 59);
}

static void read_taken(ExifData *data, char *taken, size_t room)
{
  char moment[24], offset[8];

  entry_text(data, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, moment, sizeof moment);
  entry_text(data, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL, offset, sizeof offset);
  if (is_moment(moment)) {
    moment[4] = moment[7] = '-';
    snprintf(taken, room, "%.10sT%.8s%s", moment, moment + 11, is_offset(offset) ? offset : "");
  }
}

static enum image_flag either(enum image_flag a, enum image_flag b)
{
  return a > b ? a : b; /* yes over no over unknown */
}

static void read_flags(ExifData *data, struct image_exposure *exposure)
{
  double value;

  if (entry_number(data, EXIF_IFD_EXIF, EXIF_TAG_FLASH, &value)) {
    exposure->flash_fired = (unsigned)value & FLASH_FIRED_BIT ? IMAGE_YES : IMAGE_NO;
  }
  if (entry_number(data, EXIF_IFD_EXIF, EXIF_TAG_WHITE_BALANCE, &value)) {
    exposure->white_balance_auto = value == WHITE_BALANCE_AUTO ? IMAGE_YES : IMAGE_NO;
  }
  if (entry_number(data, EXIF_IFD_EXIF, EXIF_TAG_DIGITAL_ZOOM_RATIO, &value)) {
    exposure->digital_zoom = value > 1 ? IMAGE_YES : IMAGE_NO; /* 0: not used */
  }
  exposure->specially_processed = differs(data, EXIF_TAG_CUSTOM_RENDERED, CUSTOM_RENDERED_NORMAL);
  exposure->altered_tone =
      either(differs(data, EXIF_TAG_CONTRAST, TONE_NORMAL), differs(data, EXIF_TAG_SATURATION, TONE_NORMAL));
}

static int read_orientation(ExifData *data)
{
  double value = 1;

  return entry_number(data, EXIF_IFD_0, EXIF_TAG_ORIENTATION, &value) && value >= 1 && value <= 8 ? (int)value
                                                                                                  : 1;
}

int exif_read(const uint8_t *bytes, size_t size, struct image_exposure *exposure)
{
  ExifData *data = exif_data_new();

  if (!data) {
    return 1;
  }
  /* This option, on by default, puts in tags that the file lacks and rewrites unusual ones. */
  exif_data_unset_option(data, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
  exif_data_load_data(data, bytes, (unsigned)size);
  read_camera(data, exposure->camera, sizeof exposure->camera);
  read_taken(data, exposure->taken, sizeof exposure->taken);
  exposure->exposure_seconds = photo_number(data, EXIF_TAG_EXPOSURE_TIME);
  exposure->f_number = photo_number(data, EXIF_TAG_FNUMBER);
  exposure->focal_length_mm = photo_number(data, EXIF_TAG_FOCAL_LENGTH);
  exposure->sensitivity_iso = photo_number(data, EXIF_TAG_ISO_SPEED_RATINGS);
  exposure->focal_length_35mm = photo_number(data, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM);
  read_flags(data, exposure);
  int orientation = read_orientation(data);
  exif_data_unref(data);
  return orientation;
}
