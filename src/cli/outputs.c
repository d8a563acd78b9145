/* SPDX-License-Identifier: MIT */
#include "cli/outputs.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/file.h"
#include "cli/terminal.h"
#include "image/write.h"
#include "profile/corrected.h"
#include "profile/icc.h"
#include "report/drawn.h"
#include "report/proposal.h"

enum { OUTPUTS = 4 };

struct output {
  const char *option, *path;
  const char *ending[3]; /* allowed; the first two are advised */
};

static void list_outputs(const struct outputs *outputs, struct output output[OUTPUTS])
{
  output[0] = (struct output){"icc", outputs->icc, {".icc", ".icm", NULL}};
  output[1] = (struct output){"corrected", outputs->corrected, {".jpg", ".png", ".jpeg"}};
  output[2] = (struct output){"overlay", outputs->overlay, {".png", NULL, NULL}};
  output[3] = (struct output){"outlines", outputs->outlines, {".json", NULL, NULL}};
}

static bool ends_with(const char *path, const char *ending)
{
  size_t length = strlen(path), tail = strlen(ending);

  return length > tail && strcasecmp(path + length - tail, ending) == 0;
}

static bool check_ending(const struct output *output, struct error *error)
{
  for (int k = 0; k < 3 && output->ending[k]; k++) {
    if (ends_with(output->path, output->ending[k])) {
      return true;
    }
  }
  return error_set(error, ERROR_USAGE, "ending",
                   "--%s %s does not end in %s%s%s; the ending tells the format", output->option,
                   output->path, output->ending[0], output->ending[1] ? " or " : "",
                   output->ending[1] ? output->ending[1] : "");
}

/* One file under two names counts too; files that do not exist yet differ when their names do. */
static bool same_file(const char *a, const char *b)
{
  struct stat first, second;

  if (strcmp(a, b) == 0) {
    return true;
  }
  return stat(a, &first) == 0 && stat(b, &second) == 0 && first.st_dev == second.st_dev &&
         first.st_ino == second.st_ino;
}

static bool spare(const char *option, const char *path, const char *what, const char *input,
                  struct error *error)
{
  return !input || !same_file(path, input) ||
         error_set(error, ERROR_USAGE, "same-file", "--%s would write over the %s %s; choose another name",
                   option, what, path);
}

bool outputs_spare(const char *option, const char *path, const struct inputs *inputs, struct error *error)
{
  for (size_t i = 0; i < inputs->photos->count; i++) {
    if (!spare(option, path, "photo", inputs->photos->name[i], error)) {
      return false;
    }
  }
  return spare(option, path, "outlines", inputs->regions, error) &&
         spare(option, path, "card's file", inputs->card, error);
}

static bool check_output(const struct output *output, const struct output *others, size_t count,
                         const struct inputs *inputs, struct error *error)
{
  if (inputs->photos->count > 1) {
    return error_set(error, ERROR_USAGE, "several-photos",
                     "--%s writes a file of one photo, and %zu are given; read them one by one",
                     output->option, inputs->photos->count);
  }
  if (!outputs_spare(output->option, output->path, inputs, error)) {
    return false;
  }
  for (size_t i = 0; i < count; i++) {
    if (others[i].path && same_file(output->path, others[i].path)) {
      return error_set(error, ERROR_USAGE, "same-file",
                       "--%s and --%s would write the same file; choose two names", others[i].option,
                       output->option);
    }
  }
  return check_ending(output, error);
}

bool outputs_check(const struct outputs *outputs, const struct inputs *inputs, struct error *error)
{
  struct output output[OUTPUTS];

  list_outputs(outputs, output);
  for (size_t i = 0; i < OUTPUTS; i++) {
    if (output[i].path && !check_output(&output[i], output, i, inputs, error)) {
      return false;
    }
  }
  return true;
}

/* The name inside the profile. */
static void describe(const struct measurement *measurement, char *description, size_t size)
{
  snprintf(description, size, "Camera of %s by tawny", measurement->file);
}

static bool write_icc(const struct measurement *measurement, const char *path, struct error *error)
{
  char description[sizeof measurement->file + 32];
  struct file_bytes icc = {0};

  describe(measurement, description, sizeof description);
  bool done = profile_icc(&measurement->profile, description, &icc, error) &&
              file_write(path, icc.data, icc.size, error);
  file_bytes_clear(&icc);
  return done;
}

static struct vec3 gain_at(const void *context, struct point place)
{
  return light_gain(context, place);
}

static bool write_corrected(const struct measurement *measurement, const char *path, struct error *error)
{
  char description[sizeof measurement->file + 32];
  struct image evened = {0};

  describe(measurement, description, sizeof description);
  bool done = profile_even_image(&measurement->image, &measurement->profile, gain_at, &measurement->light,
                                 description, &evened, error) &&
              image_write(&evened, path, error);
  image_clear(&evened);
  return done;
}

static bool write_overlay(const struct measurement *measurement, const char *path, struct error *error)
{
  struct image drawn = {0};
  bool done = report_drawn(measurement, &drawn, error) && image_write(&drawn, path, error);

  image_clear(&drawn);
  return done;
}

static bool write_outlines(const struct measurement *measurement, const char *path, struct error *error)
{
  struct text page = {0};
  bool done =
      report_proposal_outlines(measurement, &page, error) && file_write(path, page.data, page.length, error);

  text_clear(&page);
  return done;
}

typedef bool (*writer)(const struct measurement *measurement, const char *path, struct error *error);

int outputs_write(const struct outputs *outputs, const struct measurement *measurement)
{
  static const writer write[OUTPUTS] = {write_icc, write_corrected, write_overlay, write_outlines};
  struct output output[OUTPUTS];
  struct error error;
  int status = 0;

  list_outputs(outputs, output);
  for (size_t i = 0; i < OUTPUTS; i++) {
    if (output[i].path && !write[i](measurement, output[i].path, &error)) {
      status = terminal_graver(status, terminal_failure(output[i].path, &error));
    }
  }
  return status;
}
