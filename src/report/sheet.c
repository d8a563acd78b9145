/* SPDX-License-Identifier: MIT */
#include "report/sheet.h"

#include <math.h>

#include "colour/srgb.h"
#include "munsell/notation.h"
#include "report/card.h"
#include "report/explain.h"
#include "report/figures.h"
#include "report/mixed.h"
#include "report/plain.h"

/* Pairs listed for people; with more, only regions that touch are listed. */
enum { PAIRS_MAX = 45 };

struct page {
  const struct measurement *measurement;
  const struct comparison *comparison;
  size_t comparisons;
  const struct mottle_list *mottles;
  struct sheet_style style;
  struct text *out;
};

static void add_state(const struct region *region, struct text *out)
{
  const char *word = region_moisture_word(region->moisture);

  if (word) {
    text_format(out, " %s", word);
  } else {
    text_add(out, ", state not given");
  }
}

/* Neighbours touch, or one is the deposit that surrounds the other: outlines that keep clear of the edges between deposits, as
 * they should, do not touch. */
static bool are_neighbours(const struct page *page, const struct comparison *comparison)
{
  const struct reading *reading = page->measurement->reading;

  return comparison->touching || region_is_in(reading[comparison->a].region, reading[comparison->b].region);
}

/* The neighbour of a reading in a comparison; NULL where it has none there. */
static const struct region *neighbour(const struct page *page, const struct comparison *comparison,
                                      size_t reading)
{
  if ((comparison->a != reading && comparison->b != reading) || !are_neighbours(page, comparison)) {
    return NULL;
  }
  return page->measurement->reading[comparison->a == reading ? comparison->b : comparison->a].region;
}

static bool same_words(const struct comparison *a, const struct region *of_a, const struct comparison *b,
                       const struct region *of_b)
{
  return a->apart == b->apart && (!a->apart || a->contrast == b->contrast) &&
         (a->same_moisture == 0) == (b->same_moisture == 0) && of_a->moisture == of_b->moisture;
}

enum telling { TELL, TELL_WITH_LABEL, TOLD };

/* Several regions of one context are told once if the same is true of all, else each with its label. */
static enum telling how_to_tell(const struct page *page, size_t reading, size_t index,
                                const struct region *region)
{
  bool told = false, contradicted = figures_named_alike(page->measurement->reading[reading].region, region);

  for (size_t i = 0; i < page->comparisons; i++) {
    const struct region *other = neighbour(page, &page->comparison[i], reading);
    if (other && i != index && figures_named_alike(other, region)) {
      bool same = same_words(&page->comparison[i], other, &page->comparison[index], region);
      told = told || (same && i < index);
      contradicted = contradicted || !same;
    }
  }
  return contradicted ? TELL_WITH_LABEL : told ? TOLD : TELL;
}

static void add_contrast(const struct comparison *comparison, const struct region *region, bool with_label,
                         struct text *out)
{
  static const char *const before[] = {[CONTRAST_FAINT] = "faint against ",
                                       [CONTRAST_DISTINCT] = "distinct from ",
                                       [CONTRAST_PROMINENT] = "prominent against "};

  text_add(out, comparison->apart ? before[comparison->contrast] : "not told apart from ");
  figures_name(region, with_label, out);
  if (!comparison->apart) {
    text_add(out, " by this photo");
  }
  if (comparison->same_moisture == 0) {
    text_format(out, " (%s)", region_moisture_word(region->moisture));
  }
}

static void add_neighbours(const struct page *page, size_t reading)
{
  const char *before = "; ";

  for (size_t i = 0; i < page->comparisons; i++) {
    const struct region *region = neighbour(page, &page->comparison[i], reading);
    enum telling how = region ? how_to_tell(page, reading, i, region) : TOLD;
    if (how != TOLD) {
      text_add(page->out, before);
      add_contrast(&page->comparison[i], region, how == TELL_WITH_LABEL, page->out);
      before = ", ";
    }
  }
}

/* What goes on the sheet, ready to copy. */
static void add_line(const struct page *page, size_t index)
{
  const struct reading *reading = &page->measurement->reading[index];

  figures_name(reading->region, figures_name_is_shared(page->measurement, reading->region), page->out);
  if (!reading->measured) {
    text_format(page->out, ": not measured: %s\n", reading->error.text);
    return;
  }
  add_state(reading->region, page->out);
  text_format(page->out, ": %s %s", reading->chip->notation, reading->chip->name);
  if (reading->chip_de00 > SHEET_OFF_CHART) {
    text_add(page->out, " (nearest chip; off the soil charts)");
  }
  add_neighbours(page, index);
  text_add(page->out, "\n");
}

static void add_swatch(const struct reading *reading, struct text *out)
{
  struct srgb c = colour_srgb_from_lab_d50(reading->lab_d50);

  text_format(out, "\x1b[48;2;%d;%d;%dm    \x1b[0m", c.red, c.green, c.blue);
}

static void add_notation_row(const struct page *page, const struct reading *reading, struct text *cells)
{
  char notation[MUNSELL_NOTATION_SIZE];

  if (page->style.colour) {
    add_swatch(reading, cells);
    text_add(cells, "\t");
  }
  plain_add(cells, reading->region->label);
  munsell_format(reading->munsell, 1, notation);
  text_format(cells, "\t%s\t", notation);
  if (figures_hue_known(reading)) {
    text_format(cells, "±%.1f", reading->spread95.hue);
  } else {
    text_add(cells, "-");
  }
  text_format(cells, "\t±%.1f\t±%.1f\t%s\t", reading->spread95.value, reading->spread95.chroma,
              reading->chip->notation);
  figures_percent(cells, reading->chip_chance);
  text_format(cells, "\t%.1f\t", reading->chip_de00);
  if (reading->runner_up) {
    text_format(cells, "%s\t", reading->runner_up->notation);
    figures_percent(cells, reading->runner_up_chance);
    text_add(cells, "\n");
  } else {
    text_add(cells, "-\t\n");
  }
}

static void add_notations(const struct page *page)
{
  const struct measurement *m = page->measurement;
  struct text cells = {0};

  text_add(&cells, page->style.colour ? "\t" : "");
  text_add(&cells, "region\tmeasured\thue\tvalue\tchroma\tchip\tchance\toff by\tor else\tchance\n");
  for (size_t i = 0; i < m->readings; i++) {
    if (m->reading[i].measured) {
      add_notation_row(page, &m->reading[i], &cells);
    }
  }
  text_add(page->out,
           "\nMunsell, 95 % spreads; nearest soil chip, its chance and how far off it is (CIEDE2000)\n");
  plain_put_table(page->out, &cells, page->style.colour ? "lllrrrlrrlr" : "llrrrlrrlr");
}

static void add_cause(struct text *cells, const char *cause, double share, bool *first)
{
  if (share >= 0.005) {
    text_format(cells, "%s%s ", *first ? "" : ", ", cause);
    figures_percent(cells, share);
    *first = false;
  }
}

static void add_left_out(struct text *cells, const struct region_left_out *left_out)
{
  bool first = true;

  add_cause(cells, "glint", left_out->glint, &first);
  add_cause(cells, "shadow", left_out->shadow, &first);
  add_cause(cells, "specks", left_out->specks, &first);
  add_cause(cells, "clipped", left_out->clipped, &first);
  if (first) {
    text_add(cells, left_out->share > 0 ? "under 1 %" : "nothing");
  }
}

/* What one decimal shows as zero has no sign. */
static double tidy(double value)
{
  return fabs(value) < 0.05 ? 0 : value;
}

static void add_colour_row(const struct measurement *m, const struct reading *reading, struct text *cells)
{
  plain_add(cells, reading->region->label);
  text_format(cells, "\t%.1f\t%.1f\t%.1f\t±%.1f\t%+.0f %%\t%zu\t", tidy(reading->lab_d50.L),
              tidy(reading->lab_d50.a), tidy(reading->lab_d50.b), reading->radius,
              100 * (figures_light_gain(m, reading) - 1), reading->statistics.pixels);
  add_left_out(cells, &reading->statistics.left_out);
  text_add(cells, "\n");
}

static void add_colours(const struct page *page)
{
  const struct measurement *m = page->measurement;
  struct text cells = {0};

  text_add(&cells, "region\tL*\ta*\tb*\tto within\tlight\tpixels\tleft out\n");
  for (size_t i = 0; i < m->readings; i++) {
    if (m->reading[i].measured) {
      add_colour_row(m, &m->reading[i], &cells);
    }
  }
  text_add(page->out,
           "\nL*a*b* D50, 2 degree observer, within CIEDE2000 (95 %); light against the card's, taken out\n");
  plain_put_table(page->out, &cells, "lrrrrrrl");
}

static void add_pair(const struct page *page, const struct comparison *comparison, struct text *cells)
{
  const struct region *a = page->measurement->reading[comparison->a].region;
  const struct region *b = page->measurement->reading[comparison->b].region;

  plain_add(cells, a->label);
  text_add(cells, "\t");
  plain_add(cells, b->label);
  text_format(cells, "\t%.1f\t±%.1f\t%s", comparison->de00, comparison->uncertainty,
              comparison->apart ? contrast_word(comparison->contrast) : "not told apart by this photo");
  text_add(cells, comparison->touching ? ", touching" : "");
  if (comparison->same_moisture == 0) {
    text_format(cells, ", %s against %s", region_moisture_word(a->moisture),
                region_moisture_word(b->moisture));
  } else if (comparison->same_moisture < 0) {
    text_add(cells, ", state not given");
  }
  text_add(cells, "\n");
}

static void add_differences(const struct page *page)
{
  struct text cells = {0};
  size_t hidden = 0;

  for (size_t i = 0; i < page->comparisons; i++) {
    if (page->comparison[i].touching || page->comparisons <= PAIRS_MAX) {
      add_pair(page, &page->comparison[i], &cells);
    } else {
      hidden++;
    }
  }
  if (page->comparisons > 0) {
    text_add(page->out, "\nDifferences (CIEDE2000, 95 %), and the contrast of the chips\n");
    plain_table(page->out, cells.data ? cells.data : "", "llrrl");
  }
  if (hidden > 0) {
    text_format(page->out, "  %zu pairs that do not touch are not listed here; --json has them\n", hidden);
  }
  page->out->failed |= cells.failed;
  text_clear(&cells);
}

static bool any_measured(const struct measurement *m)
{
  for (size_t i = 0; i < m->readings; i++) {
    if (m->reading[i].measured) {
      return true;
    }
  }
  return false;
}

static void add_no_regions(bool proposed, struct text *out)
{
  plain_paragraph(out, "", "",
                  proposed ? "No deposit could be proposed, so the card alone was read. Outline what you see "
                             "in a file and name "
                             "it with --regions."
                           : "No region of this photo was given, so the card alone was read. Outline the "
                             "deposits in a file and "
                             "name it with --regions.");
}

void report_sheet(const struct measurement *measurement, const struct comparison *comparison,
                  size_t comparisons, const struct mottle_list *mottles, struct sheet_style style,
                  struct text *out)
{
  struct page page = {measurement, comparison, comparisons, mottles, style, out};

  for (size_t i = 0; i < measurement->readings; i++) {
    add_line(&page, i);
  }
  if (measurement->card_found && measurement->readings == 0) {
    add_no_regions(measurement->proposed, out);
  }
  if (any_measured(measurement)) {
    add_notations(&page);
    add_colours(&page);
    add_differences(&page);
    report_mixed(measurement, page.mottles, out);
  }
  if (style.explain) {
    report_explain(measurement, out);
  }
  text_add(out, measurement->card_found || measurement->readings > 0 ? "\n" : "");
  report_card(measurement, out);
  report_verdict(measurement, out);
}
