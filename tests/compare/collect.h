/* SPDX-License-Identifier: MIT */
/* Collections made up for tests. */
#ifndef TAWNY_TESTS_COLLECT_H
#define TAWNY_TESTS_COLLECT_H

#include "compare/collection.h"

/* Adds a photo that shares nothing. */
void collect_photo(struct collection *collection);

/* Adds a reading of this colour to the last photo, of equal variance in L*, a*, b* all its own. */
struct collected *collect_lab(struct collection *collection, const char *context,
                              enum region_moisture moisture, struct lab lab, double variance);

/* The same of a notation. */
struct collected *collect_notation(struct collection *collection, const char *context,
                                   enum region_moisture moisture, const char *notation, double variance);

#endif
