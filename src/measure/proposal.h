/* SPDX-License-Identifier: MIT */
/* What is proposed for a photo: parts, each with an outline, and the boundaries between them. */
#ifndef TAWNY_MEASURE_PROPOSAL_H
#define TAWNY_MEASURE_PROPOSAL_H

#include "region/region.h"

/* Why a piece of the face is no part. */
enum proposal_cause {
  PROPOSAL_SPECKS,  /* too small, too thin (strings), or of no one colour  */
  PROPOSAL_STRANGE, /* of a colour that soils do not have                 */
  PROPOSAL_THING,   /* smooth with straight sides: a board, a label, a bar */
  PROPOSAL_CAUSES
};

struct proposal_boundary {
  size_t a, b;         /* parts, a < b                                                        */
  struct point *place; /* owned; stretches, two places each                                   */
  size_t places;
  struct point middle; /* of it, on it                                                        */
};

struct proposal {
  struct region_list
      regions;   /* owned; part i is region i, the largest first. Labels are a letter, and where several parts
                               * are not told apart a number: a-1, a-2: a likeness of colour, no statement of one context */
  double *share; /* owned; of the face (the photo without the card), a part               */
  double
      left_out[PROPOSAL_CAUSES]; /* of the face                                                            */
  struct proposal_boundary
      *boundary; /* owned; longest first                                                   */
  size_t boundaries;
};

void proposal_clear(struct proposal *proposal);

#endif
