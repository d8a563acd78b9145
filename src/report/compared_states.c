/* SPDX-License-Identifier: MIT */
/* States of moisture and derived quantities of a comparison, for people. */
#include <math.h>
#include <string.h>

#include "report/compared.h"
#include "report/figures.h"
#include "report/plain.h"

enum { ROWS_MAX = 60 };

static void add_remark(const struct moisture_shift *shift, struct text *cells)
{
  static const char *const remark[] = {
      [MOISTURE_FINE] = "",
      [MOISTURE_SWAPPED] = "DARKER WHEN DRIER: are the states swapped?",
      [MOISTURE_NOT_DRIER] = "HARDLY LIGHTER: was the dry face still moist?",
      [MOISTURE_LARGE] = "an unusually large step: is it one deposit, and the moist face not wet?"};

  text_add(cells, remark[shift->remark]);
  if (shift->hue_odd) {
    text_add(cells, shift->remark ? "; hue turns by over a page" : "hue turns by over a page");
  }
  if (shift->chroma_odd) {
    text_format(cells, "%schroma changes unusually", shift->remark || shift->hue_odd ? "; " : "");
  }
}

static void add_shift(const struct findings *f, const struct moisture_shift *shift, struct text *cells)
{
  report_compared_deposit(f, shift->drier, false, cells);
  text_format(cells, "\t%s - %s\t%+.1f\t±%.1f\t%+.1f\t±%.1f\t",
              region_moisture_word(f->deposits.list[shift->drier].moisture),
              region_moisture_word(f->deposits.list[shift->wetter].moisture), shift->steps.value,
              shift->value_spread, shift->steps.chroma, shift->chroma_spread);
  if (shift->steps.hue_known) {
    text_format(cells, "%+.1f\t±%.1f\t", fabs(shift->steps.pages) < 0.05 ? 0 : shift->steps.pages,
                shift->pages_spread);
  } else {
    text_add(cells, "-\t\t");
  }
  if (shift->published) {
    figures_percent(cells, shift->share);
  } else {
    text_add(cells, "-");
  }
  text_add(cells, "\t");
  add_remark(shift, cells);
  text_add(cells, "\n");
}

static void add_shifts(const struct findings *f, struct text *out)
{
  struct text cells = {0};

  text_add(&cells, "deposit\tstates\tvalue\t\tchroma\t\tpages\t\tas odd\t\n");
  for (size_t i = 0; i < f->shifts && i < ROWS_MAX; i++) {
    add_shift(f, &f->shift[i], &cells);
  }
  text_format(out,
              "\nThe same deposit in two states, drier minus wetter (95 %%); \"as odd\" is the share of %zu "
              "published "
              "horizons\nwhose value shifts as oddly from moist to dry; the usual is +1.6\n",
              moisture_horizons());
  plain_put_table(out, &cells, "llrrrrrrrl");
  if (f->shifts > ROWS_MAX) {
    text_format(out, "  %zu more are not listed here; --json has them\n", f->shifts - ROWS_MAX);
  }
}

static const char *better_state(const struct findings *f, const struct moisture_contrast *contrast)
{
  if (fabs(contrast->gain) <= contrast->spread) {
    return "no clear gain";
  }
  size_t deposit = contrast->gain > 0 ? contrast->wetter[0] : contrast->drier[0];
  return region_moisture_word(f->deposits.list[deposit].moisture);
}

static void add_contrast(const struct findings *f, const struct moisture_contrast *contrast,
                         struct text *cells)
{
  report_compared_deposit(f, contrast->drier[0], false, cells);
  text_add(cells, "\t");
  report_compared_deposit(f, contrast->drier[1], false, cells);
  text_format(cells, "\t%s %.1f\t%s %.1f\t%+.1f\t±%.1f\t%s\n",
              region_moisture_word(f->deposits.list[contrast->drier[0]].moisture), contrast->apart_drier,
              region_moisture_word(f->deposits.list[contrast->wetter[0]].moisture), contrast->apart_wetter,
              fabs(contrast->gain) < 0.05 ? 0 : contrast->gain, contrast->spread, better_state(f, contrast));
}

static void add_contrasts(const struct findings *f, struct text *out)
{
  struct text cells = {0};
  size_t rows = f->contrasts < ROWS_MAX ? f->contrasts : ROWS_MAX;

  if (f->contrasts == 0) {
    return;
  }
  text_add(&cells, "first\tsecond\tdrier\twetter\tgain\twithin\tstands further apart\n");
  for (size_t i = 0; i < rows; i++) {
    add_contrast(f, &f->contrast[i], &cells);
  }
  text_add(out,
           "\nDoes wetting help? CIEDE2000 between two deposits in either state, and what it gains (95 %)\n");
  plain_put_table(out, &cells, "llrrrrl");
  if (f->contrasts_all > rows) {
    text_format(out, "  %zu more pairs, further apart, are not listed here\n", f->contrasts_all - rows);
  }
  plain_paragraph(
      out, "  ", "  ",
      "Wet a face only with leave and lightly: wet faces and edges fail sooner. Read again only when "
      "nothing glints.");
}

static bool has_state(const struct findings *f, size_t subject, enum region_moisture state)
{
  for (size_t i = 0; i < f->deposits.count; i++) {
    if (f->deposits.list[i].subject == subject && f->deposits.list[i].moisture == state) {
      return true;
    }
  }
  return false;
}

static void add_estimates(const struct findings *f, struct text *out)
{
  struct text cells = {0};
  size_t count = 0;

  text_add(&cells, "deposit\tmoist value\testimate of dry\twithin\n");
  for (size_t i = 0; i < f->deposits.count; i++) {
    const struct deposit *d = &f->deposits.list[i];
    if (d->moisture != MOISTURE_MOIST || has_state(f, d->subject, MOISTURE_DRY)) {
      continue;
    }
    struct moisture_estimate estimate = moisture_estimate_dry(d);
    report_compared_deposit(f, i, false, &cells);
    text_format(&cells, "\t%.1f\t%.1f\t±%.1f\n", d->munsell.value, estimate.value, estimate.spread);
    count++;
  }
  text_format(out,
              "\nEstimate, not a measurement: the dry value of deposits read moist only, as in %zu published "
              "horizons (95 %%)\n",
              moisture_horizons());
  if (count > 0) {
    plain_put_table(out, &cells, "lrrr");
  } else {
    text_clear(&cells);
    text_add(out, "  none: no deposit was read moist and not dry\n");
  }
}

void report_compared_moisture(const struct findings *f, struct compared_style style, struct text *out)
{
  if (f->shifts > 0) {
    add_shifts(f, out);
    add_contrasts(f, out);
  }
  if (style.estimate_dry) {
    add_estimates(f, out);
  }
}

/* Numbers of a deposit: '-' where an input is missing. */
static void add_numbers(const struct findings *f, size_t deposit, struct text *cells)
{
  static const int decimals[INDEX_NUMBERS] = {
      [INDEX_REDNESS_RATING] = 1, [INDEX_REDNESS_LAB] = 2,  [INDEX_REDNESS_HURST] = 1,
      [INDEX_DEVELOPMENT] = 1,    [INDEX_RUBIFICATION] = 0, [INDEX_MELANIZATION] = 0};

  for (int k = 0; k < INDEX_NUMBERS; k++) {
    struct index_value v = index_of(f->collection, &f->deposits, deposit, (enum soil_index)k);
    if (v.given) {
      text_format(cells, "\t%.*f ±%.*f", decimals[k], v.value, decimals[k], v.spread);
    } else {
      text_add(cells, "\t-");
    }
  }
}

static void add_classes(const struct findings *f, size_t deposit, struct text *cells)
{
  bool any = false;

  text_add(cells, "\t");
  for (int k = INDEX_NUMBERS; k < INDICES; k++) {
    struct index_value v = index_of(f->collection, &f->deposits, deposit, (enum soil_index)k);
    if (v.given && (v.met || v.near_limit)) {
      text_format(cells, "%s%s%s", any ? ", " : "", v.met ? "" : "nearly ", index_name((enum soil_index)k));
      text_add(cells, v.met && v.near_limit ? " (near its limit)" : "");
      any = true;
    }
  }
  text_add(cells, any ? "\n" : "-\n");
}

/* Whether the table says anything about an index, so that its formula is due; it shows deposits before `end`. */
static bool any_told(const struct findings *f, size_t end, enum soil_index index)
{
  for (size_t i = 0; i < end; i++) {
    struct index_value v = index_of(f->collection, &f->deposits, i, index);
    if (v.given && (index < INDEX_NUMBERS || v.met || v.near_limit)) {
      return true;
    }
  }
  return false;
}

static void add_formulas(const struct findings *f, size_t end, struct text *out)
{
  struct text line = {0};

  for (int k = 0; k < INDICES; k++) {
    enum soil_index index = (enum soil_index)k;
    if (any_told(f, end, index)) {
      text_format(&line, "%s: %s. %s", index_name(index), index_formula(index), index_source(index));
      plain_paragraph(out, "  ", "    ", line.data ? line.data : "");
      out->failed |= line.failed;
      text_clear(&line);
    }
  }
}

static bool any_given(const struct findings *f, size_t deposit)
{
  for (int k = 0; k < INDICES; k++) {
    if (index_of(f->collection, &f->deposits, deposit, (enum soil_index)k).given) {
      return true;
    }
  }
  return false;
}

void report_compared_indices(const struct findings *f, struct text *out)
{
  struct text cells = {0};
  size_t rows = 0, end = 0;

  text_add(&cells,
           "deposit\tredness\tof L*a*b*\tHurst\tdevelopment\trubification\tmelanization\tcolour part of\n");
  for (; end < f->deposits.count && rows < ROWS_MAX; end++) {
    if (any_given(f, end)) {
      report_compared_deposit(f, end, true, &cells);
      add_numbers(f, end, &cells);
      add_classes(f, end, &cells);
      rows++;
    }
  }
  if (rows == 0) {
    text_clear(&cells);
    return;
  }
  text_add(out, "\nDerived from the means of deposits (95 %); classes are the colour part only, by chip\n");
  plain_put_table(out, &cells, "lrrrrrrl");
  if (end < f->deposits.count) {
    text_format(out, "  up to %zu more deposits are not listed here; --json has them\n",
                f->deposits.count - end);
  }
  add_formulas(f, end, out);
}
