/* SPDX-License-Identifier: MIT */
/* The files that `tawny read` and `tawny propose` write beside their reports, and what no command may write over. */
#ifndef TAWNY_CLI_OUTPUTS_H
#define TAWNY_CLI_OUTPUTS_H

#include "cli/photos.h"
#include "measure/measure.h"

struct outputs {
  const char *icc, *corrected, *overlay, *outlines; /* paths; NULL: not wanted */
};

/* The files that a command reads. */
struct inputs {
  const struct photo_names *photos; /* or saved readings */
  const char *regions, *card;       /* paths; NULL: none; a card's name is a path of no file */
};

/* ERROR_USAGE "same-file": what --`option` would write to `path` would replace one of the inputs, by this name or another. */
bool outputs_spare(const char *option, const char *path, const struct inputs *inputs, struct error *error);

/* Before any work: ERROR_USAGE "several-photos" (each file is of one photo), "ending", "same-file" (two outputs are one
 * file, or one is an input). */
bool outputs_check(const struct outputs *outputs, const struct inputs *inputs, struct error *error);

/* Writes what is wanted, each file whole or not at all; tells what fails and gives the exit status. */
int outputs_write(const struct outputs *outputs, const struct measurement *measurement);

#endif
