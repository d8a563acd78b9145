/* SPDX-License-Identifier: MIT */
/* A measured photo built by hand: four regions of an invented section, one of which failed, and their comparisons. */
#ifndef TAWNY_TESTS_REPORT_SAMPLE_H
#define TAWNY_TESTS_REPORT_SAMPLE_H

#include "compare/mottle.h"

enum { SAMPLE_REGIONS = 4, SAMPLE_PAIRS = 3, SAMPLE_PATCHES = 3, SAMPLE_CAVEATS = 2 };

/* Points into itself: never copied. */
struct sample {
  struct measurement measurement;
  struct region region[SAMPLE_REGIONS];
  struct reading reading[SAMPLE_REGIONS];
  struct comparison pair[SAMPLE_PAIRS];
  struct card_patch patch[SAMPLE_PATCHES];
  struct profile_sample card_sample[SAMPLE_PATCHES];
  struct card_patch_view view[SAMPLE_PATCHES];
  struct caveat caveat[SAMPLE_CAVEATS];
  struct mottles mottled; /* of 1042; not in `mottles` unless a test puts it there */
  struct mottle_list mottles;
};

/* 1042 moist, touching 1043 moist (apart, distinct) and 1044 dry (apart, faint); 1043 and 1044 not told apart; 1045 outside. */
void sample_make(struct sample *sample);

/* 1042 has red mottles with a size and gray ones without: lists them in `mottles`. */
void sample_mottle(struct sample *sample);

/* The same photo without a card. */
void sample_without_card(struct sample *sample);

#endif
