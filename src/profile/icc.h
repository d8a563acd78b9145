/* SPDX-License-Identifier: MIT */
/* A profile as an ICC file: version 2.4 input class, matrix and three curves (or a Lab table for a root polynomial), PCS D50,
 * relative to the perfect diffuser: media white point D50, media-relative and absolute colorimetry alike. */
#ifndef TAWNY_PROFILE_ICC_H
#define TAWNY_PROFILE_ICC_H

#include "base/file.h"
#include "profile/profile.h"

/* Bytes of the ICC profile, owned by the caller. `description` names it. No clock goes in: same photo, same bytes. */
bool profile_icc(const struct profile *profile, const char *description, struct file_bytes *icc,
                 struct error *error);

#endif
