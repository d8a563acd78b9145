/* SPDX-License-Identifier: MIT */
/* The nearest chip by CIEDE2000, exactly, without working out the whole formula for every chip. A chip is passed over when a
 * lower bound of its difference is above the best so far; the bounds leave out the costly parts of the formula (CIE 142-2001):
 *
 *   total^2 = (dL/S_L)^2 + (dC'/S_C)^2 + (dH'/S_H)^2 + R_T (dC'/S_C) (dH'/S_H)
 *
 * - (dL/S_L)^2 alone is the same for all chips of one value, since they share L*.
 * - R_T p q >= -(|R_T|/2) (p^2 + q^2), so with r = 1 - |R_T|/2 the other terms are at least r times the first two of them.
 * - dC'^2 + dH'^2 = (da')^2 + (db)^2 with a' = (1 + G) a, G from 0 to 0.5, so it is at least da^2 + db^2; and S_H < S_C
 *   and S_C = 1 + 0.045 C', where the mean C' is at most (1 + G) times the mean C, which is at most C + min(C/2, 6.4).
 * - S_H = 1 + 0.015 C' T, and T never passes 1.5725.
 * - |R_T| = sin(2 dtheta) R_C with dtheta = 30 exp(-((h - 275)/25)^2) degrees: at most sin 60 degrees times R_C < 2; and below
 *   2e-6 where both colours have b >= 0, since then h <= 180. */
#include "munsell/chip.h"

#include <math.h>

#include "colour/difference.h"
#include "munsell/tables.h"

static const double HUE_WEIGHT_MOST = 1.5725;        /* T */
static const double ROTATION_MOST = 0.8660254037845; /* |R_T| / 2 anywhere */
static const double ROTATION_YELLOW = 1e-6;          /* and where b >= 0 */
static const double STRETCH_MOST = 6.4;              /* G C */
static const double ROUNDING = 1 - 1e-9;             /* of the bounds */

/* A search for the `wanted` nearest; the best so far, nearest first, stand in `chips` and `de00`. */
struct search {
  struct lab at;
  double chroma;
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

static double rotation_most(const struct search *search, const struct munsell_chip *chip)
{
  return search->at.b >= 0 && chip->lab_c.b >= 0 ? ROTATION_YELLOW : ROTATION_MOST;
}

static double size(double a, double b)
{
  return sqrt(a * a + b * b);
}

/* Lower bound of the squared difference less its part in lightness, the quick one. */
static double quick_bound(const struct search *search, const struct munsell_chip *chip)
{
  double da = chip->lab_c.a - search->at.a, db = chip->lab_c.b - search->at.b;
  double mean = (search->chroma + size(chip->lab_c.a, chip->lab_c.b)) / 2,
         sc = 1 + 0.045 * (mean + fmin(mean / 2, STRETCH_MOST));

  return ROUNDING * (1 - rotation_most(search, chip)) * (da * da + db * db) / (sc * sc);
}

static double stretch(double mean_chroma)
{
  double c2 = mean_chroma * mean_chroma, c7 = c2 * c2 * c2 * mean_chroma;

  return 1 + 0.5 * (1 - sqrt(c7 / (c7 + 6103515625.0))); /* 25^7 */
}

/* The close one: exact but for T and R_T. */
static double close_bound(const struct search *search, const struct munsell_chip *chip)
{
  struct lab one = search->at, two = chip->lab_c;
  double g = stretch((search->chroma + size(two.a, two.b)) / 2);
  double da = g * (two.a - one.a), db = two.b - one.b;
  double first = size(g * one.a, one.b), second = size(g * two.a, two.b), mean = (first + second) / 2;
  double dc2 = (second - first) * (second - first), dh2 = fmax(da * da + db * db - dc2, 0);
  double sc = 1 + 0.045 * mean, sh = 1 + 0.015 * HUE_WEIGHT_MOST * mean;

  return ROUNDING * (1 - rotation_most(search, chip)) * (dc2 / (sc * sc) + dh2 / (sh * sh));
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

/* Takes the chips of a page that can be among the nearest. The likeliest comes first, to lower the limit soon. */
static void search_page(struct search *search, const struct munsell_chip *chips, size_t count,
                        double lightness)
{
  double bounds[MUNSELL_PAGE_MOST];
  size_t next = 0;

  for (size_t i = 0; i < count; i++) {
    bounds[i] = quick_bound(search, &chips[i]);
    next = bounds[i] < bounds[next] ? i : next;
  }
  take(search, &chips[next]);
  for (size_t i = 0; i < count; i++) {
    double rest = limit(search) * limit(search) - lightness * lightness;
    if (i != next && bounds[i] <= rest && close_bound(search, &chips[i]) <= rest) {
      take(search, &chips[i]);
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
    search_page(search, chips + pages[i].first, pages[i].count, lightness_part(search, &pages[i]));
  }
  for (size_t i = first; i-- > 0 && lightness_part(search, &pages[i]) * ROUNDING < limit(search);) {
    search_page(search, chips + pages[i].first, pages[i].count, lightness_part(search, &pages[i]));
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

size_t munsell_nearest_soil_chips(struct lab lab_c, size_t count, const struct munsell_chip **chips,
                                  double *de00)
{
  struct search search = {lab_c, size(lab_c.a, lab_c.b), count, 0, chips, de00};

  if (count > 0 && colour_lab_is_finite(lab_c)) {
    search_pages(&search, MUNSELL_SOIL_CHIPS, MUNSELL_SOIL_PAGES, MUNSELL_SOIL_PAGE_COUNT);
  }
  return search.found;
}

const struct munsell_chip *munsell_nearest_soil_chip(struct lab lab_c, double *de00)
{
  const struct munsell_chip *chip = NULL;
  double nearest;

  if (munsell_nearest_soil_chips(lab_c, 1, &chip, &nearest) == 1 && de00) {
    *de00 = nearest;
  }
  return chip;
}

const struct munsell_chip *munsell_nearest_book_chip(struct lab lab_c, double *de00)
{
  const struct munsell_chip *chip = NULL;
  double nearest;
  struct search search = {lab_c, size(lab_c.a, lab_c.b), 1, 0, &chip, &nearest};

  if (!colour_lab_is_finite(lab_c)) {
    return NULL;
  }
  search_pages(&search, MUNSELL_BOOK_CHIPS, MUNSELL_BOOK_PAGES, MUNSELL_BOOK_PAGE_COUNT);
  if (de00) {
    *de00 = nearest;
  }
  return chip;
}
