/* SPDX-License-Identifier: MIT */
/* A measured photo for people: first the lines for the context sheet, then the figures, then the card, doubts and, where the
 * eye ends in a terminal, the verdict. */
#ifndef TAWNY_REPORT_SHEET_H
#define TAWNY_REPORT_SHEET_H

#include "base/text.h"
#include "compare/mottle.h"

/* CIEDE2000 to the nearest chip beyond which a colour lies off the soil charts, so that the name is only the nearest chip's. From
 * half a step of a brown chart's chip in hue, value and chroma it is at most 5.8 to the nearest one (tests/report). */
#define SHEET_OFF_CHART 6.0

struct sheet_style {
  bool colour;  /* the terminal takes 24-bit colour: show swatches */
  bool explain; /* the budget of each reading in words             */
};

/* Adds the text of one photo. */
void report_sheet(const struct measurement *measurement, const struct comparison *comparison,
                  size_t comparisons, const struct mottle_list *mottles, struct sheet_style style,
                  struct text *out);

/* Adds what `tawny check` says: fit for measuring or not, and what to do about it. */
void report_check(const struct measurement *measurement, struct text *out);

#endif
