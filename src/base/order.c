/* SPDX-License-Identifier: MIT */
#include "base/order.h"

#include <stdlib.h>

enum { FEW = 32 };

static int compare(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

/* By insertion. Of the short lists of neighbourhoods a photo has tens of thousands, and qsort's calls cost more than they sort. */
static void order_few(double *value, size_t count)
{
  for (size_t i = 1; i < count; i++) {
    double moved = value[i];
    size_t at = i;
    for (; at > 0 && value[at - 1] > moved; at--) {
      value[at] = value[at - 1];
    }
    value[at] = moved;
  }
}

void order_doubles(double *value, size_t count)
{
  if (count <= FEW) {
    order_few(value, count);
  } else {
    qsort(value, count, sizeof *value, compare);
  }
}

double order_median(double *value, size_t count)
{
  order_doubles(value, count);
  return count == 0 ? 0 : count % 2 ? value[count / 2] : (value[count / 2 - 1] + value[count / 2]) / 2;
}

double order_upper_median(double *value, size_t count)
{
  order_doubles(value, count);
  return count ? value[count / 2] : 0;
}

double order_quantile(double *value, size_t count, double share)
{
  if (count == 0) {
    return 0;
  }
  order_doubles(value, count);
  double at = share * (double)(count - 1);
  size_t below = (size_t)at;
  return below + 1 < count ? value[below] + (at - (double)below) * (value[below + 1] - value[below])
                           : value[count - 1];
}
