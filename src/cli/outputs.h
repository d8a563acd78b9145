/* SPDX-License-Identifier: MIT */
/* The files that `tawny read` and `tawny propose` write beside their reports. */
#ifndef TAWNY_CLI_OUTPUTS_H
#define TAWNY_CLI_OUTPUTS_H

#include "cli/photos.h"
#include "measure/measure.h"

struct outputs {
  const char *icc, *corrected, *overlay, *outlines; /* paths; NULL: not wanted */
};

/* Before any work: ERROR_USAGE "several-photos" (each file is of one photo), "ending", "same-file" (two outputs are one
 * file, or one is the photo). */
bool outputs_check(const struct outputs *outputs, const struct photo_names *photos, struct error *error);

/* Writes what is wanted, each file whole or not at all; tells what fails and gives the exit status. */
int outputs_write(const struct outputs *outputs, const struct measurement *measurement);

#endif
