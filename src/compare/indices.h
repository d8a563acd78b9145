/* SPDX-License-Identifier: MIT */
/* Quantities that soil science derives from a colour. A value is given only where every input was measured; none is ever put in by
 * an estimate. */
#ifndef TAWNY_COMPARE_INDICES_H
#define TAWNY_COMPARE_INDICES_H

#include "compare/deposits.h"

enum soil_index {
  INDEX_REDNESS_RATING, /* Torrent et al. 1983 */
  INDEX_REDNESS_LAB,    /* Barron & Torrent 1986 */
  INDEX_REDNESS_HURST,  /* Hurst 1977 */
  INDEX_DEVELOPMENT,    /* Buntley & Westin 1965 */
  INDEX_RUBIFICATION,   /* Harden 1982, against a parent material */
  INDEX_MELANIZATION,   /* the same */
  INDEX_NUMBERS,        /* those above are numbers, those below are classes: colour part only */
  INDEX_MOLLIC = INDEX_NUMBERS,
  INDEX_CHERNIC,
  INDEX_CLARIC,
  INDEX_GLEY,
  INDEX_DEPLETED,
  INDICES
};

const char *index_name(enum soil_index index);    /* "redness rating"                       */
const char *index_formula(enum soil_index index); /* with its units and, for classes, limits */
const char *index_source(enum soil_index index);

/* One index of one deposit. */
struct index_value {
  bool given;           /* false: an input is missing, or the index is not defined there */
  double value, spread; /* numbers: 95 % half-width by what the readings don't know      */
  bool met;             /* classes: by the nearest chips                                 */
  bool near_limit;      /* classes: within the spread it could be otherwise              */
};

/* Role that marks what Harden's two indices are held against: a deposit in the same state. */
#define INDEX_PARENT_ROLE "parent material"

/* They are of soils: of a find none is given. */
struct index_value index_of(const struct collection *collection, const struct deposits *deposits,
                            size_t deposit, enum soil_index index);

#endif
