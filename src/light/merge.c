/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "light/fit.h"

/* Log odds that two pieces are of one deposit must exceed this: fifty to one. */
static const double SURE = 4;
/* Log of the chance, before looking, that two pieces of a frame are of one deposit, over the room in which levels of different
 * deposits scatter: about 1 in log green, 0.3 and 0.4 in the log ratios. */
static const double BEFORE = -2.3, ROOM = -2.1;

/* Log odds for one deposit from the difference of levels: its normal density with the variance that is expected of a
 * deposit against itself, over an even density in the room. */
static double log_odds(const struct levels *levels, int a, int b)
{
  double sum = BEFORE + ROOM;

  for (int k = 0; k < 3; k++) {
    double d = levels->level[a].v[k] - levels->level[b].v[k];
    double variance = levels->variance[a].v[k] + levels->variance[b].v[k] + 1e-5;
    sum -= 0.5 * (d * d / variance + log(2 * 3.14159265358979 * variance));
  }
  return sum;
}

void merge_alike(const struct levels *levels, struct tiles *tiles)
{
  int name[LIGHT_DEPOSITS_MAX + 1];

  for (int s = 0; s <= levels->count; s++) {
    name[s] = s;
    double most = SURE;
    for (int other = 1; other < s; other++) {
      double odds = log_odds(levels, s, other);
      if (levels->weight[s] > 0 && levels->weight[other] > 0 && odds > most) {
        most = odds;
        name[s] = name[other];
      }
    }
  }
  for (size_t i = 0; i < tiles->count; i++) {
    tiles->tile[i].segment = name[tiles->tile[i].segment];
  }
}
