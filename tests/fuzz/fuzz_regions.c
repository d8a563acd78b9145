/* SPDX-License-Identifier: MIT */
/* Region files of both kinds, and SVG by itself; what is read is checked as a photo's outlines are. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"
#include "region/file.h"
#include "region/outline.h"
#include "region/svg.h"

/* A refusal says why in one line. */
static void check_error(const struct error *error)
{
  if ((error->kind != ERROR_FILE && error->kind != ERROR_UNMEASURABLE) || !*error->text || !*error->code) {
    abort();
  }
}

static void check_region(const struct region *region)
{
  struct error error;
  double area = region_area(region);
  struct point centre = region_centroid(region);

  if (region->vertices == 0 || !(area >= 0) || !isfinite(centre.x) || !isfinite(centre.y)) {
    abort();
  }
  region_contains(region, centre);
  if (!region_check(region, 4000, 3000, &error)) {
    check_error(&error);
  }
}

static void check_file(const char *name, const struct file_bytes *file)
{
  struct region_list list;
  struct error error;

  if (!region_file_parse(name, file, &list, &error)) {
    check_error(&error);
    if (list.count != 0 || list.region) {
      abort();
    }
    return;
  }
  for (size_t i = 0; i < list.count; i++) {
    if (!*list.region[i].label) {
      abort();
    }
    check_region(&list.region[i]);
  }
  region_list_clear(&list);
}

static void check_svg(const char *text)
{
  struct region region = {.label = "a"};
  struct error error;

  if (svg_outline(text, &region, &error)) {
    check_region(&region);
  } else {
    check_error(&error);
  }
  region_clear(&region);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct file_bytes file = {malloc(size + 1), size};

  if (!file.data) {
    abort();
  }
  if (size > 0) {
    memcpy(file.data, data, size);
  }
  file.data[size] = '\0';
  check_file("a.csv", &file);
  check_file("a.json", &file);
  check_svg((const char *)file.data);
  free(file.data);
  return 0;
}
