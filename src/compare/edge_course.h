/* SPDX-License-Identifier: MIT */
/* The course of a boundary: smooth, wavy, irregular or broken. */
#ifndef TAWNY_COMPARE_EDGE_COURSE_H
#define TAWNY_COMPARE_EDGE_COURSE_H

#include "compare/edge_outline.h"

/* From the offsets of the places: fills course, coursed and the deepest pocket. The course measured is held against its smooth trend, the
 * first EDGE_HARMONICS harmonics of the closed curve; a pocket is a run of places on one side of it, as deep as the furthest of
 * them and as wide as the run is long. Pockets shallower than a limit (a share of the perimeter, and what the places' own doubt can
 * make) are none. Broken: a quarter of the outline or more shows no boundary. */
enum { EDGE_HARMONICS = 3 };
void edge_course_find(struct edge_outline *outline);

#endif
