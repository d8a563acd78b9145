/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "random.h"
#include "region/trace.h"
#include "suite.h"

enum { SEED = 1059, RUNS = 300, MOST = 48 };

static const double SIDE = 8;

/* Cells that the outline, a thinned polygon through the middles of the rim's sides, may be off by in area, a side of the rim:
 * thinning leaves at most 0.3 of a cell to one side of a stretch, corners half a cell's eighth. */
static const double OFF_A_SIDE = 0.3;

struct picture {
  uint8_t cell[MOST * MOST];
  struct trace_mask mask;
};

static void start(struct picture *picture, int columns, int rows)
{
  memset(picture->cell, 0, sizeof picture->cell);
  picture->mask = (struct trace_mask){picture->cell, columns, rows, SIDE, false};
}

/* Rows of text: # inside. */
static void draw(struct picture *picture, int rows, const char *const *row)
{
  start(picture, (int)strlen(row[0]), rows);
  for (int y = 0; y < rows; y++) {
    for (int x = 0; x < picture->mask.columns; x++) {
      picture->cell[y * picture->mask.columns + x] = row[y][x] == '#';
    }
  }
}

static struct region outline(const struct picture *picture, double hole)
{
  struct region region = {.label = "a"};
  struct error error;

  ck_assert_msg(trace_outline(&picture->mask, hole, &region, &error), "%s", error.text);
  ck_assert_msg(
      region_check(&region, (int)(picture->mask.columns * SIDE), (int)(picture->mask.rows * SIDE), &error),
      "%s", error.text);
  return region;
}

static bool at(const struct trace_mask *mask, const uint8_t *cell, int column, int row)
{
  return column >= 0 && row >= 0 && column < mask->columns && row < mask->rows &&
         cell[row * mask->columns + column];
}

/* The largest part with its small holes filled, worked out plainly: labels spread until nothing moves. */
static void spread_labels(const struct trace_mask *mask, const uint8_t *of, int reach, int *label)
{
  bool moved = true;

  for (int i = 0; i < mask->columns * mask->rows; i++) {
    label[i] = of[i] ? i + 1 : 0;
  }
  while (moved) {
    moved = false;
    for (int i = 0; i < mask->columns * mask->rows; i++) {
      for (int k = 0; k < 9 && of[i]; k++) {
        int dx = k % 3 - 1, dy = k / 3 - 1, x = i % mask->columns + dx, y = i / mask->columns + dy;
        if ((reach == 8 || dx == 0 || dy == 0) && at(mask, of, x, y) &&
            label[y * mask->columns + x] > label[i]) {
          label[i] = label[y * mask->columns + x];
          moved = true;
        }
      }
    }
  }
}

static int count_label(const struct trace_mask *mask, const int *label, int which)
{
  int count = 0;

  for (int i = 0; i < mask->columns * mask->rows; i++) {
    count += label[i] == which;
  }
  return count;
}

/* False where two parts are equally large: which is taken is then a matter of order. */
static bool expected_part(const struct trace_mask *mask, double hole, uint8_t *part)
{
  static int label[MOST * MOST];
  static uint8_t outside[MOST * MOST];
  int cells = mask->columns * mask->rows, best = 0, most = 0, second = 0;

  spread_labels(mask, mask->cell, 4, label);
  for (int i = 0; i < cells; i++) {
    int count = label[i] == i + 1 ? count_label(mask, label, i + 1) : 0;
    second = count > most ? most : count > second ? count : second;
    best = count > most ? i + 1 : best;
    most = count > most ? count : most;
  }
  for (int i = 0; i < cells; i++) {
    part[i] = best > 0 && label[i] == best;
    outside[i] = !part[i];
  }
  spread_labels(mask, outside, 8, label);
  for (int i = 0; i < cells; i++) {
    bool rim = false;
    for (int j = 0; j < cells && label[i]; j++) {
      rim =
          rim || (label[j] == label[i] && (j % mask->columns == 0 || j % mask->columns == mask->columns - 1 ||
                                           j / mask->columns == 0 || j / mask->columns == mask->rows - 1));
    }
    part[i] = part[i] || (label[i] && !rim && count_label(mask, label, label[i]) < hole);
  }
  return most > second;
}

/* Cells with all eight neighbours alike are inside or outside as a whole; the area is right but for the rim. */
static void compare_with(const struct trace_mask *mask, const uint8_t *part, const struct region *region,
                         uint64_t seed)
{
  double area = 0, sides = 0;

  for (int i = 0; i < mask->columns * mask->rows; i++) {
    int column = i % mask->columns, row = i / mask->columns, alike = 0;
    struct point middle = {(column + 0.5) * SIDE, (row + 0.5) * SIDE};
    for (int k = 0; k < 9; k++) {
      alike += at(mask, part, column + k % 3 - 1, row + k / 3 - 1) == (part[i] != 0);
    }
    area += part[i] != 0;
    for (int k = 1; k < 9 && part[i]; k += 2) {
      sides += !at(mask, part, column + k % 3 - 1, row + k / 3 - 1);
    }
    ck_assert_msg(alike < 9 || region_contains(region, middle) == (part[i] != 0), "seed %llu: cell %d,%d",
                  (unsigned long long)seed, column, row);
  }
  ck_assert_msg(fabs(region_area(region) / (SIDE * SIDE) - area) <= OFF_A_SIDE * sides,
                "seed %llu: area %g of %g cells", (unsigned long long)seed,
                region_area(region) / (SIDE * SIDE), area);
}

/* Noise, evened by a majority of neighbours as many times as `calm` says. */
static void draw_noise(struct random *random, double share, int calm, struct picture *picture)
{
  uint8_t before[MOST * MOST];

  start(picture, 3 + random_below(random, MOST - 2), 3 + random_below(random, MOST - 2));
  const struct trace_mask *mask = &picture->mask;
  for (int i = 0; i < mask->columns * mask->rows; i++) {
    picture->cell[i] = random_unit(random) < share;
  }
  while (calm-- > 0) {
    memcpy(before, picture->cell, sizeof before);
    for (int i = 0; i < mask->columns * mask->rows; i++) {
      int around = 0;
      for (int k = 0; k < 9; k++) {
        around += at(mask, before, i % mask->columns + k % 3 - 1, i / mask->columns + k / 3 - 1);
      }
      picture->cell[i] = around >= 5;
    }
  }
}

START_TEST(random_masks_come_back)
{
  static struct picture picture;
  static uint8_t part[MOST * MOST];
  uint64_t seed = SEED + (uint64_t)_i;
  struct random random = random_start(seed);
  double hole = random_below(&random, 3) * 6;
  struct error error;
  struct region region = {.label = "a"};

  draw_noise(&random, random_between(&random, 0.3, 0.8), random_below(&random, 4), &picture);
  bool clear = expected_part(&picture.mask, hole, part);
  if (!clear) {
    return;
  }
  ck_assert_msg(trace_outline(&picture.mask, hole, &region, &error), "seed %llu: %s",
                (unsigned long long)seed, error.text);
  ck_assert_msg(
      region_area(&region) < SIDE * SIDE ||
          region_check(&region, (int)(picture.mask.columns * SIDE), (int)(picture.mask.rows * SIDE), &error),
      "seed %llu: %s", (unsigned long long)seed, error.text);
  compare_with(&picture.mask, part, &region, seed);
  region_clear(&region);
}
END_TEST

START_TEST(one_cell_is_a_diamond)
{
  static struct picture picture;

  draw(&picture, 1, (const char *const[]){".#."});
  struct region region = outline(&picture, 0);
  ck_assert_uint_eq(region.vertices, 4);
  ck_assert_double_eq(region_area(&region), SIDE * SIDE / 2);
  region_clear(&region);
}
END_TEST

/* Straight sides need no corners between their ends: eight, as corners of cells are cut. */
START_TEST(a_rectangle_has_eight_corners)
{
  static struct picture picture;

  start(&picture, 20, 12);
  memset(picture.cell, 1, sizeof picture.cell);
  struct region region = outline(&picture, 0);
  ck_assert_uint_eq(region.vertices, 8);
  ck_assert_double_eq(region_area(&region), (20 * 12 - 0.5) * SIDE * SIDE);
  region_clear(&region);
}
END_TEST

START_TEST(a_ring_keeps_its_hole_open)
{
  static struct picture picture;

  draw(&picture, 7,
       (const char *const[]){".......", ".#####.", ".#...#.", ".#...#.", ".#...#.", ".#####.", "......."});
  struct region region = outline(&picture, 9);
  ck_assert(!region_contains(&region, (struct point){3.5 * SIDE, 3.4 * SIDE}));
  ck_assert(region_contains(&region, (struct point){1.5 * SIDE, 3.4 * SIDE}));
  ck_assert(region_contains(&region, (struct point){5.5 * SIDE, 3.4 * SIDE}));
  region_clear(&region);
}
END_TEST

START_TEST(a_small_hole_is_filled)
{
  static struct picture picture;

  draw(&picture, 7,
       (const char *const[]){".......", ".#####.", ".#...#.", ".#...#.", ".#...#.", ".#####.", "......."});
  struct region region = outline(&picture, 9.5);
  ck_assert(region_contains(&region, (struct point){3.5 * SIDE, 3.4 * SIDE}));
  region_clear(&region);
}
END_TEST

START_TEST(a_bay_stays_a_bay)
{
  static struct picture picture;

  draw(&picture, 5, (const char *const[]){"######", "#....#", "#.....", "#....#", "######"});
  struct region region = outline(&picture, 100);
  ck_assert(!region_contains(&region, (struct point){3 * SIDE, 2.5 * SIDE}));
  ck_assert(region_contains(&region, (struct point){0.5 * SIDE, 2.5 * SIDE}));
  region_clear(&region);
}
END_TEST

/* What only touches at a corner is another part; the holes on both sides of such a touch are one. */
START_TEST(cells_that_touch_at_a_corner_stay_apart)
{
  static struct picture picture;

  draw(&picture, 4, (const char *const[]){"##....", "##....", "..####", "..####"});
  struct region region = outline(&picture, 0);
  ck_assert(!region_contains(&region, (struct point){SIDE, SIDE}));
  ck_assert(region_contains(&region, (struct point){4 * SIDE, 3 * SIDE}));
  region_clear(&region);
  draw(&picture, 6, (const char *const[]){"######", "#..###", "#..###", "###..#", "###..#", "######"});
  region = outline(&picture, 8);
  ck_assert(!region_contains(&region, (struct point){2 * SIDE, 2 * SIDE}));
  ck_assert(!region_contains(&region, (struct point){4 * SIDE, 4 * SIDE}));
  region_clear(&region);
}
END_TEST

START_TEST(holes_side_by_side_are_joined_one_to_the_next)
{
  static struct picture picture;

  draw(&picture, 5,
       (const char *const[]){"#############", "#.#.#.#...#.#", "#.#.#.#.#.#.#", "#.#.#...#.#.#",
                             "#############"});
  struct region region = outline(&picture, 0);
  for (int i = 0; i < 5 * 13; i++) {
    struct point middle = {(i % 13 + 0.5) * SIDE, (i / 13 + 0.5) * SIDE};
    ck_assert_int_eq(region_contains(&region, middle), picture.cell[i] != 0);
  }
  region_clear(&region);
}
END_TEST

/* All that is inside the mask, and nothing else: a cut has no width. */
static void check_cells(const struct picture *picture, const struct region *region)
{
  int columns = picture->mask.columns;

  for (int i = 0; i < columns * picture->mask.rows; i++) {
    struct point middle = {(i % columns + 0.5) * SIDE, (i / columns + 0.5) * SIDE};
    ck_assert_msg(region_contains(region, middle) == (picture->cell[i] != 0), "cell %d,%d", i % columns,
                  i / columns);
  }
}

START_TEST(parts_across_a_slit_are_one_outline)
{
  static const char *const slit[] = {"##########", "##########", "......####", "##.......#",
                                     "#####.....", "##########", "###.....##", "###.###.##",
                                     "###.###.##", "###.....##", "##########"};
  static struct picture picture;

  draw(&picture, 11, slit);
  struct region region = outline(&picture, 0);
  ck_assert(!region_contains(&region, (struct point){SIDE, SIDE}));
  region_clear(&region);
  picture.mask.joined = true;
  region = outline(&picture, 0);
  check_cells(&picture, &region);
  region_clear(&region);
}
END_TEST

/* Of two ways that would cross each other the shorter is taken; what only the longer reaches stays apart. */
START_TEST(ways_between_parts_do_not_cross)
{
  static struct picture picture;

  draw(&picture, 7,
       (const char *const[]){"...###...", "...###...", "##.....##", "##.....##", "##.....##", "...###...",
                             "...###..."});
  picture.mask.joined = true;
  struct region region = outline(&picture, 0);
  ck_assert(region_contains(&region, (struct point){4.5 * SIDE, SIDE}));
  ck_assert(region_contains(&region, (struct point){4.5 * SIDE, 6 * SIDE}));
  ck_assert(!region_contains(&region, (struct point){SIDE, 3.5 * SIDE}));
  ck_assert(!region_contains(&region, (struct point){8 * SIDE, 3.5 * SIDE}));
  region_clear(&region);
}
END_TEST

/* Parts that lie nowhere opposite each other stay apart: the largest is outlined. */
START_TEST(parts_aside_of_each_other_stay_apart)
{
  static struct picture picture;

  draw(&picture, 4, (const char *const[]){"##....", "##....", "..####", "..####"});
  picture.mask.joined = true;
  struct region region = outline(&picture, 0);
  ck_assert(!region_contains(&region, (struct point){SIDE, SIDE}));
  ck_assert(region_contains(&region, (struct point){4 * SIDE, 3 * SIDE}));
  region_clear(&region);
}
END_TEST

/* Noise in parts and holes of all kinds: what comes back holds the largest part whole and nothing from outside. */
START_TEST(random_masks_come_back_joined)
{
  static struct picture picture;
  static uint8_t part[MOST * MOST];
  uint64_t seed = SEED + 5000 + (uint64_t)_i;
  struct random random = random_start(seed);
  struct error error;
  struct region region = {.label = "a"};

  draw_noise(&random, random_between(&random, 0.3, 0.8), random_below(&random, 4), &picture);
  bool clear = expected_part(&picture.mask, 0, part);
  picture.mask.joined = true;
  if (!clear) {
    return;
  }
  ck_assert_msg(trace_outline(&picture.mask, 0, &region, &error), "seed %llu: %s", (unsigned long long)seed,
                error.text);
  ck_assert_msg(
      region_area(&region) < SIDE * SIDE ||
          region_check(&region, (int)(picture.mask.columns * SIDE), (int)(picture.mask.rows * SIDE), &error),
      "seed %llu: %s", (unsigned long long)seed, error.text);
  for (int i = 0; i < picture.mask.columns * picture.mask.rows; i++) {
    int column = i % picture.mask.columns, row = i / picture.mask.columns, alike = 0;
    bool inside = region_contains(&region, (struct point){(column + 0.5) * SIDE, (row + 0.5) * SIDE});
    for (int k = 0; k < 9; k++) {
      alike += at(&picture.mask, picture.cell, column + k % 3 - 1, row + k / 3 - 1) == (picture.cell[i] != 0);
    }
    ck_assert_msg(alike < 9 || inside == (picture.cell[i] != 0) || (picture.cell[i] && !part[i]),
                  "seed %llu: cell %d,%d", (unsigned long long)seed, column, row);
  }
  region_clear(&region);
}
END_TEST

START_TEST(nothing_inside_is_refused)
{
  static struct picture picture;
  struct region region = {.label = "a"};
  struct error error;

  start(&picture, 5, 5);
  ck_assert(!trace_outline(&picture.mask, 0, &region, &error));
  ck_assert_str_eq(error.code, "no-area");
  ck_assert_int_eq(error.kind, ERROR_UNMEASURABLE);
  ck_assert_ptr_null(region.vertex);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("region trace");
  TCase *shapes = tcase_create("shapes"), *random = tcase_create("random");

  tcase_add_test(shapes, one_cell_is_a_diamond);
  tcase_add_test(shapes, a_rectangle_has_eight_corners);
  tcase_add_test(shapes, a_ring_keeps_its_hole_open);
  tcase_add_test(shapes, a_small_hole_is_filled);
  tcase_add_test(shapes, a_bay_stays_a_bay);
  tcase_add_test(shapes, cells_that_touch_at_a_corner_stay_apart);
  tcase_add_test(shapes, holes_side_by_side_are_joined_one_to_the_next);
  tcase_add_test(shapes, parts_across_a_slit_are_one_outline);
  tcase_add_test(shapes, ways_between_parts_do_not_cross);
  tcase_add_test(shapes, parts_aside_of_each_other_stay_apart);
  tcase_add_test(shapes, nothing_inside_is_refused);
  tcase_add_loop_test(random, random_masks_come_back, 0, RUNS);
  tcase_add_loop_test(random, random_masks_come_back_joined, 0, RUNS);
  tcase_set_timeout(random, 60);
  suite_add_tcase(suite, shapes);
  suite_add_tcase(suite, random);
  return run_suite(suite);
}
