/* SPDX-License-Identifier: MIT */
/* Order of numbers, for qsort() and bsearch(). */
#ifndef TAWNY_BASE_ORDER_H
#define TAWNY_BASE_ORDER_H

/* Rising doubles, none of them NaN. */
int order_doubles(const void *a, const void *b);

#endif
