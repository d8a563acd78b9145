/* SPDX-License-Identifier: MIT */
/* Causes of doubt about a photo and its readings, and the verdict that follows. */
#ifndef TAWNY_MEASURE_DOUBTS_H
#define TAWNY_MEASURE_DOUBTS_H

#include "measure/measure.h"

/* Lists every cause and sets the verdict: unfit when nothing is read, doubtful when a cause is named, else sound. */
bool doubts_list(struct measurement *measurement, struct error *error);

#endif
