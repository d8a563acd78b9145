/* SPDX-License-Identifier: MIT */
/* The tables of calibration/munsell as constant arrays; calibration/munsell_tables.py writes them at build time and
 * says how. For files of this folder. */
#ifndef TAWNY_MUNSELL_TABLES_H
#define TAWNY_MUNSELL_TABLES_H

#include <math.h> /* the tables hold HUGE_VAL */

#include "munsell/chip.h"

enum {
  MUNSELL_PLANE_COUNT = 15,  /* values 0, 0.2 ... 1, 2 ... 10                              */
  MUNSELL_HUE_STEPS = 40,    /* hue step i is hue 2.5 i; step 40 is step 0 one turn on      */
  MUNSELL_CHROMA_STEPS = 26, /* chroma step j is chroma 2 j                                */
  MUNSELL_START_BINS = 64    /* of the full circle                                         */
};

/* A row of the renotation in the (a*, b*) plane under C at its value. */
struct munsell_node {
  double angle; /* radians, rising with hue; neighbours in hue, value or chroma less than half a turn apart */
  double radius;
};

extern const double MUNSELL_PLANES[MUNSELL_PLANE_COUNT];
extern const struct munsell_node MUNSELL_NODES[MUNSELL_PLANE_COUNT][MUNSELL_HUE_STEPS + 1]
                                              [MUNSELL_CHROMA_STEPS];

/* The chroma step of the last row of a value and hue, and of the last published one. */
extern const unsigned char MUNSELL_LAST[MUNSELL_PLANE_COUNT][MUNSELL_HUE_STEPS + 1];
extern const unsigned char MUNSELL_PUBLISHED_LAST[MUNSELL_PLANE_COUNT][MUNSELL_HUE_STEPS + 1];

/* A hue step near which to look for an angle; the bins begin at angle 0. */
extern const unsigned char MUNSELL_START[MUNSELL_PLANE_COUNT][MUNSELL_START_BINS];

/* Cumulated colour of the equal-reflectance spectrum under C from 380 nm on, at 1 nm: X, Y, Z, with Y = 100 at the end. */
enum { LIMIT_NODES = 402 };
extern const double LIMIT_SUMS[LIMIT_NODES][3];

/* Chips by rising value; a page holds those of one value. */
struct chip_page {
  double lightness; /* CIELAB L* of all its chips */
  size_t first, count;
};

extern const struct munsell_chip MUNSELL_SOIL_CHIPS[];
extern const struct chip_page MUNSELL_SOIL_PAGES[];
extern const size_t MUNSELL_SOIL_PAGE_COUNT;
extern const struct munsell_chip MUNSELL_BOOK_CHIPS[];
extern const struct chip_page MUNSELL_BOOK_PAGES[];
extern const size_t MUNSELL_BOOK_PAGE_COUNT;

/* hue (1 to 101, and beyond where a block passes 10RP), value, chroma: low <= colour < high. */
struct iscc_nbs_block {
  const char *name;
  double low[3], high[3];
};

extern const struct iscc_nbs_block ISCC_NBS_BLOCKS[];
extern const size_t ISCC_NBS_BLOCK_COUNT;

#endif
