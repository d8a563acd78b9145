/* SPDX-License-Identifier: MIT */
/* Readings compared, for people, for scripts, and as a picture. */
#ifndef TAWNY_REPORT_COMPARED_H
#define TAWNY_REPORT_COMPARED_H

#include "base/text.h"
#include "compare/findings.h"
#include "report/drawing.h"

struct compared_style {
  bool estimate_dry; /* add what moist deposits may be dry */
};

/* Adds lines for the sheet, tables and notes. */
void report_compared(const struct findings *findings, struct compared_style style, struct text *out);

/* The parts of that about states of moisture and about derived quantities; for compared.c. */
void report_compared_moisture(const struct findings *findings, struct compared_style style, struct text *out);
void report_compared_indices(const struct findings *findings, struct text *out);

/* Adds what a reading is called in these lists: context, find and zone, else its label; its state; with `label`, the label
 * and the photo's number too. */
void report_compared_name(const struct findings *findings, size_t item, bool label, struct text *out);
/* The same of a deposit, which has no label of its own. */
void report_compared_deposit(const struct findings *findings, size_t deposit, bool state, struct text *out);

/* Adds one object and a line feed. */
bool report_compared_json(const struct findings *findings, struct compared_style style, struct text *out,
                          struct error *error);

/* Draws all pairs: a row and a column a reading, grouped by context. ERROR_UNMEASURABLE "too-many" for more readings than
 * could be told apart in it. */
enum { COMPARED_PICTURE_MAX = 400 };
bool report_compared_picture(const struct findings *findings, struct drawing *drawing, struct error *error);

#endif
