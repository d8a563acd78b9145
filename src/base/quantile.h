/* SPDX-License-Identifier: MIT */
/* Quantiles by which 95 % is told (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7). */
#ifndef TAWNY_BASE_QUANTILE_H
#define TAWNY_BASE_QUANTILE_H

/* Of the normal distribution, two-sided. */
static const double QUANTILE_NORMAL_95 = 1.959963984540054;

/* Of chi-square with 3 degrees of freedom. */
static const double QUANTILE_CHI_SQUARE_3_95 = 7.815;

#endif
