/* SPDX-License-Identifier: MIT */
/* All that is told about a collection of readings. */
#ifndef TAWNY_COMPARE_FINDINGS_H
#define TAWNY_COMPARE_FINDINGS_H

#include "compare/deposits.h"
#include "compare/indices.h"
#include "compare/moisture.h"
#include "compare/pairs.h"

struct findings_wanted {
  const char
      *pairs; /* "1042:1043 1042:1044", parted by blanks or commas; NULL: none are asked for. A name is a
                      * context, else the label of a region                                              */
  size_t pairs_most; /* to list in full                                                                  */
  size_t contrasts_most;
};

struct findings {
  const struct collection *collection; /* borrowed */
  struct pair_table table;             /* owned, as all below */
  /* Pairs told in words: asked for; else of each photo those that touch, and where none do a fill against what surrounds it, but
   * not in unlike states. */
  struct pair_choice *line;
  size_t lines;
  struct pair_choice *shown; /* pairs told in figures: touching, then nearest */
  size_t shown_count;
  struct deposits deposits;
  struct moisture_shift *shift;
  size_t shifts;
  struct moisture_contrast *contrast;
  size_t contrasts, contrasts_all;
};

/* ERROR_UNMEASURABLE "one-reading" for fewer than two; ERROR_USAGE "pairs" for words that name no pair. Nothing is kept of a
 * failure. */
bool findings_make(const struct collection *collection, const struct findings_wanted *wanted,
                   struct findings *findings, struct error *error);
void findings_clear(struct findings *findings);

#endif
