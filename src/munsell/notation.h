/* SPDX-License-Identifier: MIT */
/* Writing Munsell notations and reading what people write. */
#ifndef TAWNY_MUNSELL_NOTATION_H
#define TAWNY_MUNSELL_NOTATION_H

#include "base/error.h"
#include "munsell/renotation.h"

enum { MUNSELL_NOTATION_SIZE = 40 };

/* "8.1YR 4.2/3.3", or "N 5.1/" for neutrals, with `decimals` (0 to 8) places; hue 0 of a family is written as 10 of
 * the one before (10R, not 0YR). */
void munsell_format(struct munsell m, int decimals, char text[MUNSELL_NOTATION_SIZE]);

/* Reads "10YR 4/3", "7.9YR 4.25/3.4", "N 5/", "N5/0", "10YR4/3", any case, and chroma 0 on a hue page as neutral.
 * Hue 0..10 with a family, value 0..10, chroma 0..50. ERROR_USAGE "notation" says which part is wrong. */
bool munsell_parse(const char *text, struct munsell *m, struct error *error);

#endif
