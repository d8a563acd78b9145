/* SPDX-License-Identifier: MIT */
/* Measured spectra for comparison that are no part of the project. They are looked for in the folder that the environment
 * variable TAWNY_SHARED names, else in ../shared beside the sources; tests that want them are skipped where they are
 * absent. */
#ifndef TAWNY_SUPPORT_SHARED_H
#define TAWNY_SUPPORT_SHARED_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "colour/spectrum.h"

/* Rows of a file of spectra, on our wavelengths. */
struct spectra {
  size_t count;
  struct spectrum *spectrum; /* owned */
  char (*name)[64];          /* owned */
};

/* Path of a file there, such as "spectra/soil_pairs_dry.csv". False where it can't be read. */
bool shared_path(const char *name, char *path, size_t size);

/* Reads a CSV of spectra: first row "id" and wavelengths in nm, then a row a spectrum. Values between the wavelengths are
 * interpolated, those beyond the ends are the end's times `beyond` (1 for reflectances, 0 for sensitivities). */
bool spectra_read(const char *path, double beyond, struct spectra *spectra, struct error *error);
void spectra_clear(struct spectra *spectra);

/* The row of that name; NULL if there is none. */
const struct spectrum *spectra_find(const struct spectra *spectra, const char *name);

#endif
