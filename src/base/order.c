/* SPDX-License-Identifier: MIT */
#include "base/order.h"

int order_doubles(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}
