/* SPDX-License-Identifier: MIT */
/* The boundary around an outline: where it lies beside the line that was drawn, how thick it is, where it fades, and what its course
 * is like.
 *
 * Short lines square to the outline, evenly spaced, are read as edge.h reads one. What the clearest of them agree on is the outline's
 * change; on each of the others it is found, or not told apart. */
#ifndef TAWNY_COMPARE_EDGE_OUTLINE_H
#define TAWNY_COMPARE_EDGE_OUTLINE_H

#include "compare/edge.h"

enum { EDGE_PLACES_MAX = 128, EDGE_PLACES_LEAST = 8 };

/* On one of them the boundary is told apart where the evidence passes this: less than for a lone line, as the outline says where to look. */
#define EDGE_PLACE_EVIDENCE 25.0

/* Course of a boundary (both field books): pockets wider than deep, or deeper than wide; broken where it is not continuous. */
enum edge_course { EDGE_SMOOTH, EDGE_WAVY, EDGE_IRREGULAR, EDGE_BROKEN };
const char *edge_course_word(enum edge_course course);

/* One place of the outline. */
struct edge_place {
  struct point at, outward; /* on the outline, pixels; unit, out of the region                              */
  bool read, told;          /* false: beside the photo, on the card, or nothing to read; no boundary there  */
  struct edge_figure offset,
      thick; /* pixels: of the boundary from the outline, outward positive; across it */
  bool at_most;
};

struct edge_outline {
  const struct region *region; /* borrowed */
  bool measured;
  struct error error;       /* why not */
  double reach;             /* pixels that each line goes to either side */
  struct edge_place *place; /* owned */
  size_t places, read, told;
  double fades;              /* share of the places read where no boundary is told apart               */
  struct edge_figure offset; /* pixels: the middle of all places, with its interval                   */
  double scatter;            /* pixels: robust spread of single places                                */
  struct edge_figure thick;  /* pixels: median, and between what the middle half of the places lie    */
  bool at_most;
  bool scaled;         /* as of a line */
  double mm_per_pixel; /* at the outline's middle, across the outline: mean over places */
  struct edge_figure offset_mm, thick_mm;
  bool coursed; /* enough was told for the course */
  enum edge_course course;
  double pocket_deep, pocket_wide; /* pixels: of the deepest pocket        */
  struct edge_side side[2];        /* inside and outside, along the outline */
  bool compared;
  struct difference difference;
};

/* False only for want of memory; what can't be measured is said in `error`. */
bool edge_outline_measure(const struct measurement *measurement, const struct region *region,
                          struct edge_outline *outline, struct error *error);
void edge_outline_clear(struct edge_outline *outline);

#endif
