/* SPDX-License-Identifier: MIT */
/* Spectra made from formulas of our own: soils, stones, lights, cameras. Plausible, not measured. */
#ifndef TAWNY_SUPPORT_MADE_H
#define TAWNY_SUPPORT_MADE_H

#include "colour/spectrum.h"
#include "random.h"

/* A dry soil. Absorption over scattering K/S is a sum of a flat part, humus falling exponentially with wavelength, and iron
 * oxides: an edge between 520 (yellow) and 580 nm (red) with weak bands beside it; the reflectance of a thick layer follows by
 * Kubelka & Munk, R = 1 + q - sqrt(q^2 + 2 q), q = K/S. */
struct soil_recipe {
  double flat;            /* 0.07 pale .. 1.6 dark                            */
  double humus, fall;     /* K/S at 500 nm; nm in which it falls by e         */
  double iron, redness;   /* K/S below the edge; 0 yellow .. 1 red            */
  double width;           /* of the edge, nm                                  */
  double shoulder, notch; /* bands at 650 and 485 nm as shares of `iron`      */
};
struct spectrum made_soil_of(const struct soil_recipe *recipe);
struct spectrum made_soil(struct random *random);

/* The same surface wet by a film of water, `degree` 0 dry, 1 wet: light that leaves the grains is mirrored back at the
 * water's surface with probability p, R_wet = (1 - m) (1 - a / (1 - p (1 - a))), a = 1 - R, m = 0.02, p = 0.47
 * (Lekner & Dorf 1988, Appl. Opt. 27, 1278-1280; from memory). Degrees between and above scale log(R_wet / R):
 * about 1.3 darkens as much as soil surveys report between dry and moist. */
struct spectrum made_wet(const struct spectrum *dry, double degree);

/* The colour of a reflectance under D50. */
struct lab made_lab(const struct spectrum *reflectance);

/* A stone or other inclusion: grey to buff, or near black (charcoal), or near white (chalk). */
struct spectrum made_inclusion(struct random *random);

/* A smooth reflectance of any hue: soil-like, or a bump, or a step up or down. */
struct spectrum made_reflectance(struct random *random);

/* A surface that reflects the same share of all wavelengths. */
struct spectrum made_flat(double reflectance);

/* An LED with a phosphor: a narrow blue Gaussian and a wide one, `blue` the height of the first over the second. */
struct spectrum made_led(double blue, double phosphor_nm, double phosphor_width);

/* Sensitivities of a camera for red, green, blue: skewed Gaussians with some crosstalk between them. */
void made_camera(struct random *random, struct spectrum sensitivity[3]);

/* Multiplies a reflectance by exp of a smooth random function of wavelength: standard deviation `size` at each wavelength,
 * correlated over about 80 nm. For printed patches that differ from their data sheet. */
struct spectrum made_deviation(const struct spectrum *reflectance, double size, struct random *random);

#endif
