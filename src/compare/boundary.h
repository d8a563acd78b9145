/* SPDX-License-Identifier: MIT */
/* Two touching regions compared along their common boundary: a band on either side of it lies in nearly the same light and is
 * seen by the same part of the lens, so that what the photo does to both cancels. */
#ifndef TAWNY_COMPARE_BOUNDARY_H
#define TAWNY_COMPARE_BOUNDARY_H

#include "measure/difference.h"
#include "measure/measure.h"

/* Share of the smaller region that both may claim before they are no neighbours but two outlines of one place. */
#define BOUNDARY_OVERLAP 0.05

struct boundary {
  double overlap;               /* share of the smaller region that lies in the other too                */
  bool compared;                /* false: overlap too large, or `error` says why a band can't be read     */
  struct error error;           /* kind ERROR_NONE where there is none                                    */
  double gap, width;            /* pixels from the other region's outline to the band, and the band's own */
  size_t pixels[2];             /* of the bands, left out not counted                                     */
  struct lab lab[2];            /* of the bands, D50                                                      */
  struct difference difference; /* of the bands, second minus first                                       */
};

/* Compares readings a and b of a measurement, both measured. False only for lack of memory. */
bool boundary_compare(const struct measurement *measurement, size_t a, size_t b, struct boundary *boundary,
                      struct error *error);

#endif
