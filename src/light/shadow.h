/* SPDX-License-Identifier: MIT */
/* Straight edges of shadows: a step in light that several deposits show alike along a line. */
#ifndef TAWNY_LIGHT_SHADOW_H
#define TAWNY_LIGHT_SHADOW_H

#include "light/cells.h"
#include "light/fit.h"
#include "light/on_card.h"

enum { SHADOW_CANDIDATES = 8 };

/* Log light: a weaker step is left to the field. */
#define SHADOW_STEP_LEAST 0.25

/* A line in cells: points p with p . normal = offset, from the frame's middle; angle of the normal in radians. */
struct shadow_line {
  double angle, offset;
};

struct shadow_found {
  struct shadow_line line;
  struct vec3 step; /* of log signal to the side the normal points to, channels as in cells.h */
  double score;     /* pairs that show it, times their share and the step, and what the card has to say */
  double reach;     /* cells from the line at which its sides were, or are to be, compared    */
  double half;      /* cells from its middle to where it no longer shows; 0: not known yet    */
  bool lone;        /* one deposit alone shows it, which may be two with a straight rim       */
  double bent;      /* robust spread of where profiles pass it, cells                         */
};

struct shadow_list {
  int count;
  struct shadow_found found[SHADOW_CANDIDATES + 1]; /* the likeliest first; room for the card's own */
};

/* Whether a step of log signal (channels as in cells.h) can be that of a shade: darker and bluer, or the other way round. */
bool shadow_may_be(struct vec3 step);

/* Lines of `even` that may be the edge of a shadow; fewer pairs of cells need show it where the card's samples, evened too, do. */
void shadow_search(const struct cells *cells, const struct card_light *card, struct shadow_list *list);

/* The line that the card shows by itself. */
void shadow_from_card(const struct cells *cells, const struct card_step *step, struct shadow_found *found);

/* Gives the light an edge, where its width is not known after moving the line to where the light is half way: its place and
 * width, the side that is the card's, and a first idea of the step's terms. */
void shadow_take(const struct cells *cells, struct shadow_found *found, const struct card_reference *card,
                 const struct card_pose *pose, struct light *light);

/* By how much an edge that is tried is borne out: by tiles of deposits that lie on both sides, those on the poorer side of each, and by
 * the pairs that showed it; both count less where the line is bent. 0 if the fitted step is small or unlike the one that was seen,
 * and for a lone edge: that is as well the rim of a second deposit. `side`: pixels of a cell. */
double shadow_support(const struct tiles *tiles, int segments, double side, const struct shadow_found *found,
                      const struct light *light);

/* Whether an edge that is tried looks like one, whatever the fit says: straight, and seen by many pairs. `side`: pixels of a cell. */
bool shadow_looks_like_one(const struct shadow_found *found, const struct light *light, double side);

/* Whether a straight step of brightness is left in `even` whatever its tint, and the straightest (line, step, reach, bent): an edge
 * that could not be made out, or a rim like one. */
bool shadow_is_left(const struct cells *cells, struct shadow_found *found);

/* Tells the light of an edge that may be there. */
void shadow_doubt(const struct cells *cells, const struct shadow_found *found, struct light *light);

#endif
