/* SPDX-License-Identifier: MIT */
/* A measured photo as one line of JSON, as scripts rely on it. */
#ifndef TAWNY_REPORT_JSON_H
#define TAWNY_REPORT_JSON_H

#include "base/text.h"
#include "compare/mottle.h"
#include "measure/compact.h"
#include "report/json_write.h"

/* Adds the object and a line feed. Numbers carry as many decimals as their unit deserves; what is missing is null. */
bool report_json(const struct measurement *measurement, const struct comparison *comparison,
                 size_t comparisons, const struct mottle_list *mottles, struct text *out,
                 struct error *error);

/* Inside an open object: the keys program, photo, card, verdict and warnings, which every report of a photo has. */
void report_json_head(struct json_writer *json, const struct measurement *measurement);

/* A reading as an object, whose mottles nobody has looked for, with what it shares with the others on this line along their basis; and a
 * failure as the key "error". */
void report_json_reading(struct json_writer *json, const struct measurement *measurement,
                         const struct compact_basis *basis, const struct reading *reading);
void report_json_error(struct json_writer *json, const struct error *error);

/* {"photo": {"file": ...}, "error": {"code", "text"}} and a line feed, for a photo that failed. */
bool report_json_failure(const char *path, const struct error *failure, struct text *out,
                         struct error *error);

#endif
