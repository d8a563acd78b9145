/* SPDX-License-Identifier: MIT */
#include "report/drawn.h"

#include <stdlib.h>

#include "base/text.h"
#include "report/overlay.h"
#include "report/plain.h"
#include "report/proposal.h"

/* The patches with the causes that the fit added. */
static bool draw_card(const struct measurement *m, struct overlay *overlay, struct error *error)
{
  struct card_patches patches = {calloc(m->patches.count + 1, sizeof *patches.view), m->patches.count,
                                 m->patches.blur};

  if (!patches.view) {
    return error_no_memory(error, "the overlay");
  }
  for (size_t i = 0; i < patches.count; i++) {
    patches.view[i] = m->patches.view[i];
    patches.view[i].cause = m->sample[i].cause;
  }
  overlay_card(overlay, &m->card, &m->pose, &patches);
  free(patches.view);
  return true;
}

static bool draw_region(const struct measurement *m, size_t index, struct overlay *overlay,
                        struct error *error)
{
  const struct reading *reading = &m->reading[index];
  struct text label = {0};

  plain_add(&label, reading->region->label);
  text_format(&label, ": %s", reading->measured ? reading->chip->notation : "not measured");
  if (!label.failed) {
    overlay_outline(overlay, reading->region->vertex, reading->region->vertices, label.data,
                    overlay_cycle(index));
  }
  bool done = !label.failed || error_no_memory(error, "the overlay");
  text_clear(&label);
  return done;
}

/* A boundary that the eye may miss: dots, and its difference. */
static bool draw_boundary(const struct measurement *m, size_t index, struct overlay *overlay,
                          struct error *error)
{
  const struct proposal_boundary *boundary = &m->proposal.boundary[index];
  const struct reading *a = &m->reading[boundary->a], *b = &m->reading[boundary->b];
  struct text label = {0};

  if (!a->measured || !b->measured) {
    return true;
  }
  struct difference d = difference_across(a, b);
  if (!report_proposal_missed(&d)) {
    return true;
  }
  text_format(&label, "%.1f +-%.1f", d.de00, d.uncertainty);
  if (!label.failed) {
    overlay_dotted(overlay, boundary->place, boundary->places, boundary->middle, label.data);
  }
  bool done = !label.failed || error_no_memory(error, "the overlay");
  text_clear(&label);
  return done;
}

/* What was taken for the edge of a shadow, and what may be one. */
static void draw_edges(const struct light *light, struct overlay *overlay)
{
  if (light->shadow_edge) {
    overlay_dashed(overlay, light->edge.place, light->edge.normal, "edge of a shadow");
  }
  if (light->shadow_unsure) {
    overlay_dashed(overlay, light->unsure.place, light->unsure.normal, "edge of a shadow?");
  }
}

bool report_drawn(const struct measurement *measurement, struct image *drawn, struct error *error)
{
  struct overlay overlay = {0};
  bool done = overlay_begin(&measurement->image, &overlay, error) && draw_card(measurement, &overlay, error);

  if (done) {
    draw_edges(&measurement->light, &overlay);
  }
  for (size_t i = 0; done && i < measurement->readings; i++) {
    done = draw_region(measurement, i, &overlay, error);
  }
  for (size_t i = 0; done && i < measurement->proposal.boundaries; i++) {
    done = draw_boundary(measurement, i, &overlay, error);
  }
  if (!done) {
    overlay_clear(&overlay);
    return false;
  }
  *drawn = overlay.canvas;
  return true;
}
