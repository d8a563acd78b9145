/* SPDX-License-Identifier: MIT */
/* What is proposed for a photo, for people, for programs, and as outlines to correct. */
#ifndef TAWNY_REPORT_PROPOSAL_H
#define TAWNY_REPORT_PROPOSAL_H

#include "base/text.h"
#include "measure/difference.h"
#include "measure/measure.h"

/* Table of the proposed deposits and of the boundaries between them, what was left out, card and verdict. */
void report_proposal(const struct measurement *measurement, struct text *out);

/* One object and a line feed: the keys that every report of a photo has; "deposits": readings as `tawny read` gives them
 * with "share" of the face; "boundaries"; "left_out" shares of the face. */
bool report_proposal_json(const struct measurement *measurement, struct text *out, struct error *error);

/* An AnnotationPage (W3C Recommendation of 23 February 2017): an SvgSelector with a polygon and the tag region=LABEL for each
 * part, which `--regions` reads back as it is. */
bool report_proposal_outlines(const struct measurement *measurement, struct text *out, struct error *error);

/* Whether a boundary is told apart and yet smaller than PROPOSAL_EASILY_MISSED. Both parts must be measured. */
bool report_proposal_missed(const struct difference *difference);

#endif
