/* SPDX-License-Identifier: MIT */
/* Places of a photo as words of the command line. */
#ifndef TAWNY_CLI_PLACE_H
#define TAWNY_CLI_PLACE_H

#include "measure/measure.h"

/* "x,y x,y ...": exactly `count` places, numbers parted by blanks or commas. */
bool place_parse(const char *text, size_t count, struct point *place);

/* What --card and --patches ask for (either may be NULL): opens the cards, which are the caller's to clear, and sets the options. */
bool place_cards(const char *card, const char *patches, struct card_list *cards,
                 struct measure_options *options, struct error *error);

#endif
