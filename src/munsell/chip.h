/* SPDX-License-Identifier: MIT */
/* Chips of soil charts and of the whole book, and colour names. All tables are compiled in. */
#ifndef TAWNY_MUNSELL_CHIP_H
#define TAWNY_MUNSELL_CHIP_H

#include <stddef.h>

#include "munsell/renotation.h"

enum munsell_confidence { MUNSELL_CONFIDENCE_LOW, MUNSELL_CONFIDENCE_MEDIUM, MUNSELL_CONFIDENCE_HIGH };

struct munsell_chip {
  const char *notation;               /* "10YR 4/3", "N 5/"                                        */
  const char *name;                   /* soil colour name, US spelling; NULL for chips of the book  */
  enum munsell_confidence confidence; /* of the name (calibration/README.md)          */
  struct munsell colour;
  struct lab lab_c; /* CIELAB under C, in which nearness is measured              */
  struct lch lch_c; /* the same colour                                            */
};

/* Chips of the soil charts: the rows of calibration/munsell/soil_names.csv but those of chroma 0 on hue pages. */
size_t munsell_soil_chip_count(void);
const struct munsell_chip *munsell_soil_chip(size_t index); /* index < count; lives for ever */

/* Nearest soil chip by CIEDE2000 between Labs under C; the distance goes to *de00 unless NULL. Not finite: NULL. */
const struct munsell_chip *munsell_nearest_soil_chip(struct lab lab_c, double *de00);

/* The up to `count` nearest soil chips, nearest first; returns how many were written. */
size_t munsell_nearest_soil_chips(struct lab lab_c, size_t count, const struct munsell_chip **chips,
                                  double *de00);

/* Nearest chip of the whole book: the published (1943) rows with hues in steps of 2.5, values 2 to 9 and 2.5, even
 * chromas and 1, and the neutrals; for fabrics and glazes off the soil charts. */
const struct munsell_chip *munsell_nearest_book_chip(struct lab lab_c, double *de00);

/* ISCC-NBS name (Kelly & Judd 1976, NBS SP 440) of a notation, such as "moderate reddish brown". Never NULL. */
const char *munsell_iscc_nbs_name(struct munsell m);

#endif
