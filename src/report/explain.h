/* SPDX-License-Identifier: MIT */
/* The budget of each reading in words and numbers: what limits it, and what would make it better. */
#ifndef TAWNY_REPORT_EXPLAIN_H
#define TAWNY_REPORT_EXPLAIN_H

#include "base/text.h"
#include "measure/measure.h"

void report_explain(const struct measurement *measurement, struct text *out);

#endif
