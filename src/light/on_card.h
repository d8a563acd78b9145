/* SPDX-License-Identifier: MIT */
/* The card's patches as samples of the light: their colours are known, so what they read against that is light. */
#ifndef TAWNY_LIGHT_ON_CARD_H
#define TAWNY_LIGHT_ON_CARD_H

#include "light/light.h"

/* Evidence from which a step on the card is sure: chance, glare and what a camera model leaves reach 9 on rendered cards. */
#define CARD_LIGHT_CERTAIN 13.0

struct card_sample {
  struct point place;
  struct vec3 log, spread; /* seen over due, channels as in cells.h; standard deviations */
};

struct card_light {
  size_t count;
  double reach; /* pixels from the middle of the samples to the outermost */
  struct point middle;
  struct card_sample sample[CARD_PATCHES_MAX];
};

/* A step of light across a line on the card. */
struct card_step {
  struct light_edge edge;
  struct vec3 step; /* of log light to the side the normal points to, channels as in cells.h */
  double evidence;  /* log likelihood over that of even light                                  */
};

/* Patches whose pixels are sound, through a first profile. */
void card_light_gather(const struct profile *profile, const struct card_reference *card,
                       const struct card_patches *patches, struct card_light *samples);

/* Takes the light out of the samples. */
void card_light_even(const struct light *light, struct card_light *samples);

/* How much better the samples fit a step across step->edge than even light; fills the step and the evidence, 0 where no shade is
 * like that. False, and 0, where fewer than three patches lie on either side: the card has nothing to say. */
bool card_light_try(const struct card_light *samples, struct card_step *step);

/* The best of many lines, positions and widths of the half shadow. Evidence 0 if there is none. */
struct card_step card_light_search(const struct card_light *samples);

#endif
