/* SPDX-License-Identifier: MIT */
/* Which cells are of what part, and which lie under a string, a board or a bar, on faces painted with known ones. */
#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "painted.h"
#include "suite.h"

enum { SEED = 8100 };

/* Share of cells whose middle is clear of the boundary by two cells and of things that are of the part which most of their layer
 * is of. */
static const double RIGHT_LEAST = 0.98;
static const double COVERED_LEAST =
    0.995; /* of a thing's pixels lie in marked cells                            */
static const double BESIDE_MOST =
    0.02; /* of the face is marked where no thing is within three cells of it  */

/* Marked pixels of things, and cells marked far from all things, as shares. */
static void check_marks(const struct painted *p, const struct division *d, enum division_thing kind, int seed)
{
  double things = 0, marked = 0, stray = 0;

  for (int y = 0; y < PAINTED_HEIGHT; y++) {
    for (int x = 0; x < PAINTED_WIDTH; x++) {
      size_t cell = (size_t)(y / (int)d->side) * (size_t)d->cells.columns + (size_t)(x / (int)d->side);
      if (p->thing[(size_t)y * PAINTED_WIDTH + (size_t)x] && !d->cells.cell[cell].card) {
        things++;
        marked += d->thing[cell] == kind;
      }
    }
  }
  for (size_t i = 0; i < d->cells.count; i++) {
    bool near = false;
    for (int y = -24; y <= 24 && d->thing[i] && !near; y += 3) {
      for (int x = -24; x <= 24 && !near; x++) {
        int px = (int)d->cells.cell[i].place.x + x, py = (int)d->cells.cell[i].place.y + y;
        near = px >= 0 && py >= 0 && px < PAINTED_WIDTH && py < PAINTED_HEIGHT &&
               p->thing[(size_t)py * PAINTED_WIDTH + (size_t)px];
      }
    }
    stray += d->thing[i] && !near;
  }
  ck_assert_msg(marked >= COVERED_LEAST * things, "seed %d: %g of %g pixels marked", seed, marked, things);
  ck_assert_msg(stray <= BESIDE_MOST * (double)d->face, "seed %d: %g cells marked far from things", seed,
                stray);
}

static bool clear_of_things(const struct painted *p, const struct cell *cell)
{
  for (int k = 0; k < 9; k++) {
    int x = (int)cell->place.x + 4 * (k % 3 - 1), y = (int)cell->place.y + 4 * (k / 3 - 1);
    if (p->thing[(size_t)(y < PAINTED_HEIGHT ? y : PAINTED_HEIGHT - 1) * PAINTED_WIDTH +
                 (size_t)(x < PAINTED_WIDTH ? x : PAINTED_WIDTH - 1)]) {
      return false;
    }
  }
  return true;
}

/* Parts that have cells in both layers are of the layer where they have more. */
static void check_layers(const struct painted *p, const struct division *d, int seed)
{
  double count[2][DIVISION_PARTS_MAX + 1] = {{0}}, right = 0, all = 0;

  for (size_t i = 0; i < d->cells.count; i++) {
    double off = d->cells.cell[i].place.y - PAINTED_LAYER;
    if (fabs(off) > 32 && !d->cells.cell[i].card && clear_of_things(p, &d->cells.cell[i])) {
      count[off > 0][d->cells.cell[i].segment]++;
      all++;
    }
  }
  for (int part = 1; part <= d->parts; part++) {
    right += fmax(count[0][part], count[1][part]);
  }
  ck_assert_msg(right >= RIGHT_LEAST * all, "seed %d: %g of %g cells right", seed, right, all);
}

START_TEST(two_layers_are_apart)
{
  struct painted p;
  struct division d;

  painted_begin(&p, SEED, false, true);
  painted_divide(&p, &d);
  ck_assert_int_ge(d.parts, 2);
  check_layers(&p, &d, SEED);
  check_marks(&p, &d, DIVISION_STRING, SEED);
  division_clear(&d);
  painted_end(&p);
}
END_TEST

static const struct {
  double x, y, degrees, width;
  enum painted_colour colour;
} STRING[] = {{640, 300, 0, 4, PAINTED_WHITE},   {640, 300, 2, 2, PAINTED_WHITE},
              {640, 610, -1, 3, PAINTED_BLACK},  {640, 250, 1.5, 3, PAINTED_RED},
              {700, 480, 91, 4, PAINTED_WHITE},  {640, 480, 24, 4, PAINTED_WHITE},
              {400, 480, 88, 2, PAINTED_BLACK},  {640, 478, 0, 4, PAINTED_BLACK},
              {640, 120, 0.5, 4, PAINTED_WHITE}, {640, 800, 3, 1.3, PAINTED_WHITE}};

START_TEST(strings_are_found_whole_and_bridged)
{
  struct painted p;
  struct division d;

  painted_begin(&p, SEED + 10 + (uint64_t)_i, false, true);
  painted_box(&p, (struct point){STRING[_i].x, STRING[_i].y}, 2000, STRING[_i].width, STRING[_i].degrees,
              STRING[_i].colour, false, true);
  painted_divide(&p, &d);
  check_marks(&p, &d, DIVISION_STRING, SEED + 10 + _i);
  check_layers(&p, &d, SEED + 10 + _i);
  /* What is under the string is of the parts beside it, and no mask holds a cell of it. */
  uint8_t *mask = calloc(d.cells.count + 1, 1);
  ck_assert_ptr_nonnull(mask);
  for (int part = 0; part <= d.parts; part++) {
    division_mask(&d, part, 0, mask);
    for (size_t i = 0; i < d.cells.count; i++) {
      ck_assert(!mask[i] || !d.thing[i]);
      ck_assert(!d.thing[i] || d.cells.cell[i].card || d.cells.cell[i].open);
    }
  }
  free(mask);
  division_clear(&d);
  painted_end(&p);
}
END_TEST

static void expect_no_things(struct painted *p, int seed)
{
  struct division d;
  int marked = 0;

  painted_divide(p, &d);
  for (size_t i = 0; i < d.cells.count; i++) {
    marked += d.thing[i] != DIVISION_FACE;
  }
  ck_assert_msg(marked == 0, "seed %d: %d cells marked", seed, marked);
  division_clear(&d);
  painted_end(p);
}

START_TEST(a_straight_boundary_is_no_string)
{
  struct painted p;

  painted_begin(&p, SEED + 30, false, false);
  expect_no_things(&p, SEED + 30);
}
END_TEST

START_TEST(a_short_line_is_no_string)
{
  struct painted p;

  painted_begin(&p, SEED + 31, false, true);
  painted_box(&p, (struct point){500, 300}, 300, 3, 4, PAINTED_WHITE, false, false);
  expect_no_things(&p, SEED + 31);
}
END_TEST

/* A root of the same contrast winds by more than a lens bows. */
START_TEST(a_winding_line_is_no_string)
{
  struct painted p;

  painted_begin(&p, SEED + 32, false, true);
  for (int x = 0; x < PAINTED_WIDTH; x += 3) {
    painted_disc(&p, (struct point){x, 280 + 9 * sin(x / 40.0)}, 2.5, PAINTED_WHITE, false, false);
  }
  expect_no_things(&p, SEED + 32);
}
END_TEST

START_TEST(stones_and_rough_pits_are_no_boards)
{
  struct painted p;

  painted_begin(&p, SEED + 33, false, true);
  painted_disc(&p, (struct point){300, 250}, 55, PAINTED_WHITE, false, false);
  painted_disc(&p, (struct point){700, 760}, 30, PAINTED_BLACK, false, false);
  painted_box(&p, (struct point){600, 250}, 180, 150, 5, PAINTED_GREY_BROWN, true, false);
  expect_no_things(&p, SEED + 33);
}
END_TEST

/* A board that writing stands on; a smooth one of an earthy colour; a bar over two layers; one that has colours of both in its
 * stripes; a board that a bar lies over. */
static void paint_board(struct painted *p, int which)
{
  const struct point at = {420, 520};

  switch (which) {
  case 0:
    painted_box(p, at, 170, 110, 6, PAINTED_BLACK, false, true);
    for (int line = -1; line <= 1; line++) {
      painted_box(p, (struct point){at.x, at.y + 30 * line}, 110, 5, 6, PAINTED_WHITE, false, true);
    }
    break;
  case 1:
    painted_box(p, at, 150, 100, -8, PAINTED_WHITE, false, true);
    break;
  case 2:
    painted_box(p, at, 150, 120, -4, PAINTED_RED, false, true);
    break;
  default:
    if (which == 4) {
      painted_box(p, at, 180, 120, 8, PAINTED_BLACK, false, true);
    }
    painted_box(p, at, 360, 27, 84, PAINTED_WHITE, false, true);
    for (int k = -1; k <= 1; k += 2) {
      double c = cos(84 * 3.14159265 / 180), s = sin(84 * 3.14159265 / 180);
      painted_box(p, (struct point){at.x + k * 90 * c, at.y + k * 90 * s}, 90, 27, 84, PAINTED_BLACK, false,
                  true);
    }
  }
}

START_TEST(boards_and_bars_are_covered_whole)
{
  struct painted p;
  struct division d;

  painted_begin(&p, SEED + 40 + (uint64_t)_i, false, true);
  paint_board(&p, _i);
  painted_divide(&p, &d);
  check_marks(&p, &d, DIVISION_BOARD, SEED + 40 + _i);
  division_clear(&d);
  painted_end(&p);
}
END_TEST

/* A band of twelve pixels and a blot of a third of a per cent of the face are no parts. */
START_TEST(thin_and_small_parts_are_none)
{
  struct painted p;
  struct division d;
  double sum[DIVISION_PARTS_MAX + 1] = {0}, count[DIVISION_PARTS_MAX + 1] = {0};

  painted_begin(&p, SEED + 60, true, false);
  painted_box(&p, (struct point){400, 620}, 420, 12, 12, PAINTED_PALE, true, false);
  painted_disc(&p, (struct point){900, 700}, 34, PAINTED_PALE, true, false);
  painted_divide(&p, &d);
  size_t pale = (size_t)(700 / 8) * (size_t)d.cells.columns + 900 / 8;
  ck_assert_int_eq(d.cells.cell[pale].segment, 0);
  for (size_t i = 0; i < d.cells.count; i++) {
    const struct cell *cell = &d.cells.cell[i];
    sum[cell->segment] += cell->open ? cell->even.v[0] : 0;
    count[cell->segment] += cell->open;
  }
  for (int part = 1; part <= d.parts; part++) {
    ck_assert_msg(sum[part] / count[part] < log(0.25), "part %d: %g", part, exp(sum[part] / count[part]));
  }
  division_clear(&d);
  painted_end(&p);
}
END_TEST

START_TEST(masks_keep_clear_of_rims_and_things)
{
  struct painted p;
  struct division d;

  painted_begin(&p, SEED + 61, true, false);
  painted_box(&p, (struct point){640, 500}, 2000, 4, 0, PAINTED_WHITE, false, true);
  painted_divide(&p, &d);
  uint8_t *mask = calloc(d.cells.count + 1, 1);
  ck_assert_ptr_nonnull(mask);
  size_t all = division_mask(&d, 1, 0, mask), inner = division_mask(&d, 1, 2, mask), count = 0;
  ck_assert_uint_lt(inner, all);
  for (size_t i = 0; i < d.cells.count; i++) {
    count += mask[i];
    ck_assert_msg(!mask[i] || fabs(d.cells.cell[i].place.y - 500) > 2 * d.side, "cell at %g",
                  d.cells.cell[i].place.y);
  }
  ck_assert_uint_eq(count, inner);
  free(mask);
  division_clear(&d);
  painted_end(&p);
}
END_TEST

/* Halves of one deposit are within what patches of it scatter by; two deposits are not. */
START_TEST(contrast_tells_deposits_from_patches)
{
  struct painted p;
  struct division d;
  int set[DIVISION_PARTS_MAX + 1] = {0};

  painted_begin(&p, SEED + 62, false, false);
  painted_divide(&p, &d);
  for (size_t i = 0; i < d.cells.count; i++) {
    d.cells.cell[i].segment = d.cells.cell[i].card ? 0 : 1 + (d.cells.cell[i].place.y > PAINTED_LAYER);
    d.cells.cell[i].segment += d.cells.cell[i].segment && d.cells.cell[i].place.x > 600 ? 2 : 0;
  }
  for (int part = 1; part <= 4; part++) {
    set[part] = part;
  }
  ck_assert_double_lt(division_contrast(&d, set, 1, 3), 1);
  ck_assert_double_lt(division_contrast(&d, set, 2, 4), 1);
  ck_assert_double_gt(division_contrast(&d, set, 1, 2), 10);
  ck_assert_double_gt(division_contrast(&d, set, 3, 4), 10);
  division_clear(&d);
  painted_end(&p);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("measure/division");
  TCase *cases = tcase_create("painted");

  tcase_set_timeout(cases, 120);
  tcase_add_test(cases, two_layers_are_apart);
  tcase_add_loop_test(cases, strings_are_found_whole_and_bridged, 0, (int)(sizeof STRING / sizeof *STRING));
  tcase_add_test(cases, a_straight_boundary_is_no_string);
  tcase_add_test(cases, a_short_line_is_no_string);
  tcase_add_test(cases, a_winding_line_is_no_string);
  tcase_add_test(cases, stones_and_rough_pits_are_no_boards);
  tcase_add_loop_test(cases, boards_and_bars_are_covered_whole, 0, 5);
  tcase_add_test(cases, thin_and_small_parts_are_none);
  tcase_add_test(cases, masks_keep_clear_of_rims_and_things);
  tcase_add_test(cases, contrast_tells_deposits_from_patches);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
