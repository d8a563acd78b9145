/* SPDX-License-Identifier: MIT */
/* Edges for people, as pictures, and for programs. */
#ifndef TAWNY_REPORT_EDGE_H
#define TAWNY_REPORT_EDGE_H

#include "base/text.h"
#include "compare/edge_outline.h"
#include "report/drawing.h"

/* What was asked for: the colour along one line, or the courses of outlines. */
struct edge_report {
  const struct edge *line;            /* NULL: outlines                            */
  const struct edge_outline *outline; /* one a region, those that failed too       */
  size_t outlines;
};

/* Adds the text of one photo: first what goes on the sheet, then figures, card, doubts and verdict. */
void report_edge(const struct measurement *measurement, const struct edge_report *report, struct text *out);

/* Adds one line of JSON. */
bool report_edge_json(const struct measurement *measurement, const struct edge_report *report,
                      struct text *out, struct error *error);

/* Draws the colour along a line with its boundary. */
void report_edge_picture(const struct measurement *measurement, const struct edge *edge,
                         struct drawing *drawing);

/* Draws `outlines` of them, and where the boundary lies beside each. */
void report_outline_picture(const struct measurement *measurement, const struct edge_outline *outline,
                            size_t outlines, struct drawing *drawing);

/* Adds the line for the sheet, without a line feed. */
void report_edge_line(const struct measurement *measurement, const struct edge *edge, struct text *out);

/* Why there are no mm, of a line or outline that is not `scaled`. */
const char *report_edge_no_scale(const struct measurement *measurement);

/* Adds what a thickness is called by both systems: "clear (3.1 cm; USDA and FAO)". */
void report_edge_class(const struct edge_figure *thick_mm, bool at_most, struct text *out);

#endif
