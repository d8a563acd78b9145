/* SPDX-License-Identifier: MIT */
/* Regions of more than one colour, for people and for programs. */
#ifndef TAWNY_REPORT_MIXED_H
#define TAWNY_REPORT_MIXED_H

#include "compare/mottle.h"
#include "report/json_write.h"

/* Adds the section "Mixed colours": for each such region its ground and a line a colour in it, in the words of the trade. Nothing
 * where all are of one colour. */
void report_mixed(const struct measurement *measurement, const struct mottle_list *mottles, struct text *out);

/* Adds the key "components" of a reading: a list, empty for one colour; null where `mottles` is NULL (nobody looked) or the region
 * was not measured. */
void report_components(const struct measurement *measurement, const struct mottle_list *mottles,
                       const struct reading *reading, struct json_writer *json);

#endif
