/* SPDX-License-Identifier: MIT */
/* Colours of reflectance spectra by summation, 380 to 780 nm at 5 nm (CIE 15, 7.1).
 * For cards described by spectra, for deriving matrices, and for tests. */
#ifndef TAWNY_COLOUR_SPECTRUM_H
#define TAWNY_COLOUR_SPECTRUM_H

#include "colour/space.h"

enum { SPECTRUM_BANDS = 81 }; /* band i is 380 + 5 i nm */

struct spectrum {
  double band[SPECTRUM_BANDS];
};

enum spectrum_illuminant { ILLUMINANT_A, ILLUMINANT_C, ILLUMINANT_D50, ILLUMINANT_D65 };

/* Relative power of an illuminant, from calibration/cie; never fails. */
struct spectrum spectrum_of_illuminant(enum spectrum_illuminant illuminant);

/* CIE daylight of a correlated colour temperature 4000..25000 K (CIE 15, 4.1.2), 560 nm = 100. Outside that range
 * the nearest end is used. */
struct spectrum spectrum_of_daylight(double kelvin);

/* Tristimulus values of a reflectance (0..1) under a light, Y = 100 for the perfect diffuser. */
struct xyz spectrum_xyz(const struct spectrum *reflectance, const struct spectrum *light);

#endif
