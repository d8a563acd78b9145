/* SPDX-License-Identifier: MIT */
/* The colour columns of a card file, to CIELAB under D50. For reference.c alone. */
#ifndef TAWNY_CARD_COLOURS_H
#define TAWNY_CARD_COLOURS_H

#include "card/cgats.h"
#include "card/reference.h"

/* Fills lab_d50 of the patches, one a row. ERROR_FILE "bad-card" when no kind of colour, or more than one, is there in
 * full, when the white that a kind needs is not named, or when a value is no colour a surface can have. */
bool card_colours_read(const struct cgats *cgats, struct card_patch *patch, struct error *error);

/* Whether a column belongs to one of the kinds of colour. */
bool card_colours_column(const struct cgats_word *name);

#endif
