/* SPDX-License-Identifier: MIT */
#include "report/explain.h"

#include <stdlib.h>

#include "colour/difference.h"
#include "measure/values.h"
#include "report/figures.h"
#include "report/plain.h"

static const char *const REMEDY[BUDGET_CAUSES] = {
    [BUDGET_REGION] = "outline more of the same soil, clear of stones, roots, cracks and glint, or go closer",
    [BUDGET_FIT] = "let the card fill more of the photo, clean and evenly lit, with none of its patches lost",
    [BUDGET_LIGHT] = "lay the card beside this region, in the same light, or shade the whole face evenly",
    [BUDGET_CAMERA] = "no photo of this card by this camera tells more; a second camera, or a card with soil "
                      "colours, would",
    [BUDGET_TILT] = "lay the card flat in the plane of the face",
    [BUDGET_SURFACE] =
        "wait until no glint is left, turn away from the light's mirror direction, or read the face dry"};

struct part {
  enum budget_cause cause;
  double share;  /* of the variance, in CIEDE2000 units     */
  double radius; /* CIEDE2000, 95 %, if it were alone       */
};

static int larger_first(const void *a, const void *b)
{
  const struct part *p = a, *q = b;

  if (p->share != q->share) {
    return p->share > q->share ? -1 : 1;
  }
  return (int)p->cause - (int)q->cause;
}

/* trace(metric covariance): the mean square of the CIEDE2000 that a cause makes. */
static double mean_square(struct mat3 metric, struct mat3 covariance)
{
  struct mat3 product = mat3_multiply(metric, covariance);

  return product.m[0][0] + product.m[1][1] + product.m[2][2];
}

static void find_parts(const struct reading *reading, struct part part[BUDGET_CAUSES])
{
  struct mat3 metric = colour_de00_metric(reading->lab_d50);
  double sum = 0;

  for (int k = 0; k < BUDGET_CAUSES; k++) {
    part[k].cause = (enum budget_cause)k;
    part[k].share = mean_square(metric, reading->cause[k]);
    part[k].radius = values_radius95(reading->lab_d50, reading->cause[k]);
    sum += part[k].share;
  }
  for (int k = 0; k < BUDGET_CAUSES; k++) {
    part[k].share = sum > 0 ? part[k].share / sum : 0;
  }
  qsort(part, BUDGET_CAUSES, sizeof *part, larger_first);
}

static void explain_reading(const struct reading *reading, struct text *out)
{
  struct part part[BUDGET_CAUSES];
  struct text cells = {0}, names = {0};

  find_parts(reading, part);
  text_add(out, "\n");
  plain_add(out, reading->region->label);
  text_format(out, " is known to within %.1f CIEDE2000 (95 %%). Where that comes from:\n", reading->radius);
  for (int k = 0; k < BUDGET_CAUSES && part[k].share > 0; k++) {
    text_format(&cells, "%s\t", budget_cause_word(part[k].cause));
    figures_percent(&cells, part[k].share);
    text_format(&cells, "\talone it would be ±%.1f\n", part[k].radius);
  }
  plain_table(out, cells.data ? cells.data : "", "lrl");
  text_format(&names, "%s, by the ISCC-NBS system; the chip's own name is %s",
              munsell_iscc_nbs_name(reading->munsell), reading->chip->name);
  plain_paragraph(out, "  In general colour words: ", "    ", names.data ? names.data : "");
  plain_paragraph(out, "  To do better: ", "    ", REMEDY[part[0].cause]);
  out->failed |= cells.failed || names.failed;
  text_clear(&names);
  text_clear(&cells);
}

void report_explain(const struct measurement *measurement, struct text *out)
{
  for (size_t i = 0; i < measurement->readings; i++) {
    if (measurement->reading[i].measured) {
      explain_reading(&measurement->reading[i], out);
    }
  }
}
