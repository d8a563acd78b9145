/* SPDX-License-Identifier: MIT */
/* What the files of the proposal share. */
#ifndef TAWNY_MEASURE_PROPOSE_PARTS_H
#define TAWNY_MEASURE_PROPOSE_PARTS_H

#include "measure/division.h"
#include "measure/measure.h"
#include "measure/shared.h"

enum { GROUP_NONE = -1, GROUP_LEFT_OUT = -2 };

struct propose_part {
  struct reading reading; /* merged as parts are; statistics by weights of pixels */
  struct region outline;  /* owned; inset                                           */
  double cells;           /* without things                                        */
  double things;          /* cells of it that are covered by things                */
  int joined;             /* the part that it is given to; itself if none           */
  int group;              /* parts of like colour, from 0; GROUP_NONE: not yet       */
};

struct propose_work {
  const struct image_blocks *blocks;
  const struct measurement *m;
  struct division division;
  struct shared_unknowns shared;
  struct propose_part *part; /* owned; 0..count-1 is division's part 1.. */
  int count, groups;
  int *sides;    /* owned; shared sides of parts, count x count */
  uint8_t *mask; /* owned; a cell each                          */
};

/* Whether a part still stands for itself: neither joined to another nor left out. */
bool propose_stands(const struct propose_work *w, int part);

/* Marks what is no deposit as left out and sums up its share of the face. */
bool propose_leave_out(struct propose_work *w, struct proposal *proposal, struct error *error);

#endif
