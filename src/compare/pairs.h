/* SPDX-License-Identifier: MIT */
/* All pairs of a collection at a glance, and single pairs in full. */
#ifndef TAWNY_COMPARE_PAIRS_H
#define TAWNY_COMPARE_PAIRS_H

#include "compare/collection.h"
#include "colour/difference.h"
#include "compare/compare.h"

/* Distance and verdict of all pairs i < j, in the order (0,1), (0,2) ... (1,2) ...: see pair_index(). */
struct pair_table {
  size_t count;   /* readings */
  float *de00;    /* owned; CIEDE2000                            */
  uint8_t *apart; /* owned; 1: told apart, as struct difference  */
};

bool pair_table_make(const struct collection *collection, struct pair_table *table, struct error *error);
void pair_table_clear(struct pair_table *table);

/* Place of a pair i < j < count. */
size_t pair_index(size_t count, size_t i, size_t j);

/* A difference in the words of the trade. All signed ones are second minus first. */
struct steps {
  bool hue_known; /* false: one of the two is a neutral, and `pages` is 0             */
  double pages;   /* of hue (2.5 each) the shorter way round: > 0 from R to YR to Y    */
  double value, chroma;
};

struct steps pair_steps(struct munsell first, struct munsell second);

struct pair {
  size_t a, b;
  struct difference difference;
  struct colour_difference parts; /* of CIEDE2000, weighted, signed                               */
  bool lightness, chroma, hue;    /* that part alone is told apart (normal, 95 %)                 */
  struct steps measured, chips;
  enum contrast contrast;              /* of the nearest chips                                         */
  enum contrast interpolated;          /* of the measured decimals                                     */
  int same_moisture;                   /* 1 yes, 0 no, -1 not stated for one of them                   */
  const struct collected_touch *touch; /* NULL: they don't touch; borrowed                        */
};

struct pair pair_of(const struct collection *collection, size_t a, size_t b);

/* What a second colour is against a first, by sign: "lighter", "stronger", "redder" and so on. */
const char *pair_lightness_word(const struct pair *pair);
const char *pair_chroma_word(const struct pair *pair);
/* By the hues of both: redder, yellower, greener, bluer or more purple. NULL where a neutral has no hue. */
const char *pair_hue_word(struct munsell first, struct munsell second);

/* The pairs to show: those that touch, then the nearest, at most `most` in all; owned by the caller (free()). `count` says how
 * many they are. */
struct pair_choice {
  size_t a, b;
};
bool pair_choose(const struct collection *collection, const struct pair_table *table, size_t most,
                 struct pair_choice **list, size_t *count, struct error *error);

#endif
