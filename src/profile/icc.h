/* SPDX-License-Identifier: MIT */
/* A profile as an ICC file: version 2.4 (ICC.1:1998-09 with its 2.4 revision), input class, PCS D50, relative to the perfect
 * diffuser: media white point D50, media-relative and absolute colorimetry alike.
 *
 * Without a bend: matrix and three curves. The curves are scaled to end at 1 and the matrix carries the scale; curves
 * can't go below 0, so codes darker than the tone curve's black are black. With a bend: a table of CIELAB on a grid that
 * is even in lightness of each channel. Both open right in a browser. */
#ifndef TAWNY_PROFILE_ICC_H
#define TAWNY_PROFILE_ICC_H

#include "base/file.h"
#include "profile/profile.h"

/* Bytes of the ICC profile, owned by the caller. `description` names it; what is not ASCII becomes '?'. No clock goes in:
 * same photo, same bytes. */
bool profile_icc(const struct profile *profile, const char *description, struct file_bytes *icc,
                 struct error *error);

#endif
