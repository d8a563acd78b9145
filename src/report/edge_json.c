/* SPDX-License-Identifier: MIT */
#include <math.h>
#include <stdlib.h>

#include "compare/classes.h"
#include "compare/compare.h"
#include "report/edge.h"
#include "report/json.h"

static void add_point(struct json_writer *json, struct point p)
{
  json_write_open(json, '[');
  json_write_number(json, p.x, 2);
  json_write_number(json, p.y, 2);
  json_write_close(json, ']');
}

/* [value, low, high], or null */
static void key_figure(struct json_writer *json, const char *key, const struct edge_figure *figure,
                       bool known)
{
  if (!known) {
    json_write_key_null(json, key);
    return;
  }
  json_write_key(json, key);
  json_write_open(json, '[');
  json_write_number(json, figure->value, 2);
  json_write_number(json, figure->low, 2);
  json_write_number(json, figure->high, 2);
  json_write_close(json, ']');
}

static void key_both(struct json_writer *json, const char *key, const struct edge_figure *px,
                     const struct edge_figure *mm, bool told, bool scaled)
{
  json_write_key(json, key);
  json_write_open(json, '{');
  key_figure(json, "pixels", px, told);
  key_figure(json, "mm", mm, told && scaled);
  json_write_close(json, '}');
}

static const char *class_word(enum class_system system, double thick_mm)
{
  const struct feature_class *class = class_of(system, CLASS_BOUNDARY, thick_mm / 10);

  return class ? class->word : NULL;
}

static void add_class(struct json_writer *json, const struct measurement *m,
                      const struct edge_figure *thick_mm, bool at_most, bool told, bool scaled)
{
  double thick = at_most ? thick_mm->high : thick_mm->value;
  bool known = told && scaled;

  json_write_key_open(json, "class", '{');
  json_write_key_string(json, "usda", known ? class_word(CLASS_USDA, thick) : NULL);
  json_write_key_string(json, "usda_least", known ? class_word(CLASS_USDA, thick_mm->low) : NULL);
  json_write_key_string(json, "usda_most", known ? class_word(CLASS_USDA, thick_mm->high) : NULL);
  json_write_key_string(json, "fao_2006", known ? class_word(CLASS_FAO, thick) : NULL);
  json_write_key_string(json, "fao_2006_least", known ? class_word(CLASS_FAO, thick_mm->low) : NULL);
  json_write_key_string(json, "fao_2006_most", known ? class_word(CLASS_FAO, thick_mm->high) : NULL);
  json_write_key_string(json, "refused",
                        known                    ? NULL
                        : told || !m->card.sized ? report_edge_no_scale(m)
                                                 : "no boundary is told apart");
  json_write_close(json, '}');
}

static void add_difference(struct json_writer *json, const struct edge_side side[2],
                           const struct difference *difference, bool compared)
{
  if (!compared) {
    json_write_key_null(json, "difference");
    return;
  }
  json_write_key_open(json, "difference", '{');
  json_write_key_number(json, "de00", difference->de00, 2);
  json_write_key_number(json, "uncertainty", difference->uncertainty, 2);
  json_write_key_bool(json, "apart", difference->apart);
  json_write_key_string(
      json, "contrast",
      contrast_word(contrast_of(side[0].reading.chip->colour, side[1].reading.chip->colour)));
  json_write_close(json, '}');
}

/* Along what all sides on this line share. */
static bool find_basis(const struct edge_report *report, struct compact_basis *basis, struct error *error)
{
  size_t count = 0, most = 2 * (report->outlines + 1);
  struct reading *reading = calloc(most, sizeof *reading);

  for (size_t i = 0; reading && i < 2; i++) {
    if (report->line) {
      reading[count++] = report->line->side[i].reading;
    }
    for (size_t j = 0; j < report->outlines; j++) {
      reading[count++] = report->outline[j].side[i].reading;
    }
  }
  bool done =
      reading ? compact_find(reading, count, basis, error) : error_no_memory(error, "the JSON of a photo");
  free(reading);
  return done;
}

static void add_sides(struct json_writer *json, const struct measurement *m,
                      const struct compact_basis *basis, const struct edge_side side[2])
{
  json_write_key_open(json, "sides", '[');
  for (int i = 0; i < 2; i++) {
    if (side[i].reading.region) {
      report_json_reading(json, m, basis, &side[i].reading);
    }
  }
  json_write_close(json, ']');
}

static void add_caveats(struct json_writer *json, const struct edge *edge)
{
  json_write_key_open(json, "warnings", '[');
  for (size_t i = 0; i < edge->caveats; i++) {
    json_write_open(json, '{');
    json_write_key_string(json, "code", edge->caveat[i].code);
    json_write_key_string(json, "text", edge->caveat[i].text);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

/* The colour along the line: pixels and mm along it, L* a* b*, and their standard deviations. */
static void add_colours(struct json_writer *json, const struct measurement *m, const struct edge *edge)
{
  json_write_key_open(json, "colours", '[');
  for (size_t i = 0; i < edge->bins; i++) {
    const struct edge_bin *bin = &edge->bin[i];
    json_write_open(json, '[');
    json_write_number(json, bin->at, 2);
    json_write_number(json, edge->scaled ? edge_mm(m, &edge->line, bin->at) : (double)NAN, 2);
    json_write_number(json, bin->lab_d50.L, 3);
    json_write_number(json, bin->lab_d50.a, 3);
    json_write_number(json, bin->lab_d50.b, 3);
    for (int k = 0; k < 3; k++) {
      json_write_number(json, sqrt(bin->covariance.m[k][k]), 3);
    }
    json_write_close(json, ']');
  }
  json_write_close(json, ']');
}

static void add_line(struct json_writer *json, const struct measurement *m, const struct compact_basis *basis,
                     const struct edge *edge)
{
  json_write_open(json, '{');
  json_write_key_open(json, "line", '[');
  add_point(json, edge->line.from);
  add_point(json, edge->line.to);
  json_write_close(json, ']');
  json_write_key_number(json, "length_pixels", edge->length, 2);
  json_write_key_number(json, "length_mm", edge->scaled ? edge->length_mm : (double)NAN, 2);
  json_write_key_number(json, "band_pixels", 2 * edge->half, 2);
  json_write_key_bool(json, "found", edge->told);
  json_write_key_number(json, "evidence", edge->fit.evidence, 1);
  key_both(json, "place", &edge->place, &edge->place_mm, edge->told, edge->scaled);
  key_both(json, "thickness", &edge->thick, &edge->thick_mm, edge->told, edge->scaled);
  json_write_key_bool(json, "at_most", edge->at_most);
  add_class(json, m, &edge->thick_mm, edge->at_most, edge->told, edge->scaled);
  json_write_key_number(json, "slant_degrees", edge->told ? edge->slant : (double)NAN, 1);
  add_difference(json, edge->side, &edge->difference, edge->compared);
  add_sides(json, m, basis, edge->side);
  json_write_key(json, "shadow_edge_pixels");
  if (edge->shadow) {
    add_point(json, (struct point){edge->shadow_from, edge->shadow_to});
  } else {
    json_write_null(json);
  }
  add_caveats(json, edge);
  add_colours(json, m, edge);
  json_write_close(json, '}');
}

static void add_places(struct json_writer *json, const struct edge_outline *outline)
{
  json_write_key_open(json, "places", '[');
  for (size_t i = 0; i < outline->places; i++) {
    const struct edge_place *place = &outline->place[i];
    json_write_open(json, '{');
    json_write_key(json, "at");
    add_point(json, place->at);
    json_write_key(json, "found");
    if (place->read) {
      json_write_bool(json, place->told);
    } else {
      json_write_null(json);
    }
    key_figure(json, "offset_pixels", &place->offset, place->told);
    key_figure(json, "thickness_pixels", &place->thick, place->told);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

static void add_outline(struct json_writer *json, const struct measurement *m,
                        const struct compact_basis *basis, const struct edge_outline *outline)
{
  bool told = outline->measured && outline->told > 0;

  json_write_open(json, '{');
  json_write_key_string(json, "region", outline->region->label);
  json_write_key_bool(json, "found", told);
  if (!outline->measured) {
    report_json_error(json, &outline->error);
  }
  json_write_key_number(json, "fades", outline->measured ? outline->fades : (double)NAN, 3);
  key_both(json, "offset", &outline->offset, &outline->offset_mm, told, outline->scaled);
  json_write_key_number(json, "spread_pixels", told ? outline->scatter : (double)NAN, 2);
  key_both(json, "thickness", &outline->thick, &outline->thick_mm, told, outline->scaled);
  json_write_key_bool(json, "at_most", told && outline->at_most);
  add_class(json, m, &outline->thick_mm, outline->at_most, told, outline->scaled);
  json_write_key_string(json, "course", told && outline->coursed ? edge_course_word(outline->course) : NULL);
  json_write_key_number(json, "pocket_depth_pixels",
                        told && outline->coursed ? outline->pocket_deep : (double)NAN, 2);
  json_write_key_number(json, "pocket_width_pixels",
                        told && outline->coursed ? outline->pocket_wide : (double)NAN, 2);
  add_difference(json, outline->side, &outline->difference, outline->compared);
  add_sides(json, m, basis, outline->side);
  add_places(json, outline);
  json_write_close(json, '}');
}

bool report_edge_json(const struct measurement *m, const struct edge_report *report, struct text *out,
                      struct error *error)
{
  struct json_writer json = {.out = out};
  struct compact_basis basis;
  size_t start = out->length;

  if (!find_basis(report, &basis, error)) {
    return false;
  }
  json_write_open(&json, '{');
  report_json_head(&json, m);
  json_write_key_open(&json, "scale", '{');
  json_write_key_bool(&json, "known", m->card_found && m->card.sized);
  json_write_key_number(&json, "patch_mm",
                        m->card_found && m->card.sized ? m->card.patch[0].width_mm : (double)NAN, 1);
  json_write_close(&json, '}');
  json_write_key_open(&json, "edges", '[');
  if (report->line) {
    add_line(&json, m, &basis, report->line);
  }
  for (size_t i = 0; i < report->outlines; i++) {
    add_outline(&json, m, &basis, &report->outline[i]);
  }
  json_write_close(&json, ']');
  json_write_close(&json, '}');
  return json_write_end(&json, start, true, "the JSON of a photo", error);
}
