/* SPDX-License-Identifier: MIT */
/* Boards, labels and scale bars on a face: straight-sided and of a colour that no deposit of the face has. */
#ifndef TAWNY_MEASURE_BOARDS_H
#define TAWNY_MEASURE_BOARDS_H

#include "measure/division.h"

/* Marks them in the things of a division whose parts are numbered, all that lies between their sides included: stripes, writing, and
 * a little beyond. */
bool boards_mark(const struct profile *profile, const struct light *light, struct division *division,
                 struct error *error);

#endif
