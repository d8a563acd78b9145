/* SPDX-License-Identifier: MIT */
#ifndef TAWNY_TESTS_MEASURE_WHITE_H
#define TAWNY_TESTS_MEASURE_WHITE_H

#include "profile/profile.h"

/* A profile whose linear light is 1 for white, its matrix diagonal. */
struct profile profile_white_is_one(void);

#endif
