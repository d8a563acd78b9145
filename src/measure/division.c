/* SPDX-License-Identifier: MIT */
#include "measure/division.h"

#include <math.h>
#include <stdlib.h>

#include "light/segment.h"
#include "measure/boards.h"
#include "measure/division_bridge.h"
#include "measure/strings.h"

/* Cells at most: a cell of a 24 megapixel photo has 24 pixels a side. */
enum { CELLS_MOST = 45000, TURNS_MOST = 60 };

static const double FINENESS = 0.4; /* looseness of the first parts (light/segment.h) */
static const double SMALLEST =
    0.005; /* share of the face below which a part is a speck                        */
static const double NEIGHBOUR =
    1.2;                           /* squared standard deviations that a neighbour of one's own is worth    */
static const double STRANGE2 = 16; /* beyond, a cell that is nobody's stays so                              */
static const double LIKE2 = 9;     /* below, the mean of a small part is like the deposit around it         */
static const double THINNEST =
    0.012; /* of the frame's diagonal: what is nowhere wider is string, rod or rim  */

static int merge_of(const struct image_blocks *blocks)
{
  double ratio = (double)blocks->columns * blocks->rows / CELLS_MOST;
  int merge = (int)ceil(sqrt(ratio));

  return merge < 1 ? 1 : merge;
}

static struct cell *at(const struct division *d, int column, int row)
{
  bool inside = column >= 0 && row >= 0 && column < d->cells.columns && row < d->cells.rows;

  return inside ? &d->cells.cell[(size_t)row * (size_t)d->cells.columns + (size_t)column] : NULL;
}

/* The cell a step from another: 0 right, 1 down, 2 left, 3 up, then the corners; NULL outside. */
static struct cell *neighbour(const struct division *d, size_t i, int k)
{
  static const int step[8][2] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}, {1, 1}, {-1, 1}, {-1, -1}, {1, -1}};

  return at(d, (int)i % d->cells.columns + step[k][0], (int)i / d->cells.columns + step[k][1]);
}

/* The deposits of the light's own cells, found once more in the settled light and more finely. */
static bool start_from_light(const struct image_blocks *blocks, const struct profile *profile,
                             const struct card_reference *card, const struct card_pose *pose,
                             const struct light *light, struct division *d, struct error *error)
{
  struct cells coarse = {0};
  bool done = cells_make(blocks, profile, card, pose, &coarse, error);

  if (done) {
    cells_even(&coarse, light);
    done = division_bridge_coarse(d, &coarse, error) &&
           segment_cells(&coarse, light, FINENESS, &d->parts, error);
  }
  double side = (double)coarse.merge * blocks->size;
  for (size_t i = 0; done && i < d->cells.count; i++) {
    struct cell *cell = &d->cells.cell[i];
    const struct cell *from =
        cells_open_at(&coarse, (int)(cell->place.x / side), (int)(cell->place.y / side));
    cell->segment = from && cell->open ? from->segment : 0;
    d->face += !cell->card;
  }
  cells_clear(&coarse);
  return done;
}

/* Means of the parts and the spread of cells about them, all parts together. */
struct colours {
  double *count; /* owned, likewise below; by part */
  struct vec3 *mean;
  double spread[3];
};

static bool colours_make(int parts, struct colours *c)
{
  c->count = calloc((size_t)parts + 1, sizeof *c->count);
  c->mean = calloc((size_t)parts + 1, sizeof *c->mean);
  return c->count && c->mean;
}

static void colours_clear(struct colours *c)
{
  free(c->count);
  free(c->mean);
}

/* `reach` in spreads: cells farther off count neither for means nor for the spread; 0: all count. */
static void take_colours(const struct division *d, double reach, struct colours *c)
{
  const struct colours before = *c;
  struct vec3 *sum = calloc((size_t)d->parts + 1, sizeof *sum);
  double *count = calloc((size_t)d->parts + 1, sizeof *count);
  double squares[3] = {0}, all = 0;

  for (size_t i = 0; sum && count && i < d->cells.count; i++) {
    const struct cell *cell = &d->cells.cell[i];
    bool counts = cell->segment > 0;
    for (int k = 0; k < 3 && reach > 0 && counts; k++) {
      counts = fabs(cell->even.v[k] - before.mean[cell->segment].v[k]) < reach * before.spread[k];
    }
    if (counts) {
      sum[cell->segment] = vec3_add(sum[cell->segment], cell->even);
      count[cell->segment]++;
      all++;
      for (int k = 0; k < 3; k++) {
        double off = cell->even.v[k] - before.mean[cell->segment].v[k];
        squares[k] += off * off;
      }
    }
  }
  for (int s = 1; sum && count && s <= d->parts; s++) {
    c->mean[s] = count[s] > 0 ? vec3_scale(sum[s], 1 / count[s]) : c->mean[s];
    c->count[s] = count[s];
  }
  for (int k = 0; k < 3; k++) {
    c->spread[k] = fmax(sqrt(squares[k] / fmax(all, 1)), 0.005);
  }
  free(sum);
  free(count);
}

static double distance2(const struct colours *c, int part, struct vec3 colour)
{
  double sum = 0;

  for (int k = 0; k < 3; k++) {
    double off = (colour.v[k] - c->mean[part].v[k]) / c->spread[k];
    sum += off * off;
  }
  return sum;
}

/* The part that a cell goes to by its own colour and by what lies around it. */
static int best_part(const struct division *d, const struct colours *c, size_t i)
{
  const struct cell *cell = &d->cells.cell[i];
  int found[8], count[8] = {0}, kinds = 0, best = cell->segment;

  for (int k = 0; k < 8; k++) {
    const struct cell *other = neighbour(d, i, k);
    int part = other ? other->segment : 0, n = 0;
    while (n < kinds && found[n] != part) {
      n++;
    }
    kinds += n == kinds && part > 0;
    if (part > 0) {
      found[n] = part;
      count[n]++;
    }
  }
  double least = best > 0 ? distance2(c, best, cell->even) : STRANGE2;
  for (int n = 0; n < kinds; n++) {
    least -= found[n] == cell->segment ? NEIGHBOUR * count[n] : 0;
  }
  for (int n = 0; n < kinds; n++) {
    double cost = distance2(c, found[n], cell->even) - NEIGHBOUR * count[n];
    if (found[n] != cell->segment && cost < least) {
      least = cost;
      best = found[n];
    }
  }
  return best;
}

static void sharpen(struct division *d, struct colours *c)
{
  size_t moved = 1;

  take_colours(d, 0, c);
  take_colours(d, 0, c);
  for (int turn = 0; turn < TURNS_MOST && moved > 0; turn++) {
    moved = 0;
    take_colours(d, 3, c);
    for (size_t k = 0; k < d->cells.count; k++) {
      size_t i = turn % 2 ? d->cells.count - 1 - k : k;
      int best = d->cells.cell[i].open ? best_part(d, c, i) : 0;
      moved += best != d->cells.cell[i].segment;
      d->cells.cell[i].segment = best;
    }
  }
}

/* A connected piece while parts are numbered anew. */
struct piece {
  int segment, number; /* before and after; 0 none */
  size_t cells;
  struct vec3 sum;
  bool card; /* touches the card, or is not of the face */
  int reach; /* largest distance of a cell from others, cells */
};

struct pieces {
  int *of;             /* owned; piece of each cell */
  int *stack;          /* owned */
  struct piece *piece; /* owned */
  int count;
};

static void pieces_clear(struct pieces *p)
{
  free(p->of);
  free(p->stack);
  free(p->piece);
}

static void flood(const struct division *d, size_t start, struct pieces *p)
{
  struct piece *piece = &p->piece[p->count];
  size_t waiting = 0;

  *piece = (struct piece){.segment = d->cells.cell[start].segment};
  p->of[start] = p->count;
  p->stack[waiting++] = (int)start;
  while (waiting > 0) {
    size_t i = (size_t)p->stack[--waiting];
    piece->cells++;
    piece->sum = vec3_add(piece->sum, d->cells.cell[i].even);
    piece->card = piece->card || d->cells.cell[i].card;
    for (int k = 0; k < 4; k++) {
      const struct cell *next = neighbour(d, i, k);
      size_t j = next ? (size_t)(next - d->cells.cell) : 0;
      if (next && p->of[j] < 0 && next->segment == piece->segment) {
        p->of[j] = p->count;
        p->stack[waiting++] = (int)j;
      }
    }
  }
  p->count++;
}

static bool find_pieces(const struct division *d, struct pieces *p)
{
  *p = (struct pieces){.of = calloc(d->cells.count + 1, sizeof *p->of),
                       .stack = calloc(d->cells.count + 1, sizeof *p->stack),
                       .piece = calloc(d->cells.count + 1, sizeof *p->piece)};
  if (!p->of || !p->stack || !p->piece) {
    return false;
  }
  for (size_t i = 0; i < d->cells.count; i++) {
    p->of[i] = -1;
  }
  for (size_t i = 0; i < d->cells.count; i++) {
    if (p->of[i] < 0) {
      flood(d, i, p);
    }
  }
  return true;
}

/* The large piece that shares most sides with each small one goes into `most`, -1 where there is none. */
static bool main_neighbours(const struct division *d, const struct pieces *p, double least, int *most)
{
  enum { NEIGHBOURS = 8 }; /* of a small piece: no matter which, where it has more */
  int *sides = calloc((size_t)p->count * NEIGHBOURS + 1, sizeof *sides),
      *who = calloc((size_t)p->count * NEIGHBOURS + 1, sizeof *who);

  for (size_t i = 0; sides && who && i < d->cells.count; i++) {
    size_t mine = (size_t)p->of[i] * NEIGHBOURS;
    for (int k = 0; k < 4; k++) {
      const struct cell *next = neighbour(d, i, k);
      int other = next ? p->of[next - d->cells.cell] : p->of[i];
      if (other != p->of[i] && p->piece[other].segment > 0 && (double)p->piece[other].cells >= least) {
        size_t n = 0;
        while (n < NEIGHBOURS && sides[mine + n] > 0 && who[mine + n] != other) {
          n++;
        }
        if (n < NEIGHBOURS) {
          who[mine + n] = other;
          sides[mine + n]++;
        }
      }
    }
  }
  for (int i = 0; sides && who && i < p->count; i++) {
    most[i] = -1;
    for (int n = 0, best = 0; n < NEIGHBOURS; n++) {
      if (sides[NEIGHBOURS * i + n] > best) {
        best = sides[NEIGHBOURS * i + n];
        most[i] = who[NEIGHBOURS * i + n];
      }
    }
  }
  bool done = sides && who;
  free(sides);
  free(who);
  return done;
}

/* Small pieces go to what they lie in: nobody's always (dots of clipping, pores), others where their colour is like it. */
static void give_away(struct division *d, const struct colours *c, double least, const struct pieces *p,
                      const int *most)
{
  for (size_t i = 0; i < d->cells.count; i++) {
    const struct piece *piece = &p->piece[p->of[i]];
    if ((double)piece->cells >= least || piece->card) {
      continue;
    }
    int to = most[p->of[i]] < 0 ? 0 : p->piece[most[p->of[i]]].segment;
    struct vec3 mean = vec3_scale(piece->sum, 1 / (double)piece->cells);
    bool like =
        piece->segment == 0 ? (double)piece->cells < least / 2 : to > 0 && distance2(c, to, mean) < LIKE2;
    d->cells.cell[i].segment = like ? to : 0;
  }
}

static bool absorb_small(struct division *d, const struct colours *c, struct error *error)
{
  double least = fmax(SMALLEST * (double)d->face, 12);
  struct pieces p;
  int *most = NULL;
  bool done = find_pieces(d, &p) && (most = calloc((size_t)p.count + 1, sizeof *most)) != NULL &&
              main_neighbours(d, &p, least, most);

  if (done) {
    give_away(d, c, least, &p, most);
  }
  free(most);
  pieces_clear(&p);
  return done || error_no_memory(error, "the division");
}

/* Steps, also across corners, from each cell to the nearest of another segment; the frame's rim does not count. */
static void distances(const struct division *d, int *steps)
{
  for (int back = 0; back < 2; back++) {
    for (size_t n = 0; n < d->cells.count; n++) {
      size_t i = back ? d->cells.count - 1 - n : n;
      int least = back ? steps[i] : 1 << 20;
      for (int k = 0; k < 8; k++) {
        const struct cell *next = neighbour(d, i, k);
        size_t j = next ? (size_t)(next - d->cells.cell) : i;
        bool other = next && next->segment != d->cells.cell[i].segment;
        bool passed = next && (back ? j > i : j < i);
        int by = other ? 1 : passed ? steps[j] + 1 : least;
        least = by < least ? by : least;
      }
      steps[i] = least;
    }
  }
}

static int compare_pieces(const void *a, const void *b)
{
  const struct piece *const *p = a, *const *q = b;

  if ((*p)->cells != (*q)->cells) {
    return (*p)->cells > (*q)->cells ? -1 : 1;
  }
  return (*p > *q) - (*p < *q);
}

/* Numbers the pieces that are large and wide enough, the largest first. */
static void number_pieces(struct division *d, struct pieces *p, struct piece **order)
{
  double least = fmax(SMALLEST * (double)d->face, 12);
  double wide = THINNEST * hypot(d->cells.columns, d->cells.rows);
  int count = 0;

  for (int i = 0; i < p->count; i++) {
    struct piece *piece = &p->piece[i];
    if (piece->segment > 0 && (double)piece->cells >= least && 2 * piece->reach - 1 >= wide) {
      order[count++] = piece;
    }
  }
  qsort(order, (size_t)count, sizeof *order, compare_pieces);
  d->parts = count < DIVISION_PARTS_MAX ? count : DIVISION_PARTS_MAX;
  for (int i = 0; i < d->parts; i++) {
    order[i]->number = i + 1;
  }
  for (size_t i = 0; i < d->cells.count; i++) {
    d->cells.cell[i].segment = p->piece[p->of[i]].number;
  }
}

static bool number_parts(struct division *d, struct error *error)
{
  struct pieces p;
  struct piece **order = NULL;
  int *steps = calloc(d->cells.count + 1, sizeof *steps);
  bool done = find_pieces(d, &p) && steps && (order = calloc((size_t)p.count + 1, sizeof *order)) != NULL;

  if (done) {
    distances(d, steps);
    for (size_t i = 0; i < d->cells.count; i++) {
      struct piece *piece = &p.piece[p.of[i]];
      piece->reach = steps[i] > piece->reach ? steps[i] : piece->reach;
    }
    number_pieces(d, &p, order);
  }
  free(steps);
  free(order);
  pieces_clear(&p);
  return done || error_no_memory(error, "the division");
}

/* The cells in even light, those under strings filled from beside them. */
static bool make_cells(const struct image *image, const struct image_blocks *blocks,
                       const struct profile *profile, const struct card_reference *card,
                       const struct card_pose *pose, const struct light *light, struct division *d,
                       struct error *error)
{
  if (!cells_make_of(blocks, merge_of(blocks), profile, card, pose, &d->cells, error)) {
    return false;
  }
  d->side = (double)d->cells.merge * blocks->size;
  cells_even(&d->cells, light);
  d->thing = calloc(d->cells.count + 1, 1);
  if (!d->thing) {
    return error_no_memory(error, "the division");
  }
  return strings_mark(image, blocks, &d->cells, DIVISION_STRING, d->thing, error) &&
         division_bridge(&d->cells, d->thing, error);
}

bool division_make(const struct image *image, const struct image_blocks *blocks,
                   const struct profile *profile, const struct card_reference *card,
                   const struct card_pose *pose, const struct light *light, struct division *division,
                   struct error *error)
{
  struct colours colours = {0};

  *division = (struct division){0};
  bool done = make_cells(image, blocks, profile, card, pose, light, division, error) &&
              start_from_light(blocks, profile, card, pose, light, division, error) &&
              (colours_make(division->parts, &colours) || error_no_memory(error, "the division"));
  if (done) {
    sharpen(division, &colours);
    /* Twice: what the first time is found to be nobody's is then surrounded by what keeps it. */
    done = absorb_small(division, &colours, error) && absorb_small(division, &colours, error) &&
           number_parts(division, error) && boards_mark(profile, light, division, error);
  }
  colours_clear(&colours);
  if (!done) {
    division_clear(division);
  }
  return done;
}

void division_clear(struct division *division)
{
  cells_clear(&division->cells);
  free(division->thing);
  *division = (struct division){0};
}

size_t division_mask(const struct division *d, int part, int inset, uint8_t *mask)
{
  size_t count = 0;

  for (size_t i = 0; i < d->cells.count; i++) {
    int column = (int)i % d->cells.columns, row = (int)i / d->cells.columns;
    bool inside = d->cells.cell[i].segment == part && !d->thing[i];
    for (int y = -inset; y <= inset && inside; y++) {
      for (int x = -inset; x <= inset && inside; x++) {
        const struct cell *other = at(d, column + x, row + y);
        inside = !other || (other->segment == part && !d->thing[other - d->cells.cell]);
      }
    }
    mask[i] = inside;
    count += inside;
  }
  return count;
}
