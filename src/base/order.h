/* SPDX-License-Identifier: MIT */
/* Order of numbers, and what is read off it. No number may be NaN; lists are sorted in place, rising. */
#ifndef TAWNY_BASE_ORDER_H
#define TAWNY_BASE_ORDER_H

#include <stddef.h>

void order_doubles(double *value, size_t count);

/* The middle one, of an even number the mean of both; 0 of none. */
double order_median(double *value, size_t count);

/* The middle one, of an even number the upper of both, so that it is one of the list; 0 of none. */
double order_upper_median(double *value, size_t count);

/* Between the least (share 0) and the greatest (1), straight from rank to rank; 0 of none. */
double order_quantile(double *value, size_t count, double share);

#endif
