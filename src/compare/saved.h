/* SPDX-License-Identifier: MIT */
/* Readings that `tawny read --json` printed, read back. */
#ifndef TAWNY_COMPARE_SAVED_H
#define TAWNY_COMPARE_SAVED_H

#include "base/file.h"
#include "compare/collection.h"

enum { SAVED_FILE_LIMIT = 512 * 1024 * 1024 };

/* Whether the bytes begin as such a file does: with a brace behind any blanks. */
bool saved_looks_so(const struct file_bytes *file);

/* Adds all readings of JSON Lines, one object a photo. Photos and regions that carry an error are passed over. Strict about every
 * key that is used: ERROR_FILE "bad-readings" names line and key; `name` stands for the path. Keys that are not known are passed
 * over; pairs may stand in any order. Nothing is added when it fails. Lines written before lab_covariance and lab_shared were have
 * the radius alone to go by: the covariance is then that of equal spread in all directions of CIEDE2000, and nothing cancels. */
bool saved_read(const char *name, const struct file_bytes *file, struct collection *collection,
                struct error *error);

#endif
