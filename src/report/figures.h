/* SPDX-License-Identifier: MIT */
/* Small figures and words that JSON and text share. */
#ifndef TAWNY_REPORT_FIGURES_H
#define TAWNY_REPORT_FIGURES_H

#include "base/text.h"
#include "measure/measure.h"

/* Version of the method, stated with every result: raised when the same photo would give other numbers. */
#define FIGURES_METHOD "3"

/* Light somewhere over light at the card as one number: the gains of the channels weighed as luminance is. */
double figures_luminance_gain(const struct measurement *measurement, struct vec3 gain);
/* The same at a reading's region. */
double figures_light_gain(const struct measurement *measurement, const struct reading *reading);

/* Whether the hue has a spread: neutrals have no hue, and near them it has no derivative. */
bool figures_hue_known(const struct reading *reading);

/* Adds what a region is called on the sheet: its context, find and zone, else its label. */
void figures_name(const struct region *region, bool with_label, struct text *out);
bool figures_named_alike(const struct region *a, const struct region *b);

/* Whether a reading shares its name with others of the photo, so that its label has to follow in parentheses. */
bool figures_name_is_shared(const struct measurement *measurement, const struct region *region);

/* Adds a chance or share in percent: never as none or all, which estimates are not. */
void figures_percent(struct text *out, double share);

/* Adds "1 patch", "2 patches": `singular` and `plural` by count. */
void figures_count(struct text *out, size_t count, const char *singular, const char *plural);

#endif
