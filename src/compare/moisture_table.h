/* SPDX-License-Identifier: MIT */
/* calibration/soil/moist_dry_values.csv as an array, made at build time. For moisture.c. */
#ifndef TAWNY_COMPARE_MOISTURE_TABLE_H
#define TAWNY_COMPARE_MOISTURE_TABLE_H

#include <stddef.h>

/* Columns: value moist, value dry, horizons. */
extern const double MOISTURE_TABLE[][3];
extern const size_t MOISTURE_ROWS;

#endif
