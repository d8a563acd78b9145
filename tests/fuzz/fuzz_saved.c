/* SPDX-License-Identifier: MIT */
/* Saved readings: what is read of them goes all the way through the comparison. */
#include <stdlib.h>
#include <string.h>

#include "compare/findings.h"
#include "compare/saved.h"
#include "fuzz.h"
#include "report/compared.h"

static void check_error(const struct error *error)
{
  if (error->kind == ERROR_NONE || error->kind == ERROR_INTERNAL || !*error->text || !*error->code) {
    abort();
  }
}

static void show(const struct findings *findings)
{
  struct compared_style style = {.estimate_dry = true};
  struct drawing drawing;
  struct text out = {0};
  struct error error;

  report_compared(findings, style, &out);
  if (out.failed || !report_compared_json(findings, style, &out, &error)) {
    abort();
  }
  if (!report_compared_picture(findings, &drawing, &error)) {
    check_error(&error);
  }
  drawing_clear(&drawing);
  text_clear(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct findings_wanted wanted = {NULL, 50, 10};
  struct file_bytes file = {malloc(size + 1), size};
  struct collection collection = {0};
  struct findings findings;
  struct error error;

  if (!file.data) {
    abort();
  }
  memcpy(file.data, data, size);
  file.data[size] = '\0';
  if (!saved_read("a.jsonl", &file, &collection, &error)) {
    check_error(&error);
    if (collection.count != 0 || collection.photos != 0) {
      abort();
    }
  } else if (findings_make(&collection, &wanted, &findings, &error)) {
    show(&findings);
    findings_clear(&findings);
  } else {
    check_error(&error);
  }
  collection_clear(&collection);
  free(file.data);
  return 0;
}
