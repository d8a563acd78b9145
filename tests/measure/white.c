/* SPDX-License-Identifier: MIT */
#include "white.h"

#include <string.h>

struct profile profile_white_is_one(void)
{
  struct profile profile;

  memset(&profile, 0, sizeof profile);
  profile.matrix[0][0] = COLOUR_WHITE_D50.X;
  profile.matrix[1][1] = COLOUR_WHITE_D50.Y;
  profile.matrix[2][2] = COLOUR_WHITE_D50.Z;
  return profile;
}
