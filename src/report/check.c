/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "report/card.h"
#include "report/figures.h"
#include "report/plain.h"
#include "report/sheet.h"

/* How the card is seen: size, lean, and how much of the scale its patches fill. */
static void add_view(const struct measurement *m, struct text *out)
{
  double low = 1, high = 0;
  struct text line = {0};

  for (size_t i = 0; i < m->patches.count; i++) {
    struct vec3 code = m->patches.view[i].code;
    low = fmin(low, fmin(code.v[0], fmin(code.v[1], code.v[2])));
    high = fmax(high, fmax(code.v[0], fmax(code.v[1], code.v[2])));
  }
  text_format(&line,
              "the card's patches are %.0f pixels wide and lean %.0f degrees; their codes run from %.0f to "
              "%.0f %% of "
              "the scale.",
              m->pose.patch_pixels, m->pose.tilt_degrees, 100 * low, 100 * high);
  plain_put_paragraph(out, "View: ", "  ", &line);
}

enum { PLACES = 9 }; /* a side, over the frame */

static void add_light(const struct measurement *m, struct text *out)
{
  double low = INFINITY, high = 0;

  for (int i = 0; i < PLACES * PLACES; i++) {
    struct point place = {m->image.width * (i % PLACES + 0.5) / PLACES,
                          m->image.height * (i / PLACES + 0.5) / PLACES};
    double gain = figures_luminance_gain(m, light_gain(&m->light, place));
    low = fmin(low, gain);
    high = fmax(high, gain);
  }
  if (m->light.estimated) {
    text_format(out, "Light: %.2f to %.2f of the card's over the frame; readings are evened by it.\n", low,
                high);
  } else {
    text_add(out, "Light: taken as even; the frame shows too little to go by.\n");
  }
}

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
    add_view(measurement, out);
    add_light(measurement, out);
  } else {
    struct text reason = {0};
    plain_add(&reason, measurement->card_error.text);
    plain_paragraph(out, "- ", "  ", reason.data ? reason.data : "");
    plain_paragraph(out, "- ", "  ",
                    "Lay the whole card flat on the face, clean and in the same light, each patch at least "
                    "12 pixels wide "
                    "in the photo and none of it burnt out.");
    out->failed |= reason.failed;
    text_clear(&reason);
  }
}
