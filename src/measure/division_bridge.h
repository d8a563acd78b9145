/* SPDX-License-Identifier: MIT */
/* What is behind the strings on a face, as far as what is beside them tells. */
#ifndef TAWNY_MEASURE_DIVISION_BRIDGE_H
#define TAWNY_MEASURE_DIVISION_BRIDGE_H

#include "measure/division.h"

/* Gives marked cells the colour of the nearest ones that are not marked, off the card and open, and opens them. */
bool division_bridge(struct cells *cells, const uint8_t *marked, struct error *error);

/* The same for larger cells of the same photo: those that a string of the division touches. */
bool division_bridge_coarse(const struct division *division, struct cells *coarse, struct error *error);

#endif
