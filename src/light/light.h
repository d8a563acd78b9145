/* SPDX-License-Identifier: MIT */
/* The light over the frame, as a gain on linear light: 1 at the card.
 *
 * A deposit is one colour, so the slow drift of log signal inside it is light. Blocks are given to deposits by
 * chromaticity, lightness and place; one smooth field (planar, radial, with small red/green and blue/green tilts) is shared
 * by all deposits, each deposit keeping its own level; a shadow edge splits the frame, and across it the field takes a step
 * measured on deposits that lie on both sides. docs/method.md has the model, its priors and what it mistakes for light. */
#ifndef TAWNY_LIGHT_LIGHT_H
#define TAWNY_LIGHT_LIGHT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/matrix.h"
#include "card/patches.h"
#include "image/blocks.h"
#include "profile/profile.h"

enum {
  LIGHT_COMMON = 5, /* terms that all channels share: x, y, radial, x^2 - y^2, xy           */
  LIGHT_TINT = 3,   /* of red over green, and of blue over green: x, y, radial              */
  LIGHT_RED_AT = LIGHT_COMMON,
  LIGHT_BLUE_AT = LIGHT_RED_AT + LIGHT_TINT,
  LIGHT_STEP_AT = LIGHT_BLUE_AT + LIGHT_TINT, /* R G B: log gain beyond a shadow edge, 0 without one      */
  LIGHT_TERMS = LIGHT_STEP_AT + 3,
  LIGHT_DEPOSITS_MAX = 64
};

/* Where a place stands towards a shadow edge. */
enum light_side {
  LIGHT_AS_CARD, /* no edge between the card and here                                        */
  LIGHT_BEYOND,  /* across a shadow edge: the gain takes the step measured there             */
  LIGHT_ON_EDGE  /* in the half shadow, where the gain changes too fast to be known          */
};

/* A straight edge of a shadow. */
struct light_edge {
  struct point place;  /* on it, pixels                                                    */
  struct point normal; /* unit, away from the side that most of the card's patches are on  */
  double half;         /* pixels from its middle to where it no longer shows               */
};

struct light {
  struct point centre;      /* of the card                                                     */
  struct point middle;      /* of the frame                                                    */
  double scale;             /* pixels: half the frame's diagonal                               */
  double term[LIGHT_TERMS]; /* log gain, natural                                               */
  double covariance[LIGHT_TERMS][LIGHT_TERMS];
  bool estimated; /* false: too little to go by, gain 1 (but for an edge) by the prior  */
  /* Drift of deposits against the field they share, in standard deviations; 1 is as expected. The covariance is already widened
   * by it. */
  double disagreement;
  bool shadow_unsure;       /* a straight step is left that may be an edge                          */
  struct light_edge unsure; /* where shadow_unsure: that step, half 0, away from the card          */
  struct vec3 unsure_step;  /* R G B: log gain that it would add beyond, 0 without one             */
  bool shadow_edge;         /* an edge was found                                               */
  bool shadow_over_card;    /* and it crosses the card                                         */
  struct light_edge edge;   /* where shadow_edge                                              */
};

/* Estimates the light from the blocks of the photo (codes), the card's patches and a first profile. Never fails for lack
 * of evidence: it then says so in `estimated` and the covariance. */
bool light_estimate(const struct image_blocks *blocks, const struct profile *profile,
                    const struct card_reference *card, const struct card_pose *pose,
                    const struct card_patches *patches, struct light *light, struct error *error);

/* Gain R G B on linear light at a place. */
struct vec3 light_gain(const struct light *light, struct point place);

/* d(log gain R G B) / d(term) at a place. */
void light_jacobian(const struct light *light, struct point place, double jacobian[3][LIGHT_TERMS]);

/* Share of the step that a place takes: 0 on the card's side, 1 beyond, a smooth rise in the half shadow. */
double light_share_of_step(const struct light *light, struct point place);

/* With an edge over the card this also tells which of its patches are shaded: those not LIGHT_AS_CARD. */
enum light_side light_side_at(const struct light *light, struct point place);

/* Whether a place lies across the step that may be an edge, seen from the card. */
bool light_is_unsure(const struct light *light, struct point place);

#endif
