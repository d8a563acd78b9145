/* SPDX-License-Identifier: MIT */
/* Region files: CSV with a header line, or W3C Web Annotations (one, an array, or an AnnotationPage). */
#ifndef TAWNY_REGION_FILE_H
#define TAWNY_REGION_FILE_H

#include "base/file.h"
#include "region/region.h"

enum { REGION_FILE_LIMIT = 64 * 1024 * 1024 };

/* Reads `path` (.csv or .json; else by its first character). Everything malformed is ERROR_FILE "bad-regions" with line and
 * column: unknown shape or moisture words, numbers that are not finite or beyond 1e6, columns missing, labels used twice
 * for one photo, broken quoting. Whether regions fit a photo is asked later (region_check). */
bool region_file_read(const char *path, struct region_list *list, struct error *error);

/* The same for bytes already in memory; `name` stands for the path. */
bool region_file_parse(const char *name, const struct file_bytes *file, struct region_list *list,
                       struct error *error);

#endif
