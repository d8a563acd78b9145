/* SPDX-License-Identifier: MIT */
/* Readings put together by deposit: those of the same context, find and zone in the same state. */
#ifndef TAWNY_COMPARE_DEPOSITS_H
#define TAWNY_COMPARE_DEPOSITS_H

#include "compare/collection.h"

enum { MOISTURE_STATES = MOISTURE_WET + 1 };

struct deposit {
  size_t item;    /* its first reading, whose region names it                              */
  size_t subject; /* deposits of one context, find and zone in different states share this */
  enum region_moisture moisture;
  size_t readings;
  struct lab mean;        /* of its readings, Lab D50                                         */
  struct mat3 covariance; /* of the mean, by what the readings don't know; not by their spread */
  struct lab mean_c;      /* under C                                                           */
  struct munsell munsell; /* of the mean                                                       */
  struct mat3 jacobian;   /* d(hue, value, chroma) / d(Lab D50) at the mean; hue row 0 where it has no hue */
  bool neutral;
  const struct munsell_chip *chip; /* nearest to the mean */
};

struct deposits {
  struct deposit *list; /* owned; subjects by first appearance, in each dry, moist, wet, unstated */
  size_t count;
  size_t *of; /* owned; deposit of each reading of the collection */
  struct mat3 scatter
      [MOISTURE_STATES]; /* of readings round the mean of their deposit in Lab, over all deposits of a state; 0
                                         * where none was read twice */
};

/* A reading without context and find is a deposit of its own. */
bool deposits_make(const struct collection *collection, struct deposits *deposits, struct error *error);
void deposits_clear(struct deposits *deposits);

/* Hue, value, chroma of a colour; its Lab under C goes to *lab_c unless NULL. */
struct munsell deposits_munsell(struct lab lab_d50, struct lab *lab_c);

/* Variance of the sum over `count` deposits of gradient[k] . mean of list[index[k]]: what the readings don't know, and how
 * much those of one deposit scatter, as a mean of as many does. Their own noise is in both parts, which makes the sum a little
 * wide. */
bool deposits_variance(const struct collection *collection, const struct deposits *deposits,
                       const size_t *index, const struct vec3 *gradient, size_t count, double *variance,
                       struct error *error);

/* One-way components of variance in CIELAB, the squares of L*, a* and b* added up: readings within a deposit against deposits
 * among each other. */
struct components {
  enum region_moisture moisture; /* of all deposits that count here                        */
  size_t deposits, readings;
  bool known;             /* at least two deposits, one of them read twice                    */
  double within, between; /* standard deviations in CIELAB units                              */
  double share;           /* of the variance of a reading that the deposits explain, 0..1     */
};

/* Of the deposits of one state: unlike states are no difference between deposits. */
struct components deposits_components(const struct collection *collection, const struct deposits *deposits,
                                      enum region_moisture moisture);

#endif
