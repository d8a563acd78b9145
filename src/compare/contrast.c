/* SPDX-License-Identifier: MIT */
/* USDA Soil Survey Technical Note 2; Field Book for Describing and Sampling Soils 3.0, p. 2-5. In pages of hue h, steps of
 * value v and of chroma c between the two colours, the table says
 *
 *   faint      h 0: v <= 2, c <= 1      h 1: v <= 1, c <= 1      h 2: v = 0, c = 0
 *   distinct   not faint, and           h 0: v < 4, c < 4        h 1: v < 3, c < 3        h 2: v < 2, c < 2
 *   prominent  the rest
 *   faint      whatever the above, where both colours have value <= 3 and chroma <= 2
 *
 * Between whole pages the limits are interpolated linearly; between 2 and 3 pages, where the table goes from its last limits
 * to none at all, they fall to zero. */
#include "compare/compare.h"

#include <math.h>

/* Differences of decimals such as 4.2 - 3.2 are off by rounding, and the limits are meant inclusive. */
static const double ROUNDING = 1e-9;

const char *contrast_word(enum contrast contrast)
{
  static const char *const word[] = {"faint", "distinct", "prominent"};

  return word[contrast];
}

static double pages_apart(struct munsell a, struct munsell b)
{
  bool a_neutral = munsell_is_neutral(a), b_neutral = munsell_is_neutral(b);

  if (a_neutral || b_neutral) {
    return a_neutral && b_neutral ? 0 : 1;
  }
  double apart = fmod(fabs(a.hue - b.hue), 100);
  return fmin(apart, 100 - apart) / 2.5;
}

static bool low(struct munsell m)
{
  return m.value <= 3 + ROUNDING && m.chroma <= 2 + ROUNDING;
}

static double limit(const double at_page[4], double pages)
{
  int page = (int)fmin(floor(pages), 2);

  return at_page[page] + (at_page[page + 1] - at_page[page]) * (pages - page);
}

static bool faint(double pages, double value, double chroma)
{
  static const double value_limit[4] = {2, 1, 0, -1}, chroma_limit[4] = {1, 1, 0, -1};

  return pages <= 2 + ROUNDING && value <= limit(value_limit, pages) + ROUNDING &&
         chroma <= limit(chroma_limit, pages) + ROUNDING;
}

static bool below_prominent(double pages, double value, double chroma)
{
  static const double either_limit[4] = {4, 3, 2, 0};
  double below = pages < 3 ? limit(either_limit, pages) - ROUNDING : 0;

  return value < below && chroma < below;
}

enum contrast contrast_of(struct munsell a, struct munsell b)
{
  double pages = pages_apart(a, b), value = fabs(a.value - b.value), chroma = fabs(a.chroma - b.chroma);

  if ((low(a) && low(b)) || faint(pages, value, chroma)) {
    return CONTRAST_FAINT;
  }
  return below_prominent(pages, value, chroma) ? CONTRAST_DISTINCT : CONTRAST_PROMINENT;
}
