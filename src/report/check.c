/* SPDX-License-Identifier: MIT */
#include "report/card.h"
#include "report/plain.h"
#include "report/sheet.h"

void report_check(const struct measurement *measurement, struct text *out)
{
  static const char *const opening[] = {[VERDICT_SOUND] = "sound: fit for measuring",
                                        [VERDICT_DOUBTFUL] = "doubtful: it can be measured, but better so:",
                                        [VERDICT_UNFIT] = "unfit: take it again"};

  plain_add(out, measurement->file);
  text_format(out, ": %s\n", opening[measurement->verdict]);
  report_caveats(measurement, out);
  if (measurement->card_found) {
    report_card(measurement, out);
  } else {
    struct text reason = {0};
    plain_add(&reason, measurement->card_error.text);
    plain_paragraph(out, "- ", "  ", reason.data ? reason.data : "");
    out->failed |= reason.failed;
    text_clear(&reason);
  }
}
