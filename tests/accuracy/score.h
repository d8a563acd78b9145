/* SPDX-License-Identifier: MIT */
/* Scores of readings against known colours. */
#ifndef TAWNY_TESTS_ACCURACY_SCORE_H
#define TAWNY_TESTS_ACCURACY_SCORE_H

#include <stdbool.h>
#include <stddef.h>

/* One region read, beside the truth. */
struct score_case {
  double error;       /* CIEDE2000 between reading and truth                          */
  double radius;      /* stated, 95 %                                                  */
  double chance;      /* stated, of the nearest chip                                   */
  bool chip_right;    /* the stated chip is the truth's nearest                        */
  bool either_right;  /* that or the runner-up                                         */
  bool lit;           /* in the card's light; shaded regions are scored apart          */
  bool warned;        /* a warning about the region or its photo                       */
  double light_error; /* log of stated over true light gain; NAN where not known       */
};

struct score_list {
  struct score_case *item; /* owned */
  size_t count, capacity;
};

bool score_add(struct score_list *list, struct score_case item);
void score_clear(struct score_list *list);

/* Value below which a share of the list lies (order statistics, linear between); NAN for an empty list. */
double score_error_quantile(const struct score_list *list, double share);

/* Share of cases with error <= radius; of the third 0, 1 or 2 ordered by radius, or of all for -1. */
double score_coverage(const struct score_list *list, int third);

/* Mean interval score at 95 %: radius + 20 max(0, error - radius) (Gneiting & Raftery 2007, one-sided), and that of the best
 * constant radius. Lower is better. */
double score_interval(const struct score_list *list);
double score_interval_constant(const struct score_list *list);

/* Stated mean chance and share right in bin 0..4 of stated chance [0, 0.2) ... [0.8, 1]. Returns the count. */
size_t score_chance_bin(const struct score_list *list, int bin, double *stated, double *right);

#endif
