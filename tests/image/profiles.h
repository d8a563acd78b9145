/* SPDX-License-Identifier: MIT */
/* ICC profiles for the tests, made with Little-CMS. A failure ends the test program. */
#ifndef TAWNY_TESTS_PROFILES_H
#define TAWNY_TESTS_PROFILES_H

#include <lcms2.h>

#include "base/file.h"

/* Primaries and D65 white as the standards give them, and a curve. */
enum profile_kind {
  PROFILE_SRGB,       /* IEC 61966-2-1                                                 */
  PROFILE_ADOBE_RGB,  /* Adobe RGB (1998): exponent 2 + 51/256                         */
  PROFILE_DISPLAY_P3, /* SMPTE EG 432-1 primaries with the sRGB curve                  */
  PROFILE_LINEAR,     /* sRGB primaries, straight curve                                */
  PROFILE_KINDS
};

/* A matrix profile of ICC version 2.4 or 4.3; `table` > 0: its curves are tables of that many entries. */
struct file_bytes profile_make(enum profile_kind kind, double version, unsigned table);

/* The same with a red curve of one's own. */
struct file_bytes profile_with_red_curve(cmsToneCurve *red);

/* Closes the profile and gives its bytes. */
struct file_bytes profile_bytes(cmsHPROFILE profile);

#endif
