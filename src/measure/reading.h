/* SPDX-License-Identifier: MIT */
/* What one region reads, with its doubt. */
#ifndef TAWNY_MEASURE_READING_H
#define TAWNY_MEASURE_READING_H

#include "base/error.h"
#include "munsell/chip.h"
#include "munsell/renotation.h"
#include "region/region.h"
#include "region/statistics.h"

/* Doubt about a value or a photo, printed with it. `region` is an index, or -1 for the whole photo. */
struct caveat {
  char code[32];  /* short word for scripts, e.g. "shadow-edge" */
  char text[320]; /* for people: what, and what to do           */
  int region;
  bool doubt; /* a cause of doubt about the photo's verdict; false: only a note */
};

enum {
  READING_SHARED = 72,
  READING_UNSURE =
      READING_SHARED - 1 /* column of a step in the light that may be a shadow's edge (light.h) */
};

/* Causes of uncertainty, each with its own share of the variance (GUM, JCGM 100: the budget). */
enum budget_cause {
  BUDGET_REGION,  /* spread inside the region, noise, quantisation         */
  BUDGET_FIT,     /* camera model: patches, noise, the card's tolerance    */
  BUDGET_LIGHT,   /* light at the region against light at the card         */
  BUDGET_CAMERA,  /* a camera is no colorimeter: what no patch can tell    */
  BUDGET_TILT,    /* face and card not in one plane                        */
  BUDGET_SURFACE, /* gloss of moist faces and glazes                       */
  BUDGET_CAUSES
};
const char *budget_cause_word(enum budget_cause cause);

struct reading {
  const struct region *region; /* borrowed from the measurement's region list */
  bool measured;               /* false: `error` says why, the rest is empty  */
  struct error error;
  struct region_statistics statistics;
  /* Mirrored light that blur has smeared over the region, as a share of a white surface's: taken out of statistics.linear, and
   * the standard deviation of what was to be taken out. */
  double glint, glint_doubt;

  struct lab lab_d50; /* CIELAB D50, 2 degree, relative to the perfect diffuser */
  struct xyY xyY_c;   /* of the object under illuminant C, Y 0..100             */
  struct lab lab_c;
  struct munsell munsell;
  bool neutral;
  enum munsell_place place;
  const struct munsell_chip *chip, *runner_up; /* nearest soil chips; runner_up may be NULL */
  double chip_chance;                          /* that `chip` is the true colour's nearest chip, 0..1    */
  double runner_up_chance;
  double chip_de00; /* distance to the chip                                    */

  /* Uncertainty in Lab D50. What regions of a photo share moves them together: column k of `shared` is the effect of the
   * k-th shared unknown (unit variance). covariance = shared shared' + own. */
  double shared[3][READING_SHARED];
  struct mat3 own;
  struct mat3 covariance;
  struct mat3 cause[BUDGET_CAUSES]; /* parts of `covariance` by cause */
  double radius;                    /* CIEDE2000 radius that holds the truth in 95 %           */
  struct munsell spread95;          /* 95 % half-widths of hue (0 for neutrals), value, chroma */
};

#endif
