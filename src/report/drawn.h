/* SPDX-License-Identifier: MIT */
/* A measured photo drawn: which card was read, which outlines, and what they came to. */
#ifndef TAWNY_REPORT_DRAWN_H
#define TAWNY_REPORT_DRAWN_H

#include "measure/measure.h"

/* Makes `drawn`, an image of its own: the photo with card, patches (those left out crossed, with the cause), what was taken
 * for the edge of a shadow or may be one, and outlines, each with its label and chip. Needs a card that was found. */
bool report_drawn(const struct measurement *measurement, struct image *drawn, struct error *error);

#endif
