/* SPDX-License-Identifier: MIT */
/* sRGB (IEC 61966-2-1) for display: swatches, overlays, #rrggbb on input. Never on the way to a reading. */
#ifndef TAWNY_COLOUR_SRGB_H
#define TAWNY_COLOUR_SRGB_H

#include <stdbool.h>
#include <stdint.h>

#include "colour/space.h"

struct srgb {
  uint8_t red, green, blue;
  bool in_gamut; /* false: the colour was clipped to the nearest edge of each channel */
};

double colour_srgb_decode(double code);   /* 0..1 code to 0..1 linear; odd extension below 0 */
double colour_srgb_encode(double linear); /* and back */

/* Bradford from D50 to D65, then the sRGB matrix and curve. */
struct srgb colour_srgb_from_lab_d50(struct lab c);

/* XYZ under D50 (Bradford from D65) of an sRGB colour. */
struct xyz colour_xyz_d50_from_srgb(struct srgb c);

#endif
