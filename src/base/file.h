/* SPDX-License-Identifier: MIT */
/* Whole files in and out. */
#ifndef TAWNY_BASE_FILE_H
#define TAWNY_BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

struct file_bytes {
  uint8_t *data; /* owned; one NUL byte stands behind the last, so text can be read in place */
  size_t size;
};

/* Reads `path`. Refuses what is missing, a directory, empty, or larger than `limit` bytes (ERROR_FILE). */
bool file_read(const char *path, size_t limit, struct file_bytes *bytes, struct error *error);

/* Frees the data and leaves nothing. */
void file_bytes_clear(struct file_bytes *bytes);

/* Writes all or nothing: a new file beside `path`, then a rename over it. The file at `path` is
 * untouched until then and nothing is left behind on failure (ERROR_FILE "unwritable"). A link stays a link to the new
 * file; a device or pipe takes the bytes as they come. */
bool file_write(const char *path, const void *data, size_t size, struct error *error);

/* Lower-case hexadecimal SHA-256 (FIPS 180-4, by nettle) of the bytes: 64 characters and a NUL. */
void file_sha256(const void *data, size_t size, char hex[65]);

/* The part behind the last slash; points into `path`. */
const char *file_name(const char *path);

#endif
