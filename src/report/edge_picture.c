/* SPDX-License-Identifier: MIT */
/* The colour along a line as a picture: swatches, three curves, the boundary with its interval and thickness. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <stdlib.h>

#include "colour/difference.h"
#include "report/edge.h"

enum {
  WIDTH = 1120,
  HEIGHT = 880,
  LEFT = 118,
  RIGHT = 30,
  TOP = 96,
  STRIP = 54,
  PANEL = 180,
  GAP = 22,
  PANELS = 3
};

static const struct drawing_colour INK = {40, 40, 40}, FAINT = {222, 222, 222}, SHADE = {250, 234, 200},
                                   INTERVAL = {240, 190, 120}, FITTED = {190, 60, 20}, POINTS = {60, 90, 140},
                                   SHADOW = {205, 205, 215};
static const double LETTER = 14;

/* One panel's quantity along the line. */
struct curve {
  const char *title;
  double *measured, *fitted; /* owned, one a bin */
  double low, high;
};

struct plot {
  const struct measurement *m;
  const struct edge *edge;
  struct drawing *drawing;
  bool mm;
  double span; /* of the axis, mm or pixels */
};

/* Place along the line in the axis' unit, and on the picture. */
static double on_axis(const struct plot *plot, double along)
{
  return plot->mm ? edge_mm(plot->m, &plot->edge->line, along) : along;
}

static double across_picture(double value, double span)
{
  return LEFT + value / span * (WIDTH - LEFT - RIGHT);
}

static double picture_x(const struct plot *plot, double along)
{
  return across_picture(fmin(fmax(on_axis(plot, along), 0), plot->span), plot->span);
}

static double panel_top(int panel)
{
  return TOP + STRIP + GAP + panel * (PANEL + GAP);
}

static double quantity(int panel, struct lab lab, struct lab from)
{
  return panel == 0 ? lab.L : panel == 1 ? hypot(lab.a, lab.b) : colour_de00(from, lab);
}

/* The first side's colour, or that of the line's first tenth. */
static struct lab first_colour(const struct edge *edge)
{
  struct vec3 sum = {{0, 0, 0}};
  size_t count = edge->bins / 10 + 1;

  if (edge->compared) {
    return edge->side[0].reading.lab_d50;
  }
  for (size_t i = 0; i < count; i++) {
    sum = vec3_add(sum, vec3_scale(colour_vec_from_lab(edge->bin[i].lab_d50), 1 / (double)count));
  }
  return colour_lab_from_vec(sum);
}

static bool make_curve(const struct plot *plot, int panel, struct curve *curve)
{
  static const char *const title[PANELS] = {"L*", "C*ab", "dE00"};
  const struct edge *edge = plot->edge;
  struct lab from = first_colour(edge);
  double low = INFINITY, high = -INFINITY;

  curve->title = title[panel];
  curve->measured = malloc(2 * edge->bins * sizeof *curve->measured);
  if (!curve->measured) {
    return false;
  }
  curve->fitted = curve->measured + edge->bins;
  for (size_t i = 0; i < edge->bins; i++) {
    curve->measured[i] = quantity(panel, edge->bin[i].lab_d50, from);
    curve->fitted[i] = quantity(panel, edge_fitted(plot->m, edge, edge->bin[i].at), from);
    low = fmin(low, curve->measured[i]);
    high = fmax(high, curve->measured[i]);
  }
  double least = fmax(3 - (high - low), 0) / 2; /* a panel shows three units at least */
  curve->low = panel == 0 ? low - least : fmax(low - least, 0);
  curve->high = high + least;
  return true;
}

/* A round step that gives about `wanted` ticks. */
static double tick_step(double span, double wanted)
{
  double raw = span / wanted, power = pow(10, floor(log10(raw)));

  return power * (raw / power > 5 ? 10 : raw / power > 2 ? 5 : raw / power > 1 ? 2 : 1);
}

static void add_number(struct drawing *drawing, struct point base, enum drawing_anchor anchor, double value,
                       double step)
{
  char text[32];

  snprintf(text, sizeof text, "%.*f", step < 1 ? 1 : 0, value);
  drawing_text(drawing, base, anchor, LETTER, INK, text);
}

static double panel_y(const struct curve *curve, int panel, double value)
{
  double share = (value - curve->low) / (curve->high - curve->low);

  return panel_top(panel) + PANEL - 8 - fmin(fmax(share, 0), 1) * (PANEL - 16);
}

static void add_panel_axis(const struct plot *plot, const struct curve *curve, int panel)
{
  double step = tick_step(curve->high - curve->low, 4);

  for (double value = ceil(curve->low / step) * step; value <= curve->high; value += step) {
    double y = panel_y(curve, panel, value);
    const struct point line[2] = {{LEFT, y}, {WIDTH - RIGHT, y}};
    drawing_path(plot->drawing, line, 2, 1, FAINT);
    add_number(plot->drawing, (struct point){LEFT - 8, y + 7}, DRAWING_RIGHT, value, step);
  }
  drawing_text(plot->drawing, (struct point){10, panel_top(panel) + PANEL / 2.0 + 7}, DRAWING_LEFT, LETTER,
               INK, curve->title);
}

static void add_panel_curves(const struct plot *plot, const struct curve *curve, int panel)
{
  const struct edge *edge = plot->edge;
  struct point *place = malloc(edge->bins * sizeof *place);

  if (!place) {
    plot->drawing->failed = true;
    return;
  }
  for (size_t i = 0; i < edge->bins; i++) {
    place[i] = (struct point){picture_x(plot, edge->bin[i].at), panel_y(curve, panel, curve->measured[i])};
  }
  drawing_path(plot->drawing, place, edge->bins, 1.6, POINTS);
  for (size_t i = 0; i < edge->bins; i++) {
    place[i].y = panel_y(curve, panel, curve->fitted[i]);
  }
  if (edge->told) {
    drawing_path(plot->drawing, place, edge->bins, 2.6, FITTED);
  }
  free(place);
}

static void shade(const struct plot *plot, double from, double to, struct drawing_colour colour)
{
  double left = picture_x(plot, from), right = picture_x(plot, to), top = panel_top(0);

  drawing_rectangle(plot->drawing, (struct point){left, top}, right - left,
                    panel_top(PANELS - 1) + PANEL - top, colour);
}

/* The thickness, the place's interval over it, and the place. */
static void shade_boundary(const struct plot *plot)
{
  const struct edge *edge = plot->edge;
  double lean = 1 / cos(edge->slant * M_PI / 180);
  double half = (edge->at_most ? edge->thick.high : edge->thick.value) * lean / 2, place = edge->place.value;

  if (edge->shadow) {
    shade(plot, edge->shadow_from, edge->shadow_to, SHADOW);
  }
  if (edge->told) {
    shade(plot, fmax(place - half, 0), fmin(place + half, edge->length), SHADE);
    shade(plot, edge->place.low, edge->place.high, INTERVAL);
  }
}

static void add_place(const struct plot *plot)
{
  double x = picture_x(plot, plot->edge->place.value);
  const struct point line[2] = {{x, TOP - 4}, {x, panel_top(PANELS - 1) + PANEL}};

  if (plot->edge->told) {
    drawing_path(plot->drawing, line, 2, 1.6, INK);
  }
}

static void add_swatches(const struct plot *plot)
{
  const struct edge *edge = plot->edge;

  for (size_t i = 0; i < edge->bins; i++) {
    double from = picture_x(plot, edge->bin[i].at - edge->step / 2);
    double to = picture_x(plot, edge->bin[i].at + edge->step / 2);
    drawing_rectangle(plot->drawing, (struct point){from, TOP}, to - from, STRIP,
                      drawing_colour_of(edge->bin[i].lab_d50));
  }
}

static void add_axis(const struct plot *plot)
{
  double step = tick_step(plot->span, 8), y = panel_top(PANELS - 1) + PANEL;

  for (double value = 0; value <= plot->span; value += step) {
    double x = across_picture(value, plot->span);
    const struct point tick[2] = {{x, y}, {x, y + 7}};
    drawing_path(plot->drawing, tick, 2, 1.5, INK);
    add_number(plot->drawing, (struct point){x, y + 28}, DRAWING_MIDDLE, value, step);
  }
  drawing_text(plot->drawing, (struct point){(LEFT + WIDTH - RIGHT) / 2.0, y + 54}, DRAWING_MIDDLE, LETTER,
               INK, plot->mm ? "mm along the line, in the card's plane" : "pixels along the line");
  drawing_text(plot->drawing, (struct point){10, HEIGHT - 14}, DRAWING_LEFT, LETTER, INK,
               plot->edge->told
                   ? "blue measured, red fitted; dark band: place, 95 %; pale: thickness, 10 to 90 %"
                   : "blue: measured; dE00: CIEDE2000 from the line's beginning");
}

static void add_frame(const struct plot *plot, int panel)
{
  double top = panel_top(panel);
  const struct point line[5] = {
      {LEFT, top}, {WIDTH - RIGHT, top}, {WIDTH - RIGHT, top + PANEL}, {LEFT, top + PANEL}, {LEFT, top}};

  drawing_path(plot->drawing, line, 5, 1, INK);
}

/* The letters of the PNG have no sign for it. */
static void spell_plus_minus(char *c)
{
  for (; c && *c; c++) {
    if (c[0] == '\xC2' && c[1] == '\xB1') {
      c[0] = '+';
      c[1] = '-';
    }
  }
}

/* The sheet's line in up to three rows, broken behind colons and semicolons. */
static void add_title(const struct plot *plot)
{
  struct text line = {0};
  char row[200];
  double y = 24;

  report_edge_line(plot->m, plot->edge, &line);
  spell_plus_minus(line.data);
  for (const char *c = line.data; c && *c; y += 28) {
    size_t length = strcspn(c, ":;");
    length += c[length] != '\0';
    snprintf(row, sizeof row, "%.*s", (int)length, c);
    drawing_text(plot->drawing, (struct point){10, y}, DRAWING_LEFT, LETTER, INK, row);
    c += length;
    c += strspn(c, " ");
  }
  plot->drawing->failed |= line.failed;
  text_clear(&line);
}

void report_edge_picture(const struct measurement *m, const struct edge *edge, struct drawing *drawing)
{
  struct plot plot = {.m = m, .edge = edge, .drawing = drawing, .mm = edge->scaled};

  plot.span = plot.mm ? edge->length_mm : edge->length;
  drawing_begin(drawing, WIDTH, HEIGHT);
  add_title(&plot);
  shade_boundary(&plot);
  for (int panel = 0; panel < PANELS; panel++) {
    struct curve curve;
    if (!make_curve(&plot, panel, &curve)) {
      drawing->failed = true;
      return;
    }
    add_panel_axis(&plot, &curve, panel);
    add_panel_curves(&plot, &curve, panel);
    add_frame(&plot, panel);
    free(curve.measured);
  }
  add_swatches(&plot);
  add_place(&plot);
  add_axis(&plot);
}
