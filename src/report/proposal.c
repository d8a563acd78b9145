/* SPDX-License-Identifier: MIT */
#include "report/proposal.h"

#include <math.h>

#include "compare/compare.h"
#include "measure/propose.h"
#include "munsell/notation.h"
#include "report/card.h"
#include "report/figures.h"
#include "report/json.h"
#include "report/plain.h"

bool report_proposal_missed(const struct difference *difference)
{
  return difference->apart && difference->de00 < PROPOSAL_EASILY_MISSED;
}

/* Both parts of a boundary, where both could be read. */
static bool both_measured(const struct measurement *m, const struct proposal_boundary *boundary,
                          const struct reading **a, const struct reading **b)
{
  *a = &m->reading[boundary->a];
  *b = &m->reading[boundary->b];
  return (*a)->measured && (*b)->measured;
}

static void add_parts(const struct measurement *m, struct text *out)
{
  struct text cells = {0};
  char notation[MUNSELL_NOTATION_SIZE];

  for (size_t i = 0; i < m->readings; i++) {
    const struct reading *reading = &m->reading[i];
    text_format(&cells, "%s\t", reading->region->label);
    figures_percent(&cells, m->proposal.share[i]);
    if (!reading->measured) {
      text_add(&cells, "\tnot measured\t\t\t\n");
      continue;
    }
    munsell_format(reading->munsell, 1, notation);
    text_format(&cells, "\t%s\t%s\t%s\t±%.1f\n", notation, reading->chip->notation, reading->chip->name,
                reading->radius);
  }
  text_add(out, "Proposed deposits: share of the face, measured colour, nearest soil chip, and within what "
                "(CIEDE2000, 95 %)\n");
  plain_put_table(out, &cells, "lrlllr");
}

static void add_boundaries(const struct measurement *m, struct text *out)
{
  struct text cells = {0};
  const struct reading *a, *b;

  for (size_t i = 0; i < m->proposal.boundaries; i++) {
    if (!both_measured(m, &m->proposal.boundary[i], &a, &b)) {
      continue;
    }
    struct difference d = difference_across(a, b);
    text_format(&cells, "%s\t%s\t%.1f\t±%.1f\t%s\n", a->region->label, b->region->label, d.de00,
                d.uncertainty,
                !d.apart                     ? "not told apart by this photo"
                : report_proposal_missed(&d) ? "told apart, easily missed by eye"
                                             : "told apart");
  }
  if (cells.data) {
    text_add(out, "\nBoundaries between them: difference (CIEDE2000, 95 %)\n");
    plain_table(out, cells.data, "llrrl");
  }
  out->failed |= cells.failed;
  text_clear(&cells);
}

static void add_left_out(const struct proposal *proposal, struct text *out)
{
  static const char *const words[PROPOSAL_CAUSES] = {
      "too small, thin or mixed", "of a colour that soils do not have", "smooth and straight-sided"};
  struct text line = {0};

  text_add(&line, "Left out of the face:");
  for (int k = 0; k < PROPOSAL_CAUSES; k++) {
    text_format(&line, " %.0f %% %s%s", 100 * proposal->left_out[k], words[k],
                k + 1 < PROPOSAL_CAUSES ? "," : ".");
  }
  text_add(out, "\n");
  plain_paragraph(out, "", "", line.data ? line.data : "");
  plain_paragraph(
      out, "", "",
      "Colour alone drew these outlines. Parts with one letter are not told apart by this photo, which is a "
      "likeness of colour and no statement that they are one context; correct the outlines, name them, "
      "and give their moisture.");
  text_add(out, "\n");
  out->failed |= line.failed;
  text_clear(&line);
}

void report_proposal(const struct measurement *m, struct text *out)
{
  if (m->card_found && m->readings == 0) {
    plain_paragraph(
        out, "", "",
        "No deposit could be proposed: no part of the face is even and large enough. Outline what you "
        "see in a file and name it with --regions.");
  }
  if (m->readings > 0) {
    add_parts(m, out);
    add_boundaries(m, out);
  }
  if (m->card_found) {
    add_left_out(&m->proposal, out);
  }
  report_card(m, out);
  report_verdict(m, out);
}

static bool add_deposits(struct json_writer *json, const struct measurement *m, struct error *error)
{
  struct compact_basis basis;

  if (!compact_find(m->reading, m->readings, &basis, error)) {
    return false;
  }
  json_write_key_open(json, "deposits", '[');
  for (size_t i = 0; i < m->readings; i++) {
    json_write_open(json, '{');
    json_write_key_number(json, "share", m->proposal.share[i], 4);
    json_write_key(json, "reading");
    report_json_reading(json, m, &basis, &m->reading[i]);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
  return true;
}

static void add_boundary(struct json_writer *json, const struct measurement *m,
                         const struct proposal_boundary *boundary)
{
  const struct reading *a, *b;
  bool known = both_measured(m, boundary, &a, &b);
  struct difference d =
      known ? difference_across(a, b) : (struct difference){.de00 = NAN, .uncertainty = NAN};

  json_write_open(json, '{');
  json_write_key_string(json, "a", a->region->label);
  json_write_key_string(json, "b", b->region->label);
  json_write_key_number(json, "de00", d.de00, 2);
  json_write_key_number(json, "uncertainty", d.uncertainty, 2);
  if (known) {
    json_write_key_bool(json, "apart", d.apart);
    json_write_key_bool(json, "easily_missed", report_proposal_missed(&d));
    json_write_key_string(json, "contrast", contrast_word(contrast_of(a->chip->colour, b->chip->colour)));
  } else {
    json_write_key_string(json, "apart", NULL);
    json_write_key_string(json, "easily_missed", NULL);
    json_write_key_string(json, "contrast", NULL);
  }
  json_write_close(json, '}');
}

bool report_proposal_json(const struct measurement *m, struct text *out, struct error *error)
{
  static const char *const key[PROPOSAL_CAUSES] = {"specks", "not_soil_colour", "straight_sided"};
  struct json_writer json = {.out = out};
  size_t start = out->length;

  json_write_open(&json, '{');
  report_json_head(&json, m);
  bool whole = add_deposits(&json, m, error);
  json_write_key_open(&json, "boundaries", '[');
  for (size_t i = 0; i < m->proposal.boundaries; i++) {
    add_boundary(&json, m, &m->proposal.boundary[i]);
  }
  json_write_close(&json, ']');
  json_write_key_open(&json, "left_out", '{');
  for (int k = 0; k < PROPOSAL_CAUSES; k++) {
    json_write_key_number(&json, key[k], m->card_found ? m->proposal.left_out[k] : (double)NAN, 4);
  }
  json_write_close(&json, '}');
  json_write_close(&json, '}');
  return json_write_end(&json, start, whole, "the JSON of a photo", error);
}

/* <svg><polygon points="x,y x,y"/></svg> */
static void add_polygon(struct json_writer *json, const struct region *region)
{
  struct text svg = {0};

  text_add(&svg, "<svg xmlns=\"http://www.w3.org/2000/svg\"><polygon points=\"");
  for (size_t i = 0; i < region->vertices; i++) {
    text_format(&svg, "%s%.10g,%.10g", i ? " " : "", region->vertex[i].x, region->vertex[i].y);
  }
  text_add(&svg, "\"/></svg>");
  json_write_key_string(json, "value", svg.data);
  json->out->failed |= svg.failed;
  text_clear(&svg);
}

static void add_annotation(struct json_writer *json, const struct region *region)
{
  struct text tag = {0};

  json_write_open(json, '{');
  json_write_key_string(json, "type", "Annotation");
  json_write_key_open(json, "body", '[');
  json_write_open(json, '{');
  json_write_key_string(json, "type", "TextualBody");
  json_write_key_string(json, "purpose", "tagging");
  text_format(&tag, "region=%s", region->label);
  json_write_key_string(json, "value", tag.data);
  json_write_close(json, '}');
  json_write_close(json, ']');
  json_write_key_open(json, "target", '{');
  json_write_key_string(json, "source", region->photo);
  json_write_key_open(json, "selector", '{');
  json_write_key_string(json, "type", "SvgSelector");
  add_polygon(json, region);
  json_write_close(json, '}');
  json_write_close(json, '}');
  json_write_close(json, '}');
  json->out->failed |= tag.failed;
  text_clear(&tag);
}

bool report_proposal_outlines(const struct measurement *m, struct text *out, struct error *error)
{
  struct json_writer json = {.out = out};
  size_t start = out->length;

  json_write_open(&json, '{');
  json_write_key_string(&json, "@context", "http://www.w3.org/ns/anno.jsonld");
  json_write_key_string(&json, "type", "AnnotationPage");
  json_write_key_open(&json, "items", '[');
  for (size_t i = 0; i < m->proposal.regions.count; i++) {
    add_annotation(&json, &m->proposal.regions.region[i]);
  }
  json_write_close(&json, ']');
  json_write_close(&json, '}');
  return json_write_end(&json, start, true, "the outlines", error);
}
