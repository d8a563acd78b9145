/* SPDX-License-Identifier: MIT */
/* Edges in words. */
#include <math.h>
#include <string.h>

#include "compare/classes.h"
#include "compare/compare.h"
#include "munsell/notation.h"
#include "report/card.h"
#include "report/edge.h"
#include "report/figures.h"
#include "report/plain.h"

/* The class of the value, then others that its interval reaches into; of a thickness that is only known to be under a limit, that limit's
 * class, and that it may be sharper. */
static void add_words(enum class_system system, const struct edge_figure *thick_mm, bool at_most,
                      struct text *out)
{
  const struct feature_class *best =
      class_of(system, CLASS_BOUNDARY, (at_most ? thick_mm->high : thick_mm->value) / 10);
  const struct feature_class *class = class_of(system, CLASS_BOUNDARY, thick_mm->low / 10);
  const double past = 1 + 1e-9; /* a limit, into the next class */

  text_add(out, best ? best->word : "no class");
  if (at_most) {
    text_add(out, best && best->lower > 0 ? " or sharper" : "");
    return;
  }
  for (; class && class->lower * 10 <= thick_mm->high;
       class = class_of(system, CLASS_BOUNDARY, class->upper * past)) {
    if (class != best) {
      text_format(out, " or %s", class->word);
    }
  }
}

void report_edge_class(const struct edge_figure *thick_mm, bool at_most, struct text *out)
{
  struct text usda = {0}, fao = {0};

  add_words(CLASS_USDA, thick_mm, at_most, &usda);
  add_words(CLASS_FAO, thick_mm, at_most, &fao);
  if (usda.data && fao.data) {
    bool same = strcmp(usda.data, fao.data) == 0;
    text_add(out, usda.data);
    text_format(out, same ? "%s" : " by USDA, %s by FAO 2006", same ? "" : fao.data);
    text_format(out, " (%s%.1f cm%s)", at_most ? "at most " : "",
                (at_most ? thick_mm->high : thick_mm->value) / 10, same ? ", USDA and FAO 2006" : "");
  }
  out->failed |= usda.failed || fao.failed;
  text_clear(&usda);
  text_clear(&fao);
}

/* "312 mm (308 to 316)" */
static void add_figure(const struct edge_figure *figure, const char *unit, int decimals, struct text *out)
{
  text_format(out, "%.*f %s (%.*f to %.*f)", decimals, figure->value, unit, decimals, figure->low, decimals,
              figure->high);
}

static void add_difference(const struct edge_side side[2], const struct difference *difference,
                           struct text *out)
{
  enum contrast contrast = contrast_of(side[0].reading.chip->colour, side[1].reading.chip->colour);

  text_format(out, "; %s, %.1f CIEDE2000 ± %.1f", contrast_word(contrast), difference->de00,
              difference->uncertainty);
  if (!difference->apart) {
    text_add(out, ", sides not told apart by their mean colours");
  }
}

const char *report_edge_no_scale(const struct measurement *m)
{
  return m->card.sized ? "it reaches the horizon of the card's plane" : "the card's file gives no true size";
}

void report_edge_line(const struct measurement *m, const struct edge *edge, struct text *out)
{
  if (!edge->told) {
    text_add(out, "no boundary is told apart along the line");
    text_format(out, edge->scaled ? " (%.0f mm)" : " (%.0f pixels)",
                edge->scaled ? edge->length_mm : edge->length);
    return;
  }
  text_add(out, "edge at ");
  add_figure(edge->scaled ? &edge->place_mm : &edge->place, edge->scaled ? "mm" : "pixels", 0, out);
  text_add(out, " along the line: ");
  if (edge->scaled) {
    report_edge_class(&edge->thick_mm, edge->at_most, out);
  } else {
    text_format(out, "%s%.0f pixels thick, no class, %s", edge->at_most ? "at most " : "",
                edge->at_most ? edge->thick.high : edge->thick.value, report_edge_no_scale(m));
  }
  if (edge->compared) {
    add_difference(edge->side, &edge->difference, out);
  }
}

static void add_side_row(const char *name, const struct edge_side *side, struct text *cells)
{
  const struct reading *reading = &side->reading;
  char notation[MUNSELL_NOTATION_SIZE];

  if (!reading->measured) {
    text_format(cells, "%s\tnot measured\t\t\t\t\t\t\n", name);
    return;
  }
  munsell_format(reading->munsell, 1, notation);
  text_format(cells, "%s\t%s\t%s %s\t%.1f\t%.1f\t%.1f\t±%.1f\t%zu\n", name, notation, reading->chip->notation,
              reading->chip->name, reading->lab_d50.L, reading->lab_d50.a, reading->lab_d50.b,
              reading->radius, reading->statistics.pixels);
}

static void add_sides(const struct edge_side side[2], const char *first, const char *second,
                      const struct difference *difference, struct text *out)
{
  struct text cells = {0};

  text_add(
      out,
      "\nThe two sides: Munsell, nearest soil chip, CIELAB under D50 with its 95 % radius (CIEDE2000)\n");
  text_add(&cells, "side\tmeasured\tchip\tL*\ta*\tb*\tradius\tpixels\n");
  add_side_row(first, &side[0], &cells);
  add_side_row(second, &side[1], &cells);
  plain_put_table(out, &cells, "lllrrrrr");
  if (difference) {
    text_format(out, "  second minus first: L* %+.1f, a* %+.1f, b* %+.1f\n", difference->lab.v[0],
                difference->lab.v[1], difference->lab.v[2]);
  }
}

static void add_row(const char *name, const struct edge_figure *px, const struct edge_figure *mm,
                    bool at_most, struct text *cells)
{
  text_format(cells, "%s\t", name);
  if (at_most) {
    text_format(cells, "at most %.1f\t\t", px->high);
  } else {
    text_format(cells, "%.1f\t%.1f to %.1f\t", px->value, px->low, px->high);
  }
  if (!mm) {
    text_add(cells, "-\t\n");
  } else if (at_most) {
    text_format(cells, "at most %.1f\t\n", mm->high);
  } else {
    text_format(cells, "%.1f\t%.1f to %.1f\n", mm->value, mm->low, mm->high);
  }
}

static void add_figures(const struct edge *edge, struct text *out)
{
  struct text cells = {0};

  text_add(out, "\nThe boundary, with 95 % intervals; thickness: from 10 to 90 % of the change, across it\n");
  text_add(&cells, "\tpixels\t95 %\tmm\t95 %\n");
  add_row("place along the line", &edge->place, edge->scaled ? &edge->place_mm : NULL, false, &cells);
  add_row("thickness", &edge->thick, edge->scaled ? &edge->thick_mm : NULL, edge->at_most, &cells);
  plain_put_table(out, &cells, "lrlrl");
  text_format(out, "  It crosses the line %.0f degrees from square.\n", fabs(edge->slant));
}

static void add_caveats(const struct caveat *caveat, size_t count, struct text *out)
{
  for (size_t i = 0; i < count; i++) {
    plain_paragraph(out, caveat[i].doubt ? "- Doubt: " : "- Note: ", "  ", caveat[i].text);
  }
}

static void add_scale(const struct measurement *m, bool scaled, struct text *out)
{
  struct text line = {0};

  if (m->card.sized && !scaled) {
    text_add(
        &line,
        "No mm and no class of thickness: the line reaches the horizon of the card's plane. Draw it nearer "
        "to the card, or take the photo from straight on.");
  } else if (scaled) {
    text_format(&line,
                "mm hold in the plane of the card only, and rest on the size that its file gives: patches of "
                "%.0f x %.0f mm. "
                "Measure one; if yours differ, all mm here scale with them.",
                m->card.patch[0].width_mm, m->card.patch[0].height_mm);
  } else {
    text_add(&line, "No mm and no class of thickness: the card's file says CARD_SCALE none, so its size is "
                    "not known. Lay a "
                    "card of known size beside the boundary.");
  }
  plain_put_paragraph(out, "Scale: ", "  ", &line);
}

static void add_line(const struct measurement *m, const struct edge *edge, struct text *out)
{
  report_edge_line(m, edge, out);
  text_add(out, "\n");
  if (edge->told) {
    add_figures(edge, out);
    add_sides(edge->side, "first", "second", edge->compared ? &edge->difference : NULL, out);
  }
  text_add(out, "\n");
  add_caveats(edge->caveat, edge->caveats, out);
}

static void add_outline_sheet(const struct measurement *m, const struct edge_outline *outline,
                              struct text *out)
{
  figures_name(outline->region, true, out);
  if (!outline->measured) {
    text_format(out, ": not measured: %s\n", outline->error.text);
    return;
  }
  if (outline->told == 0) {
    text_format(out, ": no boundary is told apart at any of %zu places\n", outline->read);
    return;
  }
  text_add(out, ": edge ");
  if (outline->coursed) {
    text_format(out, "%s, ", edge_course_word(outline->course));
  }
  if (outline->scaled) {
    report_edge_class(&outline->thick_mm, outline->at_most, out);
  } else {
    text_format(out, "no class, %s", report_edge_no_scale(m));
  }
  if (outline->fades > 0) {
    text_add(out, ", fades along ");
    figures_percent(out, outline->fades);
  }
  if (outline->compared) {
    add_difference(outline->side, &outline->difference, out);
  }
  text_add(out, "\n");
}

static void add_outline_row(const struct edge_outline *outline, struct text *cells)
{
  const struct edge_figure *offset = outline->scaled ? &outline->offset_mm : &outline->offset;
  const struct edge_figure *thick = outline->scaled ? &outline->thick_mm : &outline->thick;
  double unit = outline->scaled ? outline->mm_per_pixel : 1;

  plain_add(cells, outline->region->label);
  text_format(cells, "\t%s\t%zu of %zu\t%+.1f\t%+.1f to %+.1f\t%.1f\t%s%.1f\t",
              outline->scaled ? "mm" : "pixels", outline->told, outline->read, offset->value, offset->low,
              offset->high, outline->scatter * unit, outline->at_most ? "at most " : "",
              outline->at_most ? thick->high : thick->value);
  if (outline->coursed) {
    text_format(cells, "%.1f\t%.1f\n", outline->pocket_deep * unit, outline->pocket_wide * unit);
  } else {
    text_add(cells, "-\t-\n");
  }
}

static void add_outlines(const struct measurement *m, const struct edge_report *report, struct text *out)
{
  struct text cells = {0};
  bool any = false;

  for (size_t i = 0; i < report->outlines; i++) {
    add_outline_sheet(m, &report->outline[i], out);
  }
  text_add(&cells, "region\tunit\ttold at\toffset\t95 %\tspread\tthickness\tdeepest pocket\tits width\n");
  for (size_t i = 0; i < report->outlines; i++) {
    if (report->outline[i].measured && report->outline[i].told > 0) {
      add_outline_row(&report->outline[i], &cells);
      any = true;
    }
  }
  if (any) {
    text_add(out,
             "\nThe boundary beside the outline as drawn (outward is positive), thickness from 10 to 90 %\n");
    plain_table(out, cells.data ? cells.data : "", "lllrlrrrr");
  }
  out->failed |= cells.failed;
  text_clear(&cells);
  for (size_t i = 0; i < report->outlines; i++) {
    const struct edge_outline *outline = &report->outline[i];
    if (outline->measured && outline->compared) {
      add_sides(outline->side, "inside", "outside", &outline->difference, out);
    }
  }
  text_add(out, "\n");
}

void report_edge(const struct measurement *m, const struct edge_report *report, struct text *out)
{
  bool scaled = report->line ? report->line->scaled : m->card.sized;

  if (!m->card_found) {
    report_verdict(m, out);
    return;
  }
  if (report->line) {
    add_line(m, report->line, out);
  } else {
    add_outlines(m, report, out);
  }
  add_scale(m, scaled, out);
  report_card(m, out);
  report_verdict(m, out);
}
