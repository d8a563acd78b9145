/* SPDX-License-Identifier: MIT */
/* From one white to another.
 *
 * There are two different questions. *Which colour does the same object have under another light?* depends
 * on its reflectance; colour_object_* answer it for smooth reflectances such as soils have, by a 3x3 fitted on
 * spectra made from a formula and holding the white exactly (docs/method.md has derivation and residuals; a test
 * refits it). *Which colour would look the same?* is chromatic adaptation (Bradford, CAT16): for display only. */
#ifndef TAWNY_COLOUR_ADAPT_H
#define TAWNY_COLOUR_ADAPT_H

#include "colour/space.h"

/* The colour under illuminant C of the object that has the colour c under D50, and back. White goes to white
 * exactly; the two are each other's inverse to rounding. */
struct xyz colour_object_c_from_d50(struct xyz c);
struct xyz colour_object_d50_from_c(struct xyz c);

/* The matrices behind them, for error propagation. */
struct mat3 colour_object_matrix_c_from_d50(void);
struct mat3 colour_object_matrix_d50_from_c(void);

enum colour_adaptation {
  COLOUR_BRADFORD, /* linear Bradford, as in ICC.1 annex E */
  COLOUR_CAT16     /* Li et al. 2017, full adaptation       */
};

/* Matrix that takes XYZ under white `from` to the corresponding colour under white `to`. */
struct mat3 colour_adaptation_matrix(enum colour_adaptation method, struct xyz from, struct xyz to);

#endif
