/* SPDX-License-Identifier: MIT */
/* Rendered faces of two touching deposits a known distance apart, or of one deposit cut in two by a line that means nothing, read as a
 * person would outline them. */
#ifndef TAWNY_TESTS_BOUNDARY_SCORE_H
#define TAWNY_TESTS_BOUNDARY_SCORE_H

#include "compare/boundary.h"
#include "source.h"

struct boundary_score {
  bool measured; /* card found and both regions read                */
  bool compared; /* along the boundary                              */
  double truth;  /* CIEDE2000 of the mean reflectances, D50         */
  struct difference whole, boundary;
};

/* A field scene of the seed; `apart` is the CIEDE2000 to be between the deposits, 0 for one deposit. The picture is written to
 * `path` and removed. */
bool boundary_score_scene(uint64_t seed, double apart, const struct spectra_source *source, const char *path,
                          struct boundary_score *score, struct error *error);

#endif
