/* SPDX-License-Identifier: MIT */
/* The photos of a command line, measured one after another. */
#ifndef TAWNY_CLI_PHOTOS_H
#define TAWNY_CLI_PHOTOS_H

#include <stdio.h>

#include "cli/options.h"
#include "measure/measure.h"

/* What is looked for where no card is named. */
#define CARD_DEFAULT "chart24"

struct photo_names {
  char **name; /* owned, as are the strings */
  size_t count;
};

/* The operands in order; "-" stands for names on `input`, one a line, empty lines passed over. ERROR_USAGE "no-photo",
 * "list-twice", ERROR_FILE "bad-list". */
bool photos_collect(const struct words *words, FILE *input, struct photo_names *photos, struct error *error);
void photos_clear(struct photo_names *photos);

/* How measured photos are shown and otherwise used. */
struct photo_use {
  const struct measure_options *options;
  bool json;
  /* What to do where no card is found, in place of the option that says where it is; NULL for commands that have that. */
  const char *no_card;
  /* Adds to `out`, which goes to standard output when it returns, whatever it returns; gives the exit status of what failed after it has
   * been told. */
  int (*show)(const char *path, const struct measurement *measurement, const void *context, struct text *out);
  const void *context;
};

/* Measures and shows every photo, tells what fails on standard error, and returns the gravest exit status. */
int photos_measure(const struct photo_names *photos, const struct photo_use *use);

#endif
