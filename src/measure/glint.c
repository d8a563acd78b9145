/* SPDX-License-Identifier: MIT */
/* Points of light at random places, n a pixel and each of brightness a, blurred by a Gaussian of standard deviation s, have a mean
 * of n a and a variance of n a^2 / (4 pi s^2) (Campbell's theorem: Rice 1944, Bell System Tech. J. 23, 282). So a scatter of
 * variance v holds at most a mean of 4 pi s^2 v / a of them. Facets of a wet face are about as bright as a white surface, a = 1;
 * texture has its part in the scatter. */
#include "measure/glint.h"

#include <math.h>

static const double PI = 3.14159265358979323846;
static const double STANDS_OUT = 1.3; /* pixels of blur up to which glint stands out ...              */
static const double SMEARED = 2.3;    /* ... and from which it does not                               */
static const double PART_WET = 0.6;   /* of the most that the scatter can hold, the rest being texture */
static const double DOUBT_WET = 0.3, DOUBT_MOIST = 0.15;
static const double MOST = 0.25; /* of the region's light */

struct vec3 glint_white(const struct profile *profile)
{
  struct mat3 matrix, inverse;

  for (int i = 0; i < 9; i++) {
    matrix.m[i / 3][i % 3] = profile->matrix[i / 3][i % 3];
  }
  return mat3_invert(matrix, &inverse) ? mat3_apply(inverse, colour_vec_from_xyz(COLOUR_WHITE_D50))
                                       : (struct vec3){{1, 1, 1}};
}

void glint_take_out(const struct profile *profile, double blur, struct reading *reading)
{
  struct region_statistics *s = &reading->statistics;
  enum region_moisture moisture = reading->region->moisture;
  struct vec3 white = glint_white(profile);
  double smeared = fmin(fmax((blur - STANDS_OUT) / (SMEARED - STANDS_OUT), 0), 1);
  double most = smeared * 4 * PI * blur * blur * s->spread.m[1][1] / (white.v[1] * white.v[1]);

  most = fmin(most, MOST * s->linear.v[1] / white.v[1]);
  reading->glint = moisture == MOISTURE_WET ? PART_WET * most : 0;
  reading->glint_doubt = moisture == MOISTURE_WET     ? DOUBT_WET * most
                         : moisture == MOISTURE_MOIST ? DOUBT_MOIST * most
                                                      : 0;
  s->linear = vec3_subtract(s->linear, vec3_scale(white, reading->glint));
}
