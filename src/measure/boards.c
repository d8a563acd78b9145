/* SPDX-License-Identifier: MIT */
/* Cells of a colour that no deposit of the face has come in pieces; boards first, which hold squares of six by six, then, of what
 * is left, bars. */
#include "measure/boards.h"

#include <math.h>
#include <stdlib.h>

#include "base/order.h"
#include "measure/box.h"

/* Shares of the face: from which on a part shows what colours deposits have; and a thing at most. */
static const double DEPOSIT_LEAST = 0.008, DUBIOUS_LEAST = 0.03, THING_MOST = 0.15;
/* What fills so much of a turned rectangle, with three of its corners, has straight sides; of long things the rim is most. A stub of a bar
 * beyond a board is shorter. */
static const double FILLED = 0.8, LONG_FILLED = 0.7, LONG = 3, STUB = 2;
enum { CORNERS_LEAST = 3, CELLS_LEAST = 20 };
/* Cells across what is not long: less is a stone. Across a bar, cells, and a share of the frame's diagonal. */
static const double WIDE_LEAST = 8, BAR_LEAST = 2.2, BAR_MOST = 0.05;
/* Of the deposits' scatter from cell to cell: paint and paper stay under that. */
static const double EVEN = 0.6;
/* L* and C*ab of black and white that few soils have, and then not with straight sides all round. */
static const double GREY_CHROMA = 10, GREY_DARK = 28, GREY_LIGHT = 72;
/* Squared spreads from all deposits from which on a cell is of none. Spreads: least ones of log signal, and how many off a cell
 * does not count for them. */
static const double ODD2 = 20, FLOOR[3] = {0.01, 0.005, 0.005}, TRIMMED = 3;
/* Cells marked round a thing, as its rim is part of their pixels; and from a thing, up to which odd ones belong to it. */
static const double MARGIN = 0.7, NEAR = 2;

enum { BOARD = 6, BAR = 2 }; /* cells a side of the squares that they hold */

/* What is worked with; all owned but the first three. */
struct search {
  struct division *d;
  const struct light *light;
  const struct profile *profile;
  uint8_t *odd, *open; /* a byte a cell: of no deposit's colour; what is left of that when opened */
  struct point *place; /* of a piece */
  double *value;
  /* Colours that the face has, by part. */
  struct vec3 mean[DIVISION_PARTS_MAX + 1];
  bool trusted[DIVISION_PARTS_MAX + 1];
  double spread[3];
};

static void search_clear(struct search *s)
{
  free(s->odd);
  free(s->open);
  free(s->place);
  free(s->value);
}

static bool search_make(const struct profile *profile, const struct light *light, struct division *d,
                        struct search *s)
{
  size_t count = d->cells.count + 1;

  *s = (struct search){.d = d, .light = light, .profile = profile};
  s->odd = calloc(count, 1);
  s->open = calloc(count, 1);
  s->place = calloc(count, sizeof *s->place);
  s->value = calloc(count, sizeof *s->value);
  return s->odd && s->open && s->place && s->value;
}

static struct point place_of(const struct division *d, size_t i)
{
  return (struct point){(int)i % d->cells.columns, (int)i / d->cells.columns};
}

static size_t index_of(const struct division *d, struct point place)
{
  return (size_t)place.y * (size_t)d->cells.columns + (size_t)place.x;
}

/* Median distance of cells in log green from the one right of them, where both are of the same part (0: of any). */
static double scatter_of(const struct search *s, int part)
{
  const struct cell *cell = s->d->cells.cell;
  size_t count = 0;

  for (size_t i = 0; i + 1 < s->d->cells.count; i++) {
    int segment = cell[i].segment;
    bool counts = (part ? segment == part : segment > 0) && cell[i + 1].segment == segment &&
                  ((int)i + 1) % s->d->cells.columns != 0 && cell[i].open && cell[i + 1].open;
    if (counts && s->d->thing[i] == DIVISION_FACE && s->d->thing[i + 1] == DIVISION_FACE) {
      s->value[count++] = fabs(cell[i].even.v[0] - cell[i + 1].even.v[0]);
    }
  }
  return order_upper_median(s->value, count);
}

static size_t cells_of_part(const struct search *s, int part)
{
  size_t count = 0;

  for (size_t i = 0; i < s->d->cells.count; i++) {
    const struct cell *cell = &s->d->cells.cell[i];
    if (cell->segment == part && cell->open && s->d->thing[i] == DIVISION_FACE) {
      s->place[count++] = place_of(s->d, i);
    }
  }
  return count;
}

static void take_spread(struct search *s)
{
  double before[3] = {INFINITY, INFINITY, INFINITY};

  for (int turn = 0; turn < 4; turn++) {
    double squares[3] = {0}, count[3] = {0};
    for (size_t i = 0; i < s->d->cells.count; i++) {
      int part = s->d->cells.cell[i].segment;
      for (int k = 0; k < 3 && part > 0 && s->trusted[part] && s->d->cells.cell[i].open; k++) {
        double off = s->d->cells.cell[i].even.v[k] - s->mean[part].v[k];
        squares[k] += fabs(off) < TRIMMED * before[k] ? off * off : 0;
        count[k] += fabs(off) < TRIMMED * before[k];
      }
    }
    for (int k = 0; k < 3; k++) {
      before[k] = s->spread[k] = fmax(sqrt(squares[k] / fmax(count[k], 1)), FLOOR[k]);
    }
  }
}

/* Whether a cell of the face has a colour that no deposit has; clipped ones have none at all. */
static bool is_odd(const struct search *s, size_t i)
{
  const struct cell *cell = &s->d->cells.cell[i];
  bool odd = !cell->card && s->d->thing[i] == DIVISION_FACE;

  if (odd && !cell->open) {
    return light_side_at(s->light, cell->place) != LIGHT_ON_EDGE;
  }
  for (int part = 1; odd && part <= s->d->parts; part++) {
    double sum = 0;
    for (int k = 0; k < 3; k++) {
      double off = (cell->even.v[k] - s->mean[part].v[k]) / s->spread[k];
      sum += off * off;
    }
    odd = !s->trusted[part] || sum > ODD2;
  }
  return odd;
}

/* Keeps of the odd cells those in squares of so many a side. */
static void open_up(struct search *s, int side)
{
  int columns = s->d->cells.columns, rows = s->d->cells.rows;

  for (size_t i = 0; i < s->d->cells.count; i++) {
    s->open[i] = 0;
  }
  for (int i = 0; i < columns * rows; i++) {
    bool all = i % columns + side <= columns && i / columns + side <= rows;
    for (int k = 0; k < side * side && all; k++) {
      all = s->odd[i + k / side * columns + k % side];
    }
    for (int k = 0; k < side * side && all; k++) {
      s->open[i + k / side * columns + k % side] = 1;
    }
  }
}

/* Takes a connected piece, also across corners, out of the opened cells, and of the odd ones. Returns how many cells. */
static size_t take_piece(struct search *s, size_t start)
{
  size_t count = 1;

  s->open[start] = s->odd[start] = 0;
  s->place[0] = place_of(s->d, start);
  for (size_t next = 0; next < count; next++) {
    for (int k = 0; k < 9; k++) {
      struct point at = {s->place[next].x + k % 3 - 1, s->place[next].y + k / 3 - 1};
      bool inside = at.x >= 0 && at.y >= 0 && at.x < s->d->cells.columns && at.y < s->d->cells.rows;
      if (inside && s->open[index_of(s->d, at)]) {
        s->open[index_of(s->d, at)] = s->odd[index_of(s->d, at)] = 0;
        s->place[count++] = at;
      }
    }
  }
  return count;
}

/* Whether neighbours in a piece are as alike as on paint, in the median: stripes and writing do not count. */
static bool is_even(const struct search *s, size_t count, double usual)
{
  size_t pairs = 0;

  for (size_t i = 0; i < count; i++) {
    size_t at = index_of(s->d, s->place[i]);
    if (s->place[i].x + 1 < s->d->cells.columns) {
      s->value[pairs++] = fabs(s->d->cells.cell[at].even.v[0] - s->d->cells.cell[at + 1].even.v[0]);
    }
  }
  return pairs > 0 && order_upper_median(s->value, pairs) < EVEN * usual;
}

/* Black or white by the median of its cells. */
static bool is_grey(const struct search *s, size_t count)
{
  struct vec3 median = {{0}};

  for (int k = 0; k < 3 && count > 0; k++) {
    for (size_t i = 0; i < count; i++) {
      s->value[i] = s->d->cells.cell[index_of(s->d, s->place[i])].even.v[k];
    }
    median.v[k] = order_upper_median(s->value, count);
  }
  double green = exp(median.v[0]);
  struct lab lab =
      profile_lab(s->profile, (struct vec3){{green * exp(median.v[1]), green, green * exp(median.v[2])}});
  return hypot(lab.a, lab.b) < GREY_CHROMA && (lab.L < GREY_DARK || lab.L > GREY_LIGHT);
}

static bool straight_sided(const struct box *box, const struct point *place, size_t count)
{
  return box->filled >= FILLED && box_corners(box, place, count) >= CORNERS_LEAST;
}

/* Parts that are large enough show what colours there are. Those that are smooth, or black or white (dark paint may be as rough as
 * soil by noise), must be larger, and not be straight-sided. */
static bool take_deposits(struct search *s)
{
  double usual = scatter_of(s, 0);
  bool done = true;

  for (int part = 1; part <= s->d->parts && done; part++) {
    size_t count = cells_of_part(s, part);
    double share = (double)count / (double)s->d->face;
    struct box box = {0};
    for (size_t i = 0; i < count; i++) {
      s->mean[part] = vec3_add(s->mean[part], s->d->cells.cell[index_of(s->d, s->place[i])].even);
    }
    s->mean[part] = vec3_scale(s->mean[part], 1 / fmax((double)count, 1));
    bool sure = share > THING_MOST;
    bool dubious = !sure && (is_grey(s, count) || scatter_of(s, part) < EVEN * usual);
    if (dubious && share > DUBIOUS_LEAST) {
      done = box_round(s->place, count, &box);
      sure = !straight_sided(&box, s->place, count);
    }
    s->trusted[part] = sure || (share > DEPOSIT_LEAST && !dubious);
  }
  take_spread(s);
  return done;
}

static bool meets_board(const struct search *s, const struct box *box)
{
  bool meets = false;

  for (size_t i = 0; i < s->d->cells.count && !meets; i++) {
    meets = s->d->thing[i] == DIVISION_BOARD && box_distance(box, place_of(s->d, i)) < NEAR + 1;
  }
  return meets;
}

static bool is_thing(const struct search *s, size_t count, const struct box *box, double usual)
{
  double length = fmax(box_side(box, 0), box_side(box, 1)), width = fmin(box_side(box, 0), box_side(box, 1));

  if (count < CELLS_LEAST || (double)count > THING_MOST * (double)s->d->face) {
    return false;
  }
  bool straight = straight_sided(box, s->place, count);
  if (width >= BAR_LEAST && width < BAR_MOST * hypot(s->d->cells.columns, s->d->cells.rows) &&
      (length >= LONG * width ? box->filled >= LONG_FILLED
                              : length >= STUB * width && box->filled >= FILLED && meets_board(s, box))) {
    return true;
  }
  return width >= WIDE_LEAST && straight && (is_even(s, count, usual) || is_grey(s, count));
}

/* The box with its margin, and odd cells close to it, which are no longer looked at then. */
static void mark_box(struct search *s, const struct box *box)
{
  for (size_t i = 0; i < s->d->cells.count; i++) {
    double off = box_distance(box, place_of(s->d, i));
    if (off < MARGIN || (s->odd[i] && off < NEAR)) {
      bool face = !s->d->cells.cell[i].card && s->d->thing[i] == DIVISION_FACE;
      s->d->thing[i] = face ? DIVISION_BOARD : s->d->thing[i];
      s->odd[i] = 0;
    }
  }
}

static bool mark_pieces(struct search *s, int side, double usual)
{
  struct box box;

  open_up(s, side);
  for (size_t i = 0; i < s->d->cells.count; i++) {
    size_t count = s->open[i] ? take_piece(s, i) : 0;
    if (count && !box_round(s->place, count, &box)) {
      return false;
    }
    if (count && is_thing(s, count, &box, usual)) {
      mark_box(s, &box);
    }
  }
  return true;
}

bool boards_mark(const struct profile *profile, const struct light *light, struct division *d,
                 struct error *error)
{
  struct search s;
  bool done = search_make(profile, light, d, &s) && take_deposits(&s);

  if (done) {
    for (size_t i = 0; i < d->cells.count; i++) {
      s.odd[i] = is_odd(&s, i);
    }
    double usual = scatter_of(&s, 0);
    done = mark_pieces(&s, BOARD, usual) && mark_pieces(&s, BAR, usual);
  }
  search_clear(&s);
  return done || error_no_memory(error, "the division");
}
