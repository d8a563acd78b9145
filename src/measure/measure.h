/* SPDX-License-Identifier: MIT */
/* From a photo and outlines to readings: the whole chain as one readable function. */
#ifndef TAWNY_MEASURE_MEASURE_H
#define TAWNY_MEASURE_MEASURE_H

#include "card/find.h"
#include "image/encoding.h"
#include "measure/proposal.h"
#include "measure/reading.h"

enum verdict { VERDICT_SOUND, VERDICT_DOUBTFUL, VERDICT_UNFIT };
const char *verdict_word(enum verdict verdict);

struct measure_options {
  const struct card_list *cards; /* to look for                                            */
  bool corners_given;            /* take `corner` in place of finding the card             */
  struct point corner[4];
  const struct region_list *regions; /* those of other photos are passed over; NULL: the card alone */
  bool propose;                      /* without regions: divide the face and read what is proposed */
};

struct measurement {
  char file[256]; /* name without directories                               */
  char sha256[65];
  struct image image; /* owned: for overlay and corrected picture               */
  struct encoding encoding;
  bool card_found;
  struct error card_error;    /* why not                                                */
  struct card_reference card; /* borrowed contents of options->cards: the edition that fits */
  struct card_pose pose;
  struct card_patches patches; /* owned                                                  */
  struct profile profile;
  struct light light;            /* owned                                                  */
  struct profile_sample *sample; /* owned; one a patch, as last fitted                     */
  bool second_card;              /* another card in the frame checked the first            */
  struct card_pose second_pose;
  double second_card_error; /* median CIEDE2000 of its patches read through this profile */
  struct reading *reading;  /* owned; one a region of this photo                      */
  size_t readings;
  bool proposed;            /* the regions are those of `proposal`                    */
  struct proposal proposal; /* owned */
  struct caveat *caveat;    /* owned */
  size_t caveats;
  enum verdict verdict;
};

/* Measures one photo. False with an error when the photo can't be read at all (a file fault, grey, too large). A photo without a
 * card, and regions that can't be measured, are results: card_found is false or the reading carries its error. */
bool measure_photo(const char *path, const struct measure_options *options, struct measurement *measurement,
                   struct error *error);

/* Reads one more region of a measured photo, whose card was found: the same way and with the same shared unknowns as its
 * readings, so that difference_of() cancels what they have in common. The reading borrows the region. */
void measure_region(const struct measurement *measurement, const struct region *region,
                    struct reading *reading);

/* The same for one of several parts whose outlines are made, not drawn: they are not checked, so that a ring may have a slit, and
 * `shared` (measure/shared.h) is made once for all. */
struct shared_unknowns;
void measure_part(const struct measurement *measurement, const struct shared_unknowns *shared,
                  const struct region *region, struct reading *reading);
void measurement_clear(struct measurement *measurement);

#endif
