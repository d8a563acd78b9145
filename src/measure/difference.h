/* SPDX-License-Identifier: MIT */
/* How far two readings are apart, and how sure that is. What readings of one photo share (camera, light) moves both alike and
 * cancels as far as it does; readings of different photos share nothing that is known: give such a pair no shared part. */
#ifndef TAWNY_MEASURE_DIFFERENCE_H
#define TAWNY_MEASURE_DIFFERENCE_H

#include "measure/reading.h"

/* Added to each variance of a difference in Lab, so that its inverse exists: 0.01 Lab is below anything read. */
#define DIFFERENCE_VARIANCE_FLOOR 1e-4

struct difference {
  struct vec3 lab;        /* b minus a in L*, a*, b*, D50                                  */
  struct mat3 covariance; /* of `lab`, invertible                                          */
  double de00;            /* CIEDE2000                                                     */
  double uncertainty;     /* 95 % half-width of de00                                       */
  bool apart;             /* zero lies outside the 95 % region of `lab`                    */
};

/* Both must be measured. Asks for lab_d50, shared and own of each. */
struct difference difference_of(const struct reading *a, const struct reading *b);

/* The same for the two sides of a boundary, where a step that may be a shadow's edge is what is looked at: it is taken for colour, and
 * a caveat says so. */
struct difference difference_across(const struct reading *a, const struct reading *b);

#endif
