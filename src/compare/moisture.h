/* SPDX-License-Identifier: MIT */
/* The same deposit dry, moist and wet: how its colour shifts, and how usual that is. */
#ifndef TAWNY_COMPARE_MOISTURE_H
#define TAWNY_COMPARE_MOISTURE_H

#include "compare/deposits.h"
#include "compare/pairs.h"

/* Published horizons with a value both moist and dry (calibration/README.md). */
size_t moisture_horizons(void);

/* Share of them whose value is lighter dry than moist by less than `shift`, 0..1. They were matched to chips, so a count of
 * whole steps stands for all shifts nearer to it than to the next; between those limits the share is linear. */
double moisture_share_below(double shift);

/* Share of them that are darker dry than moist. */
double moisture_share_darker(void);

enum moisture_remark {
  MOISTURE_FINE,
  MOISTURE_SWAPPED,   /* the drier state is darker, beyond the uncertainty of both                    */
  MOISTURE_NOT_DRIER, /* even the upper end of the uncertainty is a smaller shift than 95 % of horizons have */
  MOISTURE_LARGE /* even the lower end is a larger one than 97.5 %                                      */
};

/* One subject in two states. All differences are drier minus wetter. */
struct moisture_shift {
  size_t drier, wetter; /* deposits                                                               */
  struct steps steps;   /* of the means                                                           */
  double pages_spread, value_spread, chroma_spread; /* 95 % half-widths                            */
  double de00;
  bool published; /* dry against moist; for wet faces there is nothing to hold it against     */
  double share;   /* of horizons whose shift is at least as far to that side of the middle, doubled: 0..1 */
  enum moisture_remark remark;
  bool hue_odd,
      chroma_odd; /* hue turns by over a page, or chroma by over two standard deviations, beyond the uncertainty */
};

/* All pairs of states of each subject; owned by the caller (free()). */
bool moisture_shifts(const struct collection *collection, const struct deposits *deposits,
                     struct moisture_shift **list, size_t *count, struct error *error);

/* Two subjects, each read in the same two states. */
struct moisture_contrast {
  size_t drier[2], wetter[2];       /* deposits                                             */
  double apart_drier, apart_wetter; /* CIEDE2000 between the means                     */
  double gain, spread;              /* wetter minus drier, and its 95 % half-width           */
};

/* At most `most` pairs, those first that are nearest in the nearer state; how many there are goes to *all. Owned by the
 * caller (free()). */
bool moisture_contrasts(const struct collection *collection, const struct deposits *deposits, size_t most,
                        struct moisture_contrast **list, size_t *count, size_t *all, struct error *error);

/* An estimate of the value that a moist deposit would have dry, from the regression over the published horizons. Nothing is
 * computed from it. */
struct moisture_estimate {
  double value, spread; /* 95 % half-width: the scatter of horizons and what the reading doesn't know */
};
struct moisture_estimate moisture_estimate_dry(const struct deposit *moist);

#endif
