/* SPDX-License-Identifier: MIT */
/* The nearest chip by CIEDE2000, exactly, without working out the whole formula for every chip. A chip is passed over when a
 * lower bound of its difference is above the best so far; the bounds leave out the costly parts of the formula (CIE 142-2001):
 *
 *   total^2 = (dL/S_L)^2 + p^2 + q^2 + R_T p q   with p = dC'/S_C, q = dH'/S_H
 *
 * - (dL/S_L)^2 is the same for all chips of one value, since they share L*.
 * - dC'^2 + dH'^2 = (da')^2 + (db)^2 with a' = (1 + G) a, G from 0 to 0.5, so it is at least da^2 + db^2.
 * - S_C = 1 + 0.045 C', where the mean C' is at most (1 + G) times the mean C, which is at most C + min(C/2, 6.4).
 * - S_H = 1 + 0.015 C' T < S_C, since T never passes 1.5725.
 * - R_T = -2 sin(2 dtheta) sqrt(C'^7 / (C'^7 + 25^7)) with dtheta = 30 exp(-((h' - 275)/25)^2) degrees is never positive, and
 *   p^2 + q^2 + R_T p q >= (1 - |R_T|/2) (p^2 + q^2). The hues h' and h differ by at most atan((g - 1) / (2 sqrt(g))) =
 *   11.54 degrees with g = 1.5, so the mean h' is that near to the mean h, or, where the two hues are about opposite, to the
 *   other mean. */
#include "munsell/chip.h"

#include <math.h>

#include "colour/difference.h"
#include "munsell/tables.h"

static const double STRETCH_MOST = 6.4;       /* G C */
static const double HUE_WEIGHT_MOST = 1.5725; /* T */
static const double TURN_MOST = 0.8660255;    /* sin 60 degrees */
static const double HUE_SHIFT_MOST = 11.6;    /* |h' - h|, degrees */
static const double ROUNDING = 1 - 1e-9;      /* of the bounds */

/* fmin and fmax without their care for what is no number, which costs a call. */
static double lesser(double a, double b)
{
  return a < b ? a : b;
}

static double greater(double a, double b)
{
  return a > b ? a : b;
}

/* A search for the `wanted` nearest; the best so far, nearest first, stand in `chips` and `de00`. */
struct search {
  struct lab at;
  struct lch polar;
  size_t wanted, found;
  const struct munsell_chip **chips;
  double *de00;
};

/* A chip as far as this need not be looked at. */
static double limit(const struct search *search)
{
  return search->found < search->wanted ? HUGE_VAL : search->de00[search->found - 1];
}

static double lightness_part(const struct search *search, const struct chip_page *page)
{
  double step = page->lightness - search->at.L, from_50 = search->at.L + step / 2 - 50,
         square = from_50 * from_50;

  return fabs(step) / (1 + 0.015 * square / sqrt(20 + square));
}

static double size(double a, double b)
{
  return sqrt(a * a + b * b);
}

/* sqrt(C^7 / (C^7 + 25^7)) */
static double seventh_power_ratio(double chroma)
{
  double c2 = chroma * chroma, c7 = c2 * c2 * c2 * chroma;

  return sqrt(c7 / (c7 + 6103515625.0));
}

static double away_from_275(double hue)
{
  double away = fabs(hue - 275);

  return away > 180 ? fabs(away - 360) : away;
}

/* The most that sin(2 dtheta) can be; the curve over the distance from 275 degrees is a staircase above the true one. */
static double turn_most(double hue, double other)
{
  static const double STAIRS[] = {
      1,      0.8522, 0.5273, 0.2370, 0.0774, 0.0184,
      0.0032, 4e-4,   3.6e-5, 2.4e-6, 1.2e-7}; /* exp(-(x/25)^2), x = 0, 10 ... 100 */
  double gap = fabs(hue - other), mean = (hue + other) / 2, away = 180;

  if (gap < 180 + 2 * HUE_SHIFT_MOST) {
    away = away_from_275(mean);
  }
  if (gap > 180 - 2 * HUE_SHIFT_MOST) {
    away = lesser(away, away_from_275(mean < 180 ? mean + 180 : mean - 180));
  }
  int stair = (int)(greater(away - HUE_SHIFT_MOST, 0) / 10);
  return lesser(TURN_MOST, 1.0471976 * STAIRS[stair < 10 ? stair : 10]); /* 60 degrees */
}

/* The most that the mean C' can be. */
static double chroma_most(const struct search *search, const struct munsell_chip *chip)
{
  double mean = (search->polar.C + chip->lch_c.C) / 2;

  return mean + lesser(mean / 2, STRETCH_MOST);
}

/* The most that |R_T| can be. */
static double rotation_most(const struct search *search, const struct munsell_chip *chip)
{
  double turn = 2e-6; /* where both hues are from 0 to 180 */

  if (search->at.b < 0 || chip->lab_c.b < 0) {
    turn = turn_most(search->polar.h, chip->lch_c.h);
  }
  return turn < 1e-3 ? 2 * turn : 2 * turn * seventh_power_ratio(chroma_most(search, chip));
}

static double distance2(const struct search *search, const struct munsell_chip *chip)
{
  double da = chip->lab_c.a - search->at.a, db = chip->lab_c.b - search->at.b;

  return da * da + db * db;
}

/* Whether the quick bound of the squared difference, less its part in lightness, is above `rest`. */
static bool is_far(const struct search *search, const struct munsell_chip *chip, double rest)
{
  double sc = 1 + 0.045 * chroma_most(search, chip), far2 = rest * sc * sc,
         near2 = ROUNDING * distance2(search, chip);

  return near2 > far2 &&
         (near2 * (1 - TURN_MOST) > far2 || near2 * (1 - rotation_most(search, chip) / 2) > far2);
}

/* A closer bound: p is exact, q no more than it is, and where their product makes R_T count against them, q is what makes
 * the sum least. */
static double close_bound(const struct search *search, const struct munsell_chip *chip)
{
  struct lab one = search->at, two = chip->lab_c;
  double g = 1.5 - 0.5 * seventh_power_ratio((search->polar.C + chip->lch_c.C) / 2);
  double first = size(g * one.a, one.b), second = size(g * two.a, two.b), mean = (first + second) / 2;
  double da = g * (two.a - one.a), db = two.b - one.b, dc = second - first,
         dh2 = greater(da * da + db * db - dc * dc, 0);
  double p = dc / (1 + 0.045 * mean), q = sqrt(dh2) / (1 + 0.015 * HUE_WEIGHT_MOST * mean), rotation = 0;

  if (dc * (one.a * two.b - two.a * one.b) > 0) {
    rotation = rotation_most(search, chip);
    p = fabs(p);
    q = greater(q, rotation * p / 2);
  }
  return ROUNDING * (p * p + q * q - rotation * p * q);
}

static void take(struct search *search, const struct munsell_chip *chip)
{
  double de00 = colour_de00(search->at, chip->lab_c);
  size_t i = search->found < search->wanted ? search->found++ : search->wanted;

  if (i == search->wanted) {
    if (de00 >= search->de00[--i]) {
      return;
    }
  }
  for (; i > 0 && search->de00[i - 1] > de00; i--) {
    search->de00[i] = search->de00[i - 1];
    search->chips[i] = search->chips[i - 1];
  }
  search->de00[i] = de00;
  search->chips[i] = chip;
}

/* Takes a chip unless it can't be among the nearest; `lightness` is the part in lightness of its page. */
static void consider(struct search *search, const struct munsell_chip *chip, double lightness)
{
  double rest = limit(search) * limit(search) - lightness * lightness;

  if (!is_far(search, chip, rest) && close_bound(search, chip) <= rest) {
    take(search, chip);
  }
}

/* Considers the chips of a page, the likeliest first, to lower the limit soon. */
static void search_page(struct search *search, const struct munsell_chip *chips, const struct chip_page *page)
{
  const struct munsell_chip *begin = chips + page->first, *end = begin + page->count, *likeliest = begin;
  double least = HUGE_VAL, lightness = lightness_part(search, page);

  for (const struct munsell_chip *chip = begin; chip < end; chip++) {
    double away = distance2(search, chip);
    likeliest = away < least ? chip : likeliest;
    least = away < least ? away : least;
  }
  consider(search, likeliest, lightness);
  for (const struct munsell_chip *chip = begin; chip < end; chip++) {
    if (chip != likeliest) {
      consider(search, chip, lightness);
    }
  }
}

/* From the page next in lightness outwards, up and down, as far as the part in lightness alone allows; that part grows
 * with the step in L*, since S_L rises by at most 0.0075 of it. */
static void search_pages(struct search *search, const struct munsell_chip *chips,
                         const struct chip_page *pages, size_t page_count)
{
  size_t first = 0;

  while (first + 1 < page_count && pages[first].lightness + pages[first + 1].lightness < 2 * search->at.L) {
    first++;
  }
  for (size_t i = first; i < page_count && lightness_part(search, &pages[i]) * ROUNDING < limit(search);
       i++) {
    search_page(search, chips, &pages[i]);
  }
  for (size_t i = first; i-- > 0 && lightness_part(search, &pages[i]) * ROUNDING < limit(search);) {
    search_page(search, chips, &pages[i]);
  }
}

size_t munsell_soil_chip_count(void)
{
  const struct chip_page *last = &MUNSELL_SOIL_PAGES[MUNSELL_SOIL_PAGE_COUNT - 1];

  return last->first + last->count;
}

const struct munsell_chip *munsell_soil_chip(size_t index)
{
  return &MUNSELL_SOIL_CHIPS[index];
}

static size_t search_all(struct lab lab_c, size_t count, const struct munsell_chip **chips, double *de00,
                         const struct munsell_chip *all, const struct chip_page *pages, size_t page_count)
{
  struct search search = {.at = lab_c, .polar = colour_lch_from_lab(lab_c), .wanted = count};

  search.chips = chips;
  search.de00 = de00;
  if (count > 0 && colour_lab_is_finite(lab_c)) {
    search_pages(&search, all, pages, page_count);
  }
  return search.found;
}

static const struct munsell_chip *search_nearest(struct lab lab_c, double *de00,
                                                 const struct munsell_chip *all,
                                                 const struct chip_page *pages, size_t page_count)
{
  const struct munsell_chip *chip = NULL;
  double nearest;

  if (search_all(lab_c, 1, &chip, &nearest, all, pages, page_count) == 1 && de00) {
    *de00 = nearest;
  }
  return chip;
}

size_t munsell_nearest_soil_chips(struct lab lab_c, size_t count, const struct munsell_chip **chips,
                                  double *de00)
{
  return search_all(lab_c, count, chips, de00, MUNSELL_SOIL_CHIPS, MUNSELL_SOIL_PAGES,
                    MUNSELL_SOIL_PAGE_COUNT);
}

const struct munsell_chip *munsell_nearest_soil_chip(struct lab lab_c, double *de00)
{
  return search_nearest(lab_c, de00, MUNSELL_SOIL_CHIPS, MUNSELL_SOIL_PAGES, MUNSELL_SOIL_PAGE_COUNT);
}

const struct munsell_chip *munsell_nearest_book_chip(struct lab lab_c, double *de00)
{
  return search_nearest(lab_c, de00, MUNSELL_BOOK_CHIPS, MUNSELL_BOOK_PAGES, MUNSELL_BOOK_PAGE_COUNT);
}
