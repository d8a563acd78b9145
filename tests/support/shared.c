/* SPDX-License-Identifier: MIT */
#include "shared.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/text.h"

enum { COLUMNS_MAX = 512 };

bool shared_path(const char *name, char *path, size_t size)
{
  const char *folder = getenv("TAWNY_SHARED");

  snprintf(path, size, "%s/%s", folder ? folder : TAWNY_SOURCE_ROOT "/../shared", name);
  return access(path, R_OK) == 0;
}

/* Cuts the next cell off *line, in place; NULL at its end. */
static char *next_cell(char **line)
{
  return strsep(line, ",");
}

/* Numbers of the rest of a line. False where one is malformed or there are too many. */
static bool read_numbers(char *line, double *value, size_t *count)
{
  char *cell;

  *count = 0;
  while ((cell = next_cell(&line))) {
    if (*count == COLUMNS_MAX || !text_number(cell, &value[(*count)++])) {
      return false;
    }
  }
  return *count >= 2;
}

static double interpolated(const double *nm, const double *value, size_t count, double beyond, double at)
{
  size_t k = 1;

  if (at < nm[0] || at > nm[count - 1]) {
    return beyond * (at < nm[0] ? value[0] : value[count - 1]);
  }
  while (k + 1 < count && nm[k] < at) {
    k++;
  }
  double share = (at - nm[k - 1]) / (nm[k] - nm[k - 1]);
  return value[k - 1] + share * (value[k] - value[k - 1]);
}

static bool add_row(struct spectra *spectra, char *line, const double *nm, size_t columns, double beyond)
{
  double value[COLUMNS_MAX];
  size_t count;
  size_t n = spectra->count;
  char *name = next_cell(&line);

  if (!line || !read_numbers(line, value, &count) || count != columns) {
    return false;
  }
  spectra->spectrum = reallocarray(spectra->spectrum, n + 1, sizeof *spectra->spectrum);
  spectra->name = reallocarray(spectra->name, n + 1, sizeof *spectra->name);
  if (!spectra->spectrum || !spectra->name) {
    return false;
  }
  snprintf(spectra->name[n], sizeof spectra->name[n], "%s", name);
  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    spectra->spectrum[n].band[i] = interpolated(nm, value, columns, beyond, 380 + 5 * i);
  }
  spectra->count++;
  return true;
}

static bool parse(char *text, const char *path, double beyond, struct spectra *spectra, struct error *error)
{
  double nm[COLUMNS_MAX];
  size_t columns = 0;
  char *line;

  for (int number = 1; (line = strsep(&text, "\n")); number++) {
    if (*line == '#' || *line == '\0') {
      continue;
    }
    bool sound = columns ? add_row(spectra, line, nm, columns, beyond)
                         : next_cell(&line) && line && read_numbers(line, nm, &columns);
    if (!sound) {
      spectra_clear(spectra);
      return error_set(error, ERROR_FILE, "bad-spectra", "%s:%d: no row of spectra", path, number);
    }
  }
  return true;
}

bool spectra_read(const char *path, double beyond, struct spectra *spectra, struct error *error)
{
  struct file_bytes bytes;

  *spectra = (struct spectra){0};
  if (!file_read(path, 64 << 20, &bytes, error)) {
    return false;
  }
  bool done = parse((char *)bytes.data, path, beyond, spectra, error);
  file_bytes_clear(&bytes);
  return done;
}

void spectra_clear(struct spectra *spectra)
{
  free(spectra->spectrum);
  free(spectra->name);
  *spectra = (struct spectra){0};
}

const struct spectrum *spectra_find(const struct spectra *spectra, const char *name)
{
  for (size_t i = 0; i < spectra->count; i++) {
    if (!strcmp(spectra->name[i], name)) {
      return &spectra->spectrum[i];
    }
  }
  return NULL;
}
