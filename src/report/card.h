/* SPDX-License-Identifier: MIT */
/* What people read about the card and the photo as a whole; the text of readings ends with it. */
#ifndef TAWNY_REPORT_CARD_H
#define TAWNY_REPORT_CARD_H

#include "base/text.h"
#include "measure/measure.h"

/* Adds the card: which, how many patches steer the camera model and why others don't, how well it fits. */
void report_card(const struct measurement *measurement, struct text *out);

/* Adds every cause of doubt and every note as a list item: what is wrong, and what to do. */
void report_caveats(const struct measurement *measurement, struct text *out);

/* Adds the caveats, then the verdict as the last line. Why no card was read is told as a
 * failure, not here. */
void report_verdict(const struct measurement *measurement, struct text *out);

#endif
