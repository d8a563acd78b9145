/* SPDX-License-Identifier: MIT */
/* The photo as it would be under the card's light everywhere, in the camera's own codes, with the profile that gives them
 * meaning: any program that honours ICC profiles then shows and reads the right colour. */
#ifndef TAWNY_PROFILE_CORRECTED_H
#define TAWNY_PROFILE_CORRECTED_H

#include "card/pose.h"
#include "image/image.h"
#include "profile/profile.h"

/* Gain of the light R G B at a place of the photo, 1 at the card (light/light.h). */
typedef struct vec3 (*profile_gain)(const void *context, struct point place);

/* Makes `evened`, an image of its own: 8 bits a code, of the same size, with the profile embedded under the name
 * `description`. A code c becomes the code whose linear light is that of c over the gain; what that takes beyond the
 * ends of the scale stays at the end. The gain is asked for every PROFILE_GAIN_STEP pixels, its inverse interpolated between. */
enum { PROFILE_GAIN_STEP = 16 };
bool profile_even_image(const struct image *image, const struct profile *profile, profile_gain gain,
                        const void *context, const char *description, struct image *evened,
                        struct error *error);

#endif
