/* SPDX-License-Identifier: MIT */
/* Which interpolation fits the renotation itself? Each published row is left out and predicted from its published neighbours on
 * both sides, in hue, in chroma or in value; printed is how far off that is, in CIELAB 1976 under C. Run by
 * `meson test --benchmark`; docs/method.md quotes it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "csv.h"
#include "munsell/notation.h"
#include "munsell/tables.h"

enum { ROWS_MOST = 5000 };

/* x, y of published rows; `known` where there is one. Chroma 0 is known everywhere. */
struct row {
  bool known;
  double x, y;
};
static struct row rows[MUNSELL_PLANE_COUNT][MUNSELL_HUE_STEPS][MUNSELL_CHROMA_STEPS];

/* A row's place: plane of value, hue step, chroma step. */
struct at {
  int plane, hue, chroma;
};

/* A way to interpolate: in xy or (a*, b*), straight or by angle and radius, and over value by V or by Y. */
struct way {
  const char *name;
  bool lab, polar, by_luminance;
};

static const struct way WAYS[] = {
    {"x, y straight, by V", false, false, false},         {"x, y straight, by Y", false, false, true},
    {"x, y angle and radius, by V", false, true, false},  {"x, y angle and radius, by Y", false, true, true},
    {"a*, b* straight, by V", true, false, false},        {"a*, b* straight, by Y", true, false, true},
    {"a*, b* angle and radius, by V", true, true, false}, {"a*, b* angle and radius, by Y", true, true, true},
};

static int plane_of(double value)
{
  int plane = 1;

  while (plane < MUNSELL_PLANE_COUNT - 1 && MUNSELL_PLANES[plane] < value - 1e-9) {
    plane++;
  }
  return plane;
}

static bool read_rows(void)
{
  struct csv csv;
  struct error error;

  if (!csv_read(TAWNY_SOURCE_ROOT "/calibration/munsell/renotation.csv", &csv, &error)) {
    fprintf(stderr, "%s\n", error.text);
    return false;
  }
  for (size_t i = 0; i < csv.rows; i++) {
    char text[40];
    struct munsell m;
    snprintf(text, sizeof text, "%s %s/%s", csv.cells[i][0], csv.cells[i][1], csv.cells[i][2]);
    if (csv.cells[i][5][0] == '1' && munsell_parse(text, &m, &error)) {
      struct row *row = &rows[plane_of(m.value)][(int)(m.hue / 2.5) % MUNSELL_HUE_STEPS][(int)(m.chroma / 2)];
      *row = (struct row){true, csv_number(&csv, i, 3), csv_number(&csv, i, 4)};
    }
  }
  csv_clear(&csv);
  return true;
}

static struct row row_at(struct at at)
{
  if (at.chroma == 0) {
    return (struct row){true, 0.31006, 0.31616};
  }
  if (at.plane < 1 || at.plane >= MUNSELL_PLANE_COUNT) {
    return (struct row){false, 0, 0};
  }
  return rows[at.plane][(at.hue + MUNSELL_HUE_STEPS) % MUNSELL_HUE_STEPS][at.chroma];
}

static struct lab lab_at(double x, double y, double value)
{
  return colour_lab_from_xyz(colour_xyz_from_xyY((struct xyY){x, y, munsell_luminance(value)}),
                             COLOUR_WHITE_C);
}

/* Place of a row in the plane of a way, as seen from grey. */
static struct munsell_node cartesian(struct at at, const struct way *way)
{
  struct row row = row_at(at);
  struct lab lab = lab_at(row.x, row.y, MUNSELL_PLANES[at.plane]);

  return way->lab ? (struct munsell_node){lab.a, lab.b}
                  : (struct munsell_node){row.x - 0.31006, row.y - 0.31616};
}

static struct munsell_node between(struct munsell_node p, struct munsell_node q, double part, bool polar)
{
  if (!polar) {
    return (struct munsell_node){p.angle + part * (q.angle - p.angle),
                                 p.radius + part * (q.radius - p.radius)};
  }
  double p_radius = hypot(p.angle, p.radius), q_radius = hypot(q.angle, q.radius);
  double q_angle = atan2(q.radius, q.angle), p_angle = p_radius > 0 ? atan2(p.radius, p.angle) : q_angle;
  double angle = p_angle + part * remainder(q_angle - p_angle, 2 * acos(-1));
  double radius = p_radius + part * (q_radius - p_radius);
  return (struct munsell_node){radius * cos(angle), radius * sin(angle)};
}

/* The part of the way from one plane to another at which a third lies. */
static double part_of(int low, int middle, int high, bool by_luminance)
{
  double a = MUNSELL_PLANES[low], b = MUNSELL_PLANES[middle], c = MUNSELL_PLANES[high];

  if (by_luminance) {
    a = munsell_luminance(a), b = munsell_luminance(b), c = munsell_luminance(c);
  }
  return (b - a) / (c - a);
}

/* How far the prediction of a row from two others is off. False where one of the three is not known. */
static bool miss(struct at at, struct at below, struct at above, const struct way *way, double *off)
{
  if (at.chroma == 0 || !row_at(at).known || !row_at(below).known || !row_at(above).known) {
    return false;
  }
  double part =
      below.plane == above.plane ? 0.5 : part_of(below.plane, at.plane, above.plane, way->by_luminance);
  struct munsell_node p = between(cartesian(below, way), cartesian(above, way), part, way->polar);
  struct row row = row_at(at);
  struct lab wanted = lab_at(row.x, row.y, MUNSELL_PLANES[at.plane]);
  struct lab got = way->lab ? (struct lab){wanted.L, p.angle, p.radius}
                            : lab_at(p.angle + 0.31006, p.radius + 0.31616, MUNSELL_PLANES[at.plane]);

  *off = hypot(got.a - wanted.a, got.b - wanted.b);
  return true;
}

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

/* The neighbours along one axis: 0 hue, 1 chroma, 2 value. */
static struct at neighbour(struct at at, int axis, int side)
{
  return (struct at){at.plane + (axis == 2) * side, at.hue + (axis == 0) * side,
                     at.chroma + (axis == 1) * side};
}

static void report(int axis, int first, int last, const struct way *way)
{
  static double off[ROWS_MOST];
  size_t count = 0;

  for (int i = 0; i < MUNSELL_HUE_STEPS * MUNSELL_CHROMA_STEPS; i++) {
    for (int plane = first; plane <= last; plane++) {
      struct at at = {plane, i % MUNSELL_HUE_STEPS, i / MUNSELL_HUE_STEPS};
      bool edge = at.chroma == MUNSELL_CHROMA_STEPS - 1;
      count += !edge && miss(at, neighbour(at, axis, -1), neighbour(at, axis, 1), way, &off[count]);
    }
  }
  qsort(off, count, sizeof *off, by_size);
  if (count > 0) {
    printf("  %-32s %5zu rows: median %.3f, 95 %% %.3f\n", way->name, count, off[count / 2],
           off[count * 95 / 100]);
  }
}

int main(void)
{
  static const char *const AXES[] = {"hue", "chroma", "value"};
  static const struct {
    const char *name;
    int first, last;
  } BANDS[] = {{"2 to 9", 6, 13}, {"1", 5, 5}, {"below 1", 1, 4}};

  if (!read_rows()) {
    return 1;
  }
  for (int i = 0; i < 9; i++) {
    printf("%s left out, value %s\n", AXES[i / 3], BANDS[i % 3].name);
    for (size_t k = 0; k < sizeof WAYS / sizeof *WAYS; k++) {
      if (i / 3 == 2 || !WAYS[k].by_luminance) {
        report(i / 3, BANDS[i % 3].first, BANDS[i % 3].last, &WAYS[k]);
      }
    }
  }
  return 0;
}
