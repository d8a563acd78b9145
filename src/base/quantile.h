/* SPDX-License-Identifier: MIT */
/* Quantiles by which 95 % is told (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7). */
#ifndef TAWNY_BASE_QUANTILE_H
#define TAWNY_BASE_QUANTILE_H

/* Of the normal distribution, two-sided. */
#define QUANTILE_NORMAL_95 1.959963984540054

/* Of chi-square with 3 degrees of freedom. */
#define QUANTILE_CHI_SQUARE_3_95 7.815

#endif
