/* SPDX-License-Identifier: MIT */
#include "cli/photos.h"

#include <stdlib.h>
#include <string.h>

#include "cli/terminal.h"
#include "report/json.h"
#include "report/plain.h"

static bool add_name(struct photo_names *photos, const char *name, struct error *error)
{
  char **larger = realloc(photos->name, (photos->count + 1) * sizeof *larger);

  if (!larger) {
    return error_no_memory(error, "the list of photos");
  }
  photos->name = larger;
  photos->name[photos->count] = strdup(name);
  if (!photos->name[photos->count]) {
    return error_no_memory(error, "the list of photos");
  }
  photos->count++;
  return true;
}

static bool add_line(struct photo_names *photos, char *line, size_t length, struct error *error)
{
  while (length > 0 && (line[length - 1] == '\n' || line[length - 1] == '\r')) {
    line[--length] = '\0';
  }
  if (strlen(line) < length) {
    return error_set(error, ERROR_FILE, "bad-list",
                     "standard input is no list of names (it holds a NUL byte); give one photo a line");
  }
  return length == 0 || add_name(photos, line, error);
}

static bool add_lines(struct photo_names *photos, FILE *input, struct error *error)
{
  char *line = NULL;
  size_t capacity = 0, before = photos->count;
  bool done = true;

  for (ssize_t length; done && (length = getline(&line, &capacity, input)) >= 0;) {
    done = add_line(photos, line, (size_t)length, error);
  }
  free(line);
  if (done && ferror(input)) {
    return error_set(error, ERROR_FILE, "bad-list",
                     "standard input can't be read; give the list of photos as a file or a pipe");
  }
  if (done && photos->count == before) {
    return error_set(error, ERROR_USAGE, "no-photo", "standard input names no photo; give one photo a line");
  }
  return done;
}

static bool collect(const struct words *words, FILE *input, struct photo_names *photos, struct error *error)
{
  bool listed = false;

  for (size_t i = 0; i < words->operands; i++) {
    bool list = strcmp(words->operand[i], "-") == 0;
    if (list && listed) {
      return error_set(error, ERROR_USAGE, "list-twice", "- (standard input) is given twice; give it once");
    }
    listed = listed || list;
    if (!(list ? add_lines(photos, input, error) : add_name(photos, words->operand[i], error))) {
      return false;
    }
  }
  return photos->count > 0 || error_set(error, ERROR_USAGE, "no-photo",
                                        "no photo is named; give one or more, or - for a list on standard "
                                        "input");
}

bool photos_collect(const struct words *words, FILE *input, struct photo_names *photos, struct error *error)
{
  *photos = (struct photo_names){0};
  if (!collect(words, input, photos, error)) {
    photos_clear(photos);
    return false;
  }
  return true;
}

void photos_clear(struct photo_names *photos)
{
  for (size_t i = 0; i < photos->count; i++) {
    free(photos->name[i]);
  }
  free(photos->name);
  *photos = (struct photo_names){0};
}

/* What could not be measured in a photo that was read. */
static int tell_failures(const char *path, const struct measurement *m)
{
  int status = m->card_found ? 0 : terminal_failure(path, &m->card_error);

  for (size_t i = 0; i < m->readings; i++) {
    if (!m->reading[i].measured) {
      struct error error = m->reading[i].error;
      error_prefix(&error, m->reading[i].region->label);
      error_prefix(&error, path);
      status = terminal_graver(status, terminal_failure(NULL, &error));
    }
  }
  return status;
}

static int put(const char *path, struct text *out)
{
  struct error error;

  return terminal_put(out, &error) ? 0 : terminal_failure(path, &error);
}

static int fail_photo(const char *path, bool json, const struct error *failure)
{
  struct error error;
  struct text out = {0};
  int status = terminal_failure(path, failure);

  if (json) {
    status = report_json_failure(path, failure, &out, &error)
                 ? status
                 : terminal_graver(status, terminal_failure(path, &error));
    status = terminal_graver(status, put(path, &out));
  }
  return status;
}

/* Text of several photos is parted by a line with the name of the one that follows; the first begins at once. */
static void add_rule(const char *path, struct text *out)
{
  text_add(out, "\n----- ");
  plain_add(out, path);
  text_add(out, "\n");
}

static int measure_one(const struct photo_names *photos, size_t index, const struct photo_use *use)
{
  const char *path = photos->name[index];
  struct measurement measurement;
  struct text out = {0};
  struct error error;

  terminal_progress(index, photos->count, path);
  bool read = measure_photo(path, use->options, &measurement, &error);
  terminal_progress_end(photos->count);
  if (!read) {
    return fail_photo(path, use->json, &error);
  }
  if (use->no_card && !measurement.card_found && strcmp(measurement.card_error.code, "no-card") == 0) {
    error_set(&measurement.card_error, measurement.card_error.kind, "no-card", "%s", use->no_card);
  }
  if (!use->json && index > 0) {
    add_rule(path, &out);
  }
  int status = use->show(path, &measurement, use->context, &out);
  status = terminal_graver(status, put(path, &out));
  status = terminal_graver(status, tell_failures(path, &measurement));
  measurement_clear(&measurement);
  return status;
}

int photos_measure(const struct photo_names *photos, const struct photo_use *use)
{
  int status = 0;

  for (size_t i = 0; i < photos->count; i++) {
    status = terminal_graver(status, measure_one(photos, i, use));
  }
  return status;
}
