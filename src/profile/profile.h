/* SPDX-License-Identifier: MIT */
/* The camera as the card shows it: codes -> nominal linear light -> one smooth tone curve shared by the channels ->
 * 3x3 -> XYZ under D50 -> a gentle bend of CIELAB, only where the card's own patches ask for it.
 *
 * The profile holds no place in the frame: what the light does over the photo is a gain outside it, 1 at the card
 * (light/light.h). Codes of a place are evened by that gain and then go through the profile, so any ICC program gets the
 * same colour from the evened photo. docs/method.md has the equations and where each prior comes from. */
#ifndef TAWNY_PROFILE_PROFILE_H
#define TAWNY_PROFILE_PROFILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "card/patches.h"
#include "colour/space.h"
#include "image/encoding.h"

enum {
  PROFILE_KNOTS = 9,  /* of the tone curve: black offset, seven log slopes, stray light (profile/tone.h)  */
  PROFILE_BENDS = 10, /* functions of colour that bend CIELAB: 1, L, a, b and their products      */
  PROFILE_MATRIX_AT = PROFILE_KNOTS,       /* first parameter of the matrix, row by row                  */
  PROFILE_BEND_AT = PROFILE_MATRIX_AT + 9, /* first of the bend, L then a then b                     */
  PROFILE_PARAMETERS = PROFILE_BEND_AT + 3 * PROFILE_BENDS,
  PROFILE_SAMPLES_MAX = 400
};

/* By how much the light may still slope over the card beyond the gains given: standard deviation of its natural logarithm
 * from the card's middle to its rim. */
#define PROFILE_SLOPE_UNKNOWN 0.2    /* gains are 1 because nobody has looked yet  */
#define PROFILE_SLOPE_ESTIMATED 0.03 /* gains are those of light_estimate()       */

/* One patch as the fit sees it. */
struct profile_sample {
  struct vec3 linear; /* nominal linear light, 0..1, as read (not evened)              */
  struct vec3
      gain; /* light at the patch over light at the card's middle; 1 if even. Acts after the tone curve */
  struct mat3 noise;  /* covariance of `linear`                                        */
  struct point place; /* of the patch in the photo, pixels                             */
  struct lab reference_d50;
  double tolerance; /* of the card, CIEDE2000: root mean square distance from the reference */
  bool grey;
  enum card_cause cause; /* in: not CARD_USED leaves it out; out: adds CARD_DEVIANT, GLARE, SHADED */
  double left_one_out;   /* out, for those used: how far a fit without it is off here, CIEDE2000 */
  double radius;         /* out: what that is to stay within in 95 % of cases, by that fit alone  */
};

/* Summary of distances, CIEDE2000. */
struct profile_residual {
  double median, p90, p95, max;
};

struct profile {
  struct encoding encoding;
  double knot[PROFILE_KNOTS];    /* tone curve, see profile/tone.h             */
  double matrix[3][3];           /* X Y Z (Y = 100) from linear R G B          */
  double bend[3][PROFILE_BENDS]; /* of L, a, b; all 0 where the patches ask for none */
  bool bent;                     /* whether any is not 0                       */
  /* Covariance of the parameters (knots, matrix row by row, bend row by row), including what cards of this edition
   * differ by; rows and columns of unused parameters are zero. */
  double covariance[PROFILE_PARAMETERS][PROFILE_PARAMETERS];
  size_t used;                          /* patches that steer it                      */
  struct profile_residual residual;     /* of the used patches, fitted                */
  struct profile_residual left_one_out; /* each used patch from a fit without it      */
  /* Standard deviation of each axis, CIEDE2000: what cameras that render to taste or in parts of the frame leave of any colour,
   * by the scatter beyond that of a worn card. */
  double misfit;
  /* Log predictive density of each used patch from the others, summed: higher fits better. Compares editions of a card on the same
   * photo. */
  double evidence;
};

/* Robust fit in colour-difference units. Deviant patches are marked in `samples`. ERROR_UNMEASURABLE "few-patches" when
 * too few are left to fix even a white balance; with greys alone the file's nominal primaries are kept and the
 * covariance says how little that is worth. `slope` is PROFILE_SLOPE_UNKNOWN or PROFILE_SLOPE_ESTIMATED. */
bool profile_fit(const struct encoding *encoding, double slope, struct profile_sample *samples, size_t count,
                 struct profile *profile, struct error *error);

/* Linear light from nominal linear light by the tone curve; and back. Monotone, channel by channel alike. */
double profile_tone(const struct profile *profile, double nominal);
double profile_tone_inverse(const struct profile *profile, double linear);

/* Linear light from codes 0..1: nominal decoding, then tone curve. And back. */
struct vec3 profile_linear(const struct profile *profile, struct vec3 code);
struct vec3 profile_code(const struct profile *profile, struct vec3 linear);

/* Of evened linear light, under D50. */
struct lab profile_lab(const struct profile *profile, struct vec3 linear);

/* d(L, a, b) / d(linear) at evened linear light. */
struct mat3 profile_jacobian(const struct profile *profile, struct vec3 linear);

/* d(L, a, b) / d(parameter) for a place with evened linear light `linear`, where the light's gain is `gain`: the tone
 * curve acts before the gain is taken out. */
void profile_parameter_jacobian(const struct profile *profile, struct vec3 linear, struct vec3 gain,
                                double jacobian[3][PROFILE_PARAMETERS]);

/* Covariance in Lab of what no patch can tell: a camera is no colorimeter, so a surface whose reflectance is unlike the
 * patches' reads off by something the fit does not show. Sizes from formula-made cameras, lights and soils
 * (docs/method.md). */
struct mat3 profile_metamerism(struct lab lab_d50);

/* Covariance in Lab of what the model misses of a colour as it misses the patches' (misfit). */
struct mat3 profile_misfit(const struct profile *profile, struct lab lab_d50);

#endif
