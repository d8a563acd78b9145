/* SPDX-License-Identifier: MIT */
/* The map. A row of the renotation has a place in the (a*, b*) plane of CIELAB under C: an angle and a radius there. At a
 * given value, a mesh of four-cornered cells lies over that plane, two hues and two chromas to a cell; its corners are
 * mixed, linearly in value, of those in the tabulated values below and above, and within a cell angle and radius are
 * bilinear in hue and chroma. docs/method.md says why angle, radius and value were taken and not x, y and Y, and
 * shows that no cell is folded, so that every colour has exactly one notation. */
#include "munsell/renotation.h"

#include <math.h>

#include "munsell/tables.h"

enum { LAST_PLANE = MUNSELL_PLANE_COUNT - 2, LAST_CHROMA = MUNSELL_CHROMA_STEPS - 2 };

static const double PI = 3.14159265358979323846;

/* Weights of corners and departures from a cell's sides below this are rounding. */
static const double ROUNDING = 1e-12;

/* A luminance this far above 100 is still white. */
static const double WHITE_SLACK = 1e-6;

bool munsell_is_neutral(struct munsell m)
{
  return m.chroma < MUNSELL_NEUTRAL_CHROMA;
}

/* ASTM D1535-14: Y = 1.1914 V - 0.22533 V^2 + 0.23352 V^3 - 0.020484 V^4 + 0.00081939 V^5. */
double munsell_luminance(double value)
{
  return value * (1.1914 + value * (-0.22533 + value * (0.23352 + value * (-0.020484 + value * 0.00081939))));
}

static double luminance_slope(double value)
{
  return 1.1914 +
         value * (-2 * 0.22533 + value * (3 * 0.23352 + value * (-4 * 0.020484 + value * 5 * 0.00081939)));
}

double munsell_value(double luminance)
{
  double y = fmin(fmax(luminance, 0), 100), step = 1;
  double value = y < 1 ? y / 1.19 : 2.5 * cbrt(y) - 1.6; /* within 0.1 */

  for (int i = 0; i < 10 && fabs(step) > 1e-13; i++) {
    step = (munsell_luminance(value) - y) / luminance_slope(value);
    value -= step;
  }
  return fmin(fmax(value, 0), 10);
}

/* Two neighbouring planes of the table and the place between them. */
struct slab {
  int plane;
  double part; /* 0 in the lower, 1 in the upper plane */
};

static struct slab slab_of(double value)
{
  int plane = value < 1 ? (int)(value * 5) : 4 + (int)value;
  double low, high;

  plane = plane > LAST_PLANE ? LAST_PLANE : plane;
  low = MUNSELL_PLANES[plane];
  high = MUNSELL_PLANES[plane + 1];
  return (struct slab){plane, (value - low) / (high - low)};
}

static struct munsell_node mix(struct munsell_node a, struct munsell_node b, double part)
{
  return (struct munsell_node){a.angle + part * (b.angle - a.angle), a.radius + part * (b.radius - a.radius)};
}

/* A cell of the mesh at one value: hue steps hue, hue + 1 and chroma steps chroma, chroma + 1. */
struct cell {
  int hue, chroma;
  struct munsell_node corner[2][2]; /* [hue side][chroma side] */
};

static void cell_load(struct cell *cell, struct slab slab)
{
  for (int side = 0; side < 2; side++) {
    const struct munsell_node *low = &MUNSELL_NODES[slab.plane][cell->hue + side][cell->chroma];
    const struct munsell_node *high = &MUNSELL_NODES[slab.plane + 1][cell->hue + side][cell->chroma];

    cell->corner[side][0] = mix(low[0], high[0], slab.part);
    cell->corner[side][1] = mix(low[1], high[1], slab.part);
  }
}

static double cross(struct munsell_node a, struct munsell_node b)
{
  return a.angle * b.radius - a.radius * b.angle;
}

static struct munsell_node minus(struct munsell_node a, struct munsell_node b)
{
  return (struct munsell_node){a.angle - b.angle, a.radius - b.radius};
}

/* Whether `at` lies to the right of the way from one corner to another, which goes round the cell to the left. */
static bool beyond(struct munsell_node from, struct munsell_node to, struct munsell_node at)
{
  return cross(minus(to, from), minus(at, from)) < -ROUNDING;
}

/* `at` with its angle taken by whole turns to within half a turn of the cell's first corner. */
static struct munsell_node unwound(struct munsell_node at, const struct cell *cell)
{
  double away = at.angle - cell->corner[0][0].angle;

  if (away > PI) {
    at.angle -= 2 * PI;
  } else if (away < -PI) {
    at.angle += 2 * PI;
  }
  return at;
}

/* Moves to the next cell towards `at`; false once `at` is inside. Cells of the outermost chroma have no outer side. */
static bool cell_step(struct cell *cell, struct munsell_node at)
{
  struct munsell_node(*n)[2] = cell->corner;

  at = unwound(at, cell);
  if (beyond(n[0][1], n[0][0], at)) {
    cell->hue = cell->hue > 0 ? cell->hue - 1 : MUNSELL_HUE_STEPS - 1;
  } else if (beyond(n[1][0], n[1][1], at)) {
    cell->hue = cell->hue < MUNSELL_HUE_STEPS - 1 ? cell->hue + 1 : 0;
  } else if (cell->chroma > 0 && beyond(n[0][0], n[1][0], at)) {
    cell->chroma--;
  } else if (cell->chroma < LAST_CHROMA && beyond(n[1][1], n[0][1], at)) {
    cell->chroma++;
  } else {
    return false;
  }
  return true;
}

/* The first guess: the hue from a table of directions, the chroma from the radius of chroma 8 there. */
static struct cell cell_near(struct slab slab, struct munsell_node at)
{
  int bin = (int)(at.angle * (MUNSELL_START_BINS / (2 * PI)));
  struct cell cell = {.hue = MUNSELL_START[slab.plane][bin & (MUNSELL_START_BINS - 1)]};
  double chroma = 4 * at.radius / MUNSELL_NODES[slab.plane + 1][cell.hue][4].radius;

  cell.chroma = chroma < LAST_CHROMA ? (int)chroma : LAST_CHROMA;
  return cell;
}

/* The cell that holds `at`, found by walking through the mesh. False if the way does not end. */
static bool cell_find(struct cell *cell, struct slab slab, struct munsell_node at)
{
  *cell = cell_near(slab, at);
  for (int steps = 0; steps < MUNSELL_HUE_STEPS * MUNSELL_CHROMA_STEPS; steps++) {
    cell_load(cell, slab);
    if (!cell_step(cell, at)) {
      return true;
    }
  }
  return false;
}

/* Hue and chroma, in steps, of a place in a cell. With e = at - n00, b along the hue, c along the chroma and d the twist,
 *   e = s b + u (c + s d)   so that   (e - s b) x (c + s d) = 0,
 * a quadratic in s. Its derivative at the wanted root is minus the Jacobian, which is positive: of the two roots it is the
 * one written here, in the form that does not cancel. */
static void cell_solve(struct cell *cell, struct munsell_node at, double *s, double *u)
{
  struct munsell_node(*n)[2] = cell->corner;
  struct munsell_node e = minus(unwound(at, cell), n[0][0]), b = minus(n[1][0], n[0][0]),
                      c = minus(n[0][1], n[0][0]);
  struct munsell_node d = minus(minus(n[1][1], n[0][1]), b);
  double constant = cross(e, c), linear = cross(b, c) - cross(e, d), square = -cross(b, d);
  double root = sqrt(fmax(linear * linear - 4 * square * constant, 0));

  *s = 2 * constant / (linear + root);
  *u = (e.radius - *s * b.radius) / (c.radius + *s * d.radius);
}

static double wrapped_hue(double hue)
{
  double turned = fmod(hue, 100);

  return turned > 0 ? turned : turned + 100;
}

static struct xyY neutral_xyY(double luminance)
{
  struct xyY c = colour_xyY_from_xyz(COLOUR_WHITE_C, COLOUR_WHITE_C);

  c.Y = luminance;
  return c;
}

static struct munsell_node place_of(double hue, double value, double chroma)
{
  double step = wrapped_hue(hue) / 2.5, ring = chroma / 2;
  struct cell cell = {.hue = step < MUNSELL_HUE_STEPS ? (int)step : 0, /* step 40 is step 0 */
                      .chroma = ring < LAST_CHROMA ? (int)ring : LAST_CHROMA};
  double s = step < MUNSELL_HUE_STEPS ? step - cell.hue : 0, u = ring - cell.chroma;

  cell_load(&cell, slab_of(value));
  return mix(mix(cell.corner[0][0], cell.corner[0][1], u), mix(cell.corner[1][0], cell.corner[1][1], u), s);
}

static struct xyz xyz_of(struct munsell m)
{
  double value = fmin(fmax(m.value, 0), 10), luminance = munsell_luminance(value);
  struct munsell_node at = place_of(m.hue, value, fmax(m.chroma, 0));
  struct xyz grey = {0, luminance, 0};
  struct lab lab = colour_lab_from_xyz(grey, COLOUR_WHITE_C);

  lab.a = at.radius * cos(at.angle);
  lab.b = at.radius * sin(at.angle);
  struct xyz c = colour_xyz_from_lab(lab, COLOUR_WHITE_C);
  c.Y = luminance;
  return c;
}

struct xyY munsell_to_xyY(struct munsell m)
{
  if (!isfinite(m.value) || !isfinite(m.chroma) || (m.chroma > 0 && !isfinite(m.hue))) {
    return (struct xyY){0, 0, 0};
  }
  if (m.chroma <= 0) {
    return neutral_xyY(munsell_luminance(fmin(fmax(m.value, 0), 10)));
  }
  return colour_xyY_from_xyz(xyz_of(m), COLOUR_WHITE_C);
}

/* The least of a table's entries at the corners of the cell that weigh in at m. */
static int least_at_corners(struct munsell m, const unsigned char table[][MUNSELL_HUE_STEPS + 1])
{
  struct slab slab = slab_of(m.value);
  double step = wrapped_hue(m.hue) / 2.5;
  int hue = (int)(step + 1e-6), least = MUNSELL_CHROMA_STEPS;
  bool lower = slab.part<1 - 1e-6, upper = slab.part> 1e-6, next = step - hue > 1e-6;

  for (int plane = slab.plane + !lower; plane <= slab.plane + upper; plane++) {
    for (int side = 0; side <= next; side++) {
      int entry = table[plane][hue + side];
      least = entry < least ? entry : least;
    }
  }
  return least;
}

enum munsell_place munsell_place_in_rows(struct munsell m)
{
  double ring = m.chroma / 2 - 1e-6;

  if (!(m.value >= 0 && m.value <= 10) || !isfinite(m.chroma)) {
    return MUNSELL_OUTSIDE;
  }
  if (ring <= 0) {
    return MUNSELL_PUBLISHED;
  }
  if (!isfinite(m.hue)) {
    return MUNSELL_OUTSIDE;
  }
  if (ring <= least_at_corners(m, MUNSELL_PUBLISHED_LAST)) {
    return MUNSELL_PUBLISHED;
  }
  return ring <= least_at_corners(m, MUNSELL_LAST) ? MUNSELL_EXTRAPOLATED : MUNSELL_OUTSIDE;
}

static enum munsell_place place_of_colour(struct munsell m, struct xyY c)
{
  enum munsell_place place = munsell_place_in_rows(m);

  return place == MUNSELL_EXTRAPOLATED && !munsell_is_real_surface(c) ? MUNSELL_OUTSIDE : place;
}

/* Hue and chroma of a colour whose value is known. */
static bool find_hue_and_chroma(struct xyY c, struct munsell *m)
{
  struct lab lab = colour_lab_from_xyz(colour_xyz_from_xyY(c), COLOUR_WHITE_C);
  struct munsell_node at = {atan2(lab.b, lab.a), sqrt(lab.a * lab.a + lab.b * lab.b)};
  struct slab slab = slab_of(m->value);
  struct cell cell;
  double s, u;

  if (!isfinite(at.radius)) {
    return false;
  }
  if (at.radius == 0) {
    return true;
  }
  if (!cell_find(&cell, slab, at)) {
    return false;
  }
  cell_solve(&cell, at, &s, &u);
  m->hue = wrapped_hue(2.5 * (cell.hue + s));
  m->chroma = fmax(2 * (cell.chroma + u), 0);
  return true;
}

bool munsell_from_xyY(struct xyY c, struct munsell *m, enum munsell_place *place)
{
  bool done = isfinite(c.x) && isfinite(c.y) && isfinite(c.Y) && c.y > 0;

  *m = (struct munsell){0, 0, 0};
  if (done) {
    bool within = c.Y >= -WHITE_SLACK && c.Y <= 100 + WHITE_SLACK;

    c.Y = fmin(fmax(c.Y, 0), 100);
    m->value = munsell_value(c.Y);
    done = find_hue_and_chroma(c, m) && within;
  }
  if (place) {
    *place = done ? place_of_colour(*m, c) : MUNSELL_OUTSIDE;
  }
  return done;
}

/* Change of XYZ from one colour to another, per unit of what they differ in by `step`. */
static struct vec3 slope_between(struct munsell from, struct munsell to, double step)
{
  struct vec3 a = colour_vec_from_xyz(xyz_of(from)), b = colour_vec_from_xyz(xyz_of(to));

  return vec3_scale(vec3_subtract(b, a), 1 / step);
}

bool munsell_jacobian(struct munsell m, struct mat3 *jacobian)
{
  const double h = 1e-4;

  *jacobian = (struct mat3){{{0}}};
  if (!isfinite(m.hue) || !isfinite(m.value) || !isfinite(m.chroma)) {
    return false;
  }
  double value = fmin(fmax(m.value, h), 10 - h), chroma = fmax(m.chroma, 2 * h);
  struct vec3 columns[3] = {slope_between((struct munsell){m.hue - h, value, chroma},
                                          (struct munsell){m.hue + h, value, chroma}, 2 * h),
                            slope_between((struct munsell){m.hue, value - h, chroma},
                                          (struct munsell){m.hue, value + h, chroma}, 2 * h),
                            slope_between((struct munsell){m.hue, value, chroma - h},
                                          (struct munsell){m.hue, value, chroma + h}, 2 * h)};
  struct mat3 forward;

  for (int row = 0; row < 3; row++) {
    for (int column = 0; column < 3; column++) {
      forward.m[row][column] = columns[column].v[row];
    }
  }
  if (!mat3_invert(forward, jacobian)) {
    return false;
  }
  if (m.chroma < 0.3) {
    jacobian->m[0][0] = jacobian->m[0][1] = jacobian->m[0][2] = 0;
    return false;
  }
  return true;
}
