/* SPDX-License-Identifier: MIT */
/* Outlines as drawn, and the boundary measured beside them, as a plan in the photo's own shape. */
#include <math.h>
#include <stdlib.h>

#include "report/edge.h"
#include "report/plain.h"

enum { WIDTH = 1200, LEGEND = 64 };

static const struct drawing_colour INK = {40, 40, 40}, DRAWN = {150, 150, 150}, MEASURED = {190, 60, 20},
                                   FADED = {90, 130, 190}, FRAME = {200, 200, 200};

struct plan {
  struct drawing *drawing;
  double scale;
};

static struct point on_plan(const struct plan *plan, struct point place)
{
  return (struct point){place.x * plan->scale, LEGEND + place.y * plan->scale};
}

static void add_ring(const struct plan *plan, const struct point *vertex, size_t count, double thick,
                     struct drawing_colour colour)
{
  for (size_t i = 0; i < count; i++) {
    const struct point part[2] = {on_plan(plan, vertex[i]), on_plan(plan, vertex[(i + 1) % count])};
    drawing_path(plan->drawing, part, 2, thick, colour);
  }
}

static struct point boundary_at(const struct edge_place *place)
{
  return (struct point){place->at.x + place->offset.value * place->outward.x,
                        place->at.y + place->offset.value * place->outward.y};
}

/* Where two neighbours are told the boundary is drawn between them; where one is not, a dot stands on the outline. */
static void add_boundary(const struct plan *plan, const struct edge_outline *outline)
{
  for (size_t i = 0; i < outline->places; i++) {
    const struct edge_place *place = &outline->place[i], *next = &outline->place[(i + 1) % outline->places];
    struct point at = on_plan(plan, place->at);
    if (place->told && next->told) {
      const struct point part[2] = {on_plan(plan, boundary_at(place)), on_plan(plan, boundary_at(next))};
      drawing_path(plan->drawing, part, 2, 3, MEASURED);
    } else if (place->read && !place->told) {
      const struct point dot[2] = {at, at};
      drawing_path(plan->drawing, dot, 2, 9, FADED);
    }
  }
}

static void add_label(const struct plan *plan, const struct edge_outline *outline)
{
  struct text label = {0};

  plain_add(&label, outline->region->label);
  drawing_text(plan->drawing, on_plan(plan, region_centroid(outline->region)), DRAWING_MIDDLE, 14, INK,
               label.data ? label.data : "");
  plan->drawing->failed |= label.failed;
  text_clear(&label);
}

static void add_legend(struct drawing *drawing)
{
  static const struct {
    const char *word;
    struct drawing_colour colour;
  } entry[] = {{"as drawn", {150, 150, 150}},
               {"boundary measured", {190, 60, 20}},
               {"no boundary told apart", {90, 130, 190}}};
  double x = 20;

  for (size_t i = 0; i < 3; i++) {
    const struct point line[2] = {{x, 30}, {x + 50, 30}};
    drawing_path(drawing, line, 2, 6, entry[i].colour);
    drawing_text(drawing, (struct point){x + 64, 37}, DRAWING_LEFT, 14, INK, entry[i].word);
    x += 64 + drawing_text_width(14, entry[i].word) + 40;
  }
}

void report_outline_picture(const struct measurement *m, const struct edge_outline *outline, size_t outlines,
                            struct drawing *drawing)
{
  struct plan plan = {drawing, (double)WIDTH / m->image.width};
  double height = m->image.height * plan.scale;
  const struct point frame[4] = {
      {0, 0}, {m->image.width, 0}, {m->image.width, m->image.height}, {0, m->image.height}};

  drawing_begin(drawing, WIDTH, LEGEND + height + 2);
  add_legend(drawing);
  add_ring(&plan, frame, 4, 1, FRAME);
  for (size_t i = 0; i < outlines; i++) {
    add_ring(&plan, outline[i].region->vertex, outline[i].region->vertices, 2, DRAWN);
    if (outline[i].measured) {
      add_boundary(&plan, &outline[i]);
    }
    add_label(&plan, &outline[i]);
  }
}
