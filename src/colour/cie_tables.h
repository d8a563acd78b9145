/* SPDX-License-Identifier: MIT */
/* The tables of calibration/cie as arrays; the definitions are made at build time by calibration/tables.py. */
#ifndef TAWNY_COLOUR_CIE_TABLES_H
#define TAWNY_COLOUR_CIE_TABLES_H

/* Row i is 380 + 5 i nm. Columns: xbar ybar zbar; A C D50 D65; S0 S1 S2. */
extern const double CIE_OBSERVER[81][3];
extern const double CIE_ILLUMINANTS[81][4];
extern const double CIE_DAYLIGHT[81][3];

#endif
