/* SPDX-License-Identifier: MIT */
/* Pairs of readings. */
#ifndef TAWNY_COMPARE_COMPARE_H
#define TAWNY_COMPARE_COMPARE_H

#include "measure/measure.h"

/* Contrast of features by the published table (USDA Soil Survey Technical Note 2; Field Book 3.0 p. 2-5), from chip steps.
 * docs/method.md names how gaps in it are read. */
enum contrast { CONTRAST_FAINT, CONTRAST_DISTINCT, CONTRAST_PROMINENT };
const char *contrast_word(enum contrast contrast);

/* Pages apart the shorter way round 40; a neutral against a hue counts one page, two neutrals none. Decimal input is taken
 * as it stands (pages of 2.5, interpolated). */
enum contrast contrast_of(struct munsell a, struct munsell b);

struct comparison {
  size_t a, b;            /* readings, a < b                                                      */
  bool touching;          /* outlines closer than 3 % of the smaller one's size, at least 2 px     */
  double de00;            /* CIEDE2000                                                             */
  double uncertainty;     /* 95 % half-width of de00, what the two share cancelled                 */
  bool apart;             /* zero lies outside the 95 % region of the difference in Lab            */
  enum contrast contrast; /* of the nearest chips                                                  */
  int same_moisture;      /* 1 yes, 0 no, -1 not stated for one of them                            */
};

enum { COMPARE_ALL_PAIRS_MAX = 100 };

/* All pairs of up to COMPARE_ALL_PAIRS_MAX measured readings, beyond that the touching ones. The list is owned by the caller
 * (free()). */
bool compare_measurement(const struct measurement *measurement, struct comparison **list, size_t *count,
                         struct error *error);

#endif
