/* SPDX-License-Identifier: MIT */
/* What the file says its codes mean: curve per channel and primaries, from the embedded ICC profile (Little-CMS), else
 * sRGB. Only nominal: cameras bend the curve to taste, which is what the card is for. */
#ifndef TAWNY_IMAGE_ENCODING_H
#define TAWNY_IMAGE_ENCODING_H

#include "base/matrix.h"
#include "image/image.h"

enum { ENCODING_STEPS = 1024 };

struct encoding {
  char name[64]; /* "sRGB", the profile's description, or "sRGB (embedded profile not usable: why)" */
  bool embedded; /* false: the file carried none that can be used, sRGB taken          */
  const char *
      not_used; /* what the intact profile is that could not be: "a lookup table", "for grey" ...; else NULL */
  /* Linear light at code i / ENCODING_STEPS, a channel each; rises with every step, to 1; black may be above 0. */
  double curve[3][ENCODING_STEPS + 1];
  struct mat3 xyz_from_linear; /* to XYZ under D50, Y = 100 for white                    */
};

/* A damaged profile, or one whose curves don't rise, is refused: ERROR_FILE "bad-profile". Says what to do: save the photo
 * again with a plain profile. An intact profile of another kind (lookup table, grey, CMYK) says nothing that could be used:
 * sRGB is taken, embedded is false, and name and not_used tell. Where a profile holds a lookup table beside curves and primaries,
 * the latter count. `name` is the file's, for messages. */
bool encoding_of_image(const struct image *image, const char *name, struct encoding *encoding,
                       struct error *error);

/* Linear light of a code 0..1 (linear between the steps; ends held), and back. */
double encoding_linear(const struct encoding *encoding, int channel, double code);
double encoding_code(const struct encoding *encoding, int channel, double linear);

#endif
