/* SPDX-License-Identifier: MIT */
/* Straight edges of shadows: a step in light that several deposits show alike along a line. */
#ifndef TAWNY_LIGHT_SHADOW_H
#define TAWNY_LIGHT_SHADOW_H

#include "light/cells.h"
#include "light/fit.h"

enum { SHADOW_CANDIDATES = 4 };

/* A line in cells: points p with p . normal = offset, from the frame's middle; angle of the normal in radians. */
struct shadow_line {
  double angle, offset;
};

struct shadow_found {
  struct shadow_line line;
  struct vec3 step; /* of log signal to the side the normal points to, channels as in cells.h */
  double score;
  double bent; /* robust spread of where profiles pass it, cells */
};

struct shadow_list {
  int count;
  struct shadow_found found[SHADOW_CANDIDATES]; /* the likeliest first */
};

/* Lines of `even` that may be the edge of a shadow. */
void shadow_search(const struct cells *cells, struct shadow_list *list);

/* Gives the light an edge, after moving the line to where the light is half way: its place and width, the side that is the card's, and a first idea of the step's terms. */
void shadow_take(const struct cells *cells, struct shadow_found *found, const struct card_reference *card,
                 const struct card_pose *pose, struct light *light);

/* By how many tiles the fitted step is borne out, those on the poorer side of each deposit; 0 if the step is small or
 * fewer than two deposits show it (one, if the edge is soft). `side`: pixels of a cell. */
double shadow_support(const struct tiles *tiles, int segments, double side, const struct light *light);

#endif
