/* SPDX-License-Identifier: MIT */
/* A measured photo as one line of JSON, as scripts rely on it. */
#ifndef TAWNY_REPORT_JSON_H
#define TAWNY_REPORT_JSON_H

#include "base/text.h"
#include "compare/mottle.h"

/* Adds the object and a line feed. Numbers carry as many decimals as their unit deserves; what is missing is null. */
bool report_json(const struct measurement *measurement, const struct comparison *comparison,
                 size_t comparisons, const struct mottle_list *mottles, struct text *out,
                 struct error *error);

/* {"photo": {"file": ...}, "error": {"code", "text"}} and a line feed, for a photo that failed. */
bool report_json_failure(const char *path, const struct error *failure, struct text *out,
                         struct error *error);

#endif
