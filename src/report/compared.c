/* SPDX-License-Identifier: MIT */
#include "report/compared.h"

#include <math.h>
#include <string.h>

#include "report/figures.h"
#include "report/plain.h"

enum { LINES_MAX = 60, ROWS_MAX = 40 };

/* Its name alone; with the label where the other of a pair is called the same. */
static void add_name(const struct findings *f, size_t item, bool label, struct text *out)
{
  figures_name(&f->collection->item[item].region, label, out);
}

void report_compared_name(const struct findings *f, size_t item, bool label, struct text *out)
{
  const struct collected *reading = &f->collection->item[item];
  const struct region *region = &reading->region;
  bool named = region->context[0] || region->find[0];

  figures_name(region, false, out);
  if (region_moisture_word(region->moisture)) {
    text_format(out, " %s", region_moisture_word(region->moisture));
  }
  if (!label) {
    return;
  }
  if (named) {
    text_add(out, " (");
    plain_add(out, region->label);
  }
  if (f->collection->photos > 1) {
    text_format(out, "%s photo %zu", named ? "," : " (", reading->photo + 1);
  }
  text_add(out, named || f->collection->photos > 1 ? ")" : "");
}

void report_compared_deposit(const struct findings *f, size_t deposit, bool state, struct text *out)
{
  const struct deposit *d = &f->deposits.list[deposit];

  figures_name(&f->collection->item[d->item].region, false, out);
  if (state && region_moisture_word(d->moisture)) {
    text_format(out, " %s", region_moisture_word(d->moisture));
  }
}

static const char *article(size_t index, size_t count)
{
  return index == 0 ? " " : index + 1 == count ? " and " : ", ";
}

/* "1043 is lighter and redder": the parts that are told apart on their own. */
static void add_direction(const struct findings *f, const struct pair *pair, struct text *out)
{
  const struct collected *a = &f->collection->item[pair->a], *b = &f->collection->item[pair->b];
  const char *hue = pair_hue_word(a->reading.munsell, b->reading.munsell), *word[3];
  size_t count = 0;

  if (pair->lightness) {
    word[count++] = pair_lightness_word(pair);
  }
  if (pair->chroma) {
    word[count++] = pair_chroma_word(pair);
  }
  if (pair->hue && hue) {
    word[count++] = hue;
  }
  if (count == 0) {
    return;
  }
  text_add(out, "; ");
  add_name(f, pair->b, figures_named_alike(&a->region, &b->region), out);
  text_add(out, " is");
  for (size_t i = 0; i < count; i++) {
    text_format(out, "%s%s", article(i, count), word[i]);
  }
}

static void add_verdict(const struct pair *pair, bool apart, bool one_photo, struct text *out)
{
  if (apart) {
    text_format(out, "told apart, %s", contrast_word(pair->contrast));
  } else {
    text_format(out, "not told apart by %s", one_photo ? "this photo" : "these photos");
  }
}

static void add_boundary(const struct boundary *boundary, bool apart, struct text *out)
{
  if (boundary->compared) {
    text_format(out, "; along the boundary %.1f ±%.1f%s", boundary->difference.de00,
                boundary->difference.uncertainty,
                boundary->difference.apart == apart ? ""
                : boundary->difference.apart        ? ", told apart there"
                                                    : ", not told apart there");
  } else if (boundary->error.kind != ERROR_NONE) {
    text_format(out, "; boundary not compared: %s", boundary->error.text);
  }
}

static void add_states(const struct pair *pair, struct text *out)
{
  if (pair->same_moisture == 0) {
    text_add(out, "; UNLIKE STATES, so not a difference between deposits alone");
  } else if (pair->same_moisture < 0) {
    text_add(out, "; state not given for both");
  }
}

/* One pair in words. */
static void add_line(const struct findings *f, struct pair_choice choice, struct text *out)
{
  struct pair pair = pair_of(f->collection, choice.a, choice.b);
  bool one_photo = f->collection->item[choice.a].photo == f->collection->item[choice.b].photo;

  report_compared_name(f, pair.a, true, out);
  text_add(out, " and ");
  report_compared_name(f, pair.b, true, out);
  text_add(out, ": ");
  add_verdict(&pair, pair.difference.apart, one_photo, out);
  if (pair.difference.apart) {
    add_direction(f, &pair, out);
  }
  text_format(out, "; CIEDE2000 %.1f ±%.1f", pair.difference.de00, pair.difference.uncertainty);
  if (pair.touch) {
    add_boundary(&pair.touch->boundary, pair.difference.apart, out);
  }
  add_states(&pair, out);
  text_add(out, "\n");
}

static void add_lines(const struct findings *f, struct text *out)
{
  for (size_t i = 0; i < f->lines && i < LINES_MAX; i++) {
    add_line(f, f->line[i], out);
  }
  if (f->lines > LINES_MAX) {
    text_format(out, "(%zu more such pairs; --json has them)\n", f->lines - LINES_MAX);
  }
  if (f->lines == 0 && f->collection->count > 1) {
    plain_paragraph(
        out, "", "",
        "No lines for the sheet: no outlines touch, and no role that begins with \"surrounding\" makes one "
        "the "
        "surroundings of another in the same state; name pairs with --pairs, as in --pairs \"1042:1043\".");
  }
}

static void add_photos(const struct findings *f, struct text *out)
{
  if (f->collection->photos < 2) {
    return;
  }
  text_add(out, "\nPhotos\n");
  for (size_t i = 0; i < f->collection->photos; i++) {
    text_format(out, "  %zu  ", i + 1);
    plain_add(out, f->collection->photo[i].file);
    text_add(out, "\n");
  }
}

static void add_short_name(const struct findings *f, size_t item, struct text *cells)
{
  plain_add(cells, f->collection->item[item].region.label);
  if (f->collection->photos > 1) {
    text_format(cells, " [%zu]", f->collection->item[item].photo + 1);
  }
}

/* What one decimal shows as zero has no sign. */
static double tidy(double value)
{
  return fabs(value) < 0.05 ? 0 : value;
}

static void add_signed(struct text *cells, double value)
{
  text_format(cells, "\t%+.1f", tidy(value));
}

static void add_pages(struct text *cells, struct steps steps)
{
  if (steps.hue_known) {
    add_signed(cells, steps.pages);
  } else {
    text_add(cells, "\t-");
  }
}

/* Steps of chips in one cell, "-1 +1 0": pages, value, chroma. Value 2.5 makes half steps. */
static void add_chip_steps(struct text *cells, struct steps steps)
{
  double step[3] = {steps.pages, steps.value, steps.chroma};

  text_add(cells, "\t");
  for (int k = 0; k < 3; k++) {
    if (k == 0 && !steps.hue_known) {
      text_add(cells, "-");
    } else {
      text_format(cells, step[k] == 0 ? "%s%.2g" : "%s%+.2g", k ? " " : "", step[k] == 0 ? 0 : step[k]);
    }
  }
}

/* Contrast of the chips and of the measured colours; touching, unlike states. */
static void add_contrast(const struct findings *f, const struct pair *pair, struct text *cells)
{
  const struct collected *a = &f->collection->item[pair->a], *b = &f->collection->item[pair->b];
  const char *sign = pair->touch ? "touching" : "";

  if (pair->difference.apart) {
    text_format(cells, "\t%s\t%s\t%s", contrast_word(pair->contrast), contrast_word(pair->interpolated),
                sign);
  } else {
    text_format(cells, "\tnot told apart\t-\t%s", sign);
  }
  if (pair->same_moisture == 0) {
    text_format(cells, "%s%s against %s", pair->touch ? ", " : "", region_moisture_word(a->region.moisture),
                region_moisture_word(b->region.moisture));
  }
  if (pair->same_moisture < 0) {
    text_format(cells, "%sstate not given", pair->touch ? ", " : "");
  }
}

static void add_names(const struct findings *f, const struct pair *pair, struct text *cells)
{
  add_short_name(f, pair->a, cells);
  text_add(cells, "\t");
  add_short_name(f, pair->b, cells);
}

static void add_row(const struct findings *f, const struct pair *pair, struct text *cells)
{
  add_names(f, pair, cells);
  text_format(cells, "\t%.1f\t±%.1f", pair->difference.de00, pair->difference.uncertainty);
  add_contrast(f, pair, cells);
  text_add(cells, "\n");
}

static void add_parts_row(const struct findings *f, const struct pair *pair, struct text *cells)
{
  add_names(f, pair, cells);
  add_signed(cells, pair->parts.lightness);
  add_signed(cells, pair->parts.chroma);
  add_signed(cells, pair->parts.hue);
  add_pages(cells, pair->measured);
  add_signed(cells, pair->measured.value);
  add_signed(cells, pair->measured.chroma);
  add_chip_steps(cells, pair->chips);
  text_add(cells, "\n");
}

/* Unlike states are listed only where the two touch. */
static bool is_listed(const struct findings *f, struct pair_choice choice)
{
  const struct region *a = &f->collection->item[choice.a].region, *b = &f->collection->item[choice.b].region;

  return a->moisture == b->moisture || collection_touch(f->collection, choice.a, choice.b) != NULL;
}

/* Two tables of the same pairs, as one with all of it is wider than a page. */
static void add_tables(const struct findings *f, struct text *out)
{
  struct text cells = {0}, parts = {0};
  size_t all = f->table.count * (f->table.count - 1) / 2, listed = 0;

  text_add(&cells, "first\tsecond\tapart\twithin\tcontrast\tinterpolated\t\n");
  text_add(&parts, "first\tsecond\tlight\tchroma\thue\tpages\tvalue\tchroma\tin chips\n");
  for (size_t i = 0; i < f->shown_count && listed < ROWS_MAX; i++) {
    if (is_listed(f, f->shown[i])) {
      struct pair pair = pair_of(f->collection, f->shown[i].a, f->shown[i].b);
      add_row(f, &pair, &cells);
      add_parts_row(f, &pair, &parts);
      listed++;
    }
  }
  text_add(
      out,
      "\nDifferences: CIEDE2000 (95 %), contrast of the chips; interpolated: of the colours as measured\n");
  plain_table(out, cells.data ? cells.data : "", "llrrlll");
  if (all > listed) {
    text_format(
        out, "  %zu of %zu pairs are not listed here: in unlike states, or further apart; --json has all\n",
        all - listed, all);
  }
  text_add(out,
           "\nThe same in parts, second minus first: CIEDE2000 in lightness, chroma and hue; Munsell hue "
           "pages (+\nfrom R to YR to Y), value and chroma as measured; the same in chips\n");
  plain_table(out, parts.data ? parts.data : "", "llrrrrrrl");
  out->failed |= cells.failed || parts.failed;
  text_clear(&cells);
  text_clear(&parts);
}

static void add_component_row(struct components c, struct text *cells)
{
  const char *word = region_moisture_word(c.moisture);

  text_format(cells, "%s\t%zu\t%zu\t", word ? word : "not given", c.readings, c.deposits);
  if (c.known) {
    text_format(cells, "%.1f\t%.1f\t", c.within, c.between);
    figures_percent(cells, c.share);
    text_add(cells, "\n");
  } else {
    text_add(cells, "-\t-\t-\n");
  }
}

static void add_components(const struct findings *f, struct text *out)
{
  static const enum region_moisture state[] = {MOISTURE_DRY, MOISTURE_MOIST, MOISTURE_WET, MOISTURE_UNSTATED};
  struct text cells = {0};
  bool any = false;

  text_add(&cells, "state\treadings\tdeposits\twithin\tbetween\texplained\n");
  for (size_t s = 0; s < sizeof state / sizeof *state; s++) {
    struct components c = deposits_components(f->collection, &f->deposits, state[s]);
    if (c.readings > 0) {
      add_component_row(c, &cells);
    }
    any = any || c.known;
  }
  if (any) {
    text_add(
        out,
        "\nWithin deposits and between them: standard deviations in L*a*b*, and the share of the variance "
        "of a reading\nthat its deposit explains (- : needs two deposits, one of them read twice)\n");
    plain_table(out, cells.data ? cells.data : "", "lrrrrr");
  }
  out->failed |= cells.failed;
  text_clear(&cells);
}

static void add_note(struct text *out, const char *note)
{
  plain_paragraph(out, "- ", "  ", note);
}

static void add_notes_on_photo(const struct findings *f, const struct collected_photo *photo,
                               struct text *out)
{
  struct text note = {0};

  if (!photo->shares) {
    plain_add(&note, photo->file);
    text_add(&note,
             ": saved by an older version, without what its readings share; their differences are less sharp "
             "than they could be: read the photo again");
  } else if (photo->count > 0 && f->collection->item[photo->first].doubtful) {
    plain_add(&note, photo->file);
    text_add(&note,
             ": its verdict was not sound; look at what `tawny read` said of it before leaning on a small "
             "difference");
  }
  if (note.data) {
    add_note(out, note.data);
  }
  out->failed |= note.failed;
  text_clear(&note);
}

static void add_notes(const struct findings *f, struct text *out)
{
  bool saved = false;

  text_add(out, "\nNotes\n");
  for (size_t i = 0; i < f->collection->touches; i++) {
    saved = saved || f->collection->touch[i].saved;
  }
  for (size_t i = 0; i < f->collection->photos; i++) {
    add_notes_on_photo(f, &f->collection->photo[i], out);
  }
  if (saved) {
    add_note(out,
             "Pairs that touch were read from saved readings: give the photo itself to compare them along "
             "their boundary.");
  }
  if (f->collection->photos > 1) {
    add_note(out,
             "Readings of different photos share nothing that is known: their differences are less sure than "
             "those within a photo.");
  }
  add_note(out, "A difference of colour does not make two deposits, and likeness does not make one: texture, "
                "inclusions and the trowel decide.");
}

void report_compared(const struct findings *f, struct compared_style style, struct text *out)
{
  add_lines(f, out);
  add_photos(f, out);
  add_tables(f, out);
  add_components(f, out);
  report_compared_moisture(f, style, out);
  report_compared_indices(f, out);
  add_notes(f, out);
}
