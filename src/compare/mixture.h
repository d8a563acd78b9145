/* SPDX-License-Identifier: MIT */
/* Colours as a mixture of a few normal distributions that share one covariance: deposits of one photo differ in colour more
 * than in texture. Maximum likelihood by expectation and maximisation (Dempster, Laird & Rubin 1977, J. R. Stat. Soc. B 39, 1). */
#ifndef TAWNY_COMPARE_MIXTURE_H
#define TAWNY_COMPARE_MIXTURE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/matrix.h"

enum { MIXTURE_PARTS_MAX = 4 };

struct mixture {
  size_t parts;
  double share[MIXTURE_PARTS_MAX]; /* sum 1 */
  struct vec3 mean[MIXTURE_PARTS_MAX];
  struct mat3 covariance; /* of every part */
  double likelihood;      /* natural logarithm, mean over the colours; set by mixture_fit */
};

/* Covariance that storing alone makes; added to that of the parts, so that colours that share a code are no part of their
 * own. Improves *mixture, which holds a start, for up to `rounds` rounds or until the likelihood rises by less than
 * `enough`. */
void mixture_fit(const struct vec3 *colour, size_t count, struct mat3 least, int rounds, double enough,
                 struct mixture *mixture);

/* Inverse of the covariance's Cholesky factor: |whiten (x - mean)| is a distance in standard deviations. */
struct mat3 mixture_whitening(struct mat3 covariance);

/* Squared distance of a colour from a part. */
double mixture_distance2(struct mat3 whiten, struct vec3 mean, struct vec3 colour);

/* Looks for a further part and takes it in: candidates are the densest place among the colours further than 3.5 standard
 * deviations from every part, and the split of each part along its widest axis that leaves least variance; the likelier
 * one is kept. False, and *mixture untouched, when there is none or the parts are MIXTURE_PARTS_MAX. */
bool mixture_grow(const struct vec3 *colour, size_t count, struct mat3 least, struct mixture *mixture);

#endif
