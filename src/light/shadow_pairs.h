/* SPDX-License-Identifier: MIT */
/* Pairs of cells on either side of a line: what a step of light, or a rim of deposits, looks like along it. */
#ifndef TAWNY_LIGHT_SHADOW_PAIRS_H
#define TAWNY_LIGHT_SHADOW_PAIRS_H

#include "light/shadow.h"

enum { PAIRS_MAX = 128 };

struct pair {
  double along;                     /* cells from the line's foot                                      */
  struct vec3 before, behind, step; /* `even` of the cells; behind: the side the normal points to      */
};

struct pairs {
  int count;
  struct pair pair[PAIRS_MAX];
};

/* The line in pixels, with a half shadow of `half` cells. */
struct light_edge line_as_edge(const struct cells *cells, struct shadow_line line, double half);

/* Pairs of open cells `reach` cells from the line, every two cells along it. */
void pairs_gather(const struct cells *cells, struct shadow_line line, double reach, struct pairs *pairs);

/* Whether a pair shows a step, as far as the tone curve is known. */
bool pair_shows(const struct pair *pair, struct vec3 step);

/* Whether a pair shows one deposit in one light, where there should be a step. */
bool pair_is_against(const struct pair *pair, struct vec3 step);

/* The step of a shade that most pairs show; returns their number. */
int pairs_commonest(const struct pairs *pairs, struct vec3 *step);

/* Spread along the line, of the pairs that show the step: of their levels over that of their steps. A rim of one deposit
 * against another has levels that stay as they are. */
double pairs_levels_apart(const struct pairs *pairs, struct vec3 step);

/* Where profiles pass half of their pair's step, and how far it is from a fifth of it to four fifths, NAN where that does not show. */
struct crossings {
  int count;
  double along[PAIRS_MAX], off[PAIRS_MAX], width[PAIRS_MAX];
};

/* Adds that of a pair, if it has one. */
void crossings_add(const struct cells *cells, struct shadow_line line, double reach, const struct pair *pair,
                   struct crossings *crossings);

/* Moves the line onto the crossings; `bent`: their robust spread about it, cells; infinite where they are too few to tell. */
void crossings_line(const struct crossings *crossings, struct shadow_line *line, double *bent);

/* The median width, cells; 0 where none shows. */
double crossings_width(const struct crossings *crossings);

/* The same from its middle to where it no longer shows. */
double crossings_half(const struct crossings *crossings);

#endif
