/* SPDX-License-Identifier: MIT */
/* Random numbers that are the same on every machine: xoshiro256** (Blackman & Vigna 2018, public domain), started by
 * splitmix64. Seeds are always given, never taken from a clock. */
#ifndef TAWNY_SUPPORT_RANDOM_H
#define TAWNY_SUPPORT_RANDOM_H

#include <stdint.h>

struct random {
  uint64_t state[4];
};

struct random random_start(uint64_t seed);

uint64_t random_bits(struct random *random);
double random_unit(struct random *random);                             /* 0 <= u < 1                      */
double random_between(struct random *random, double low, double high); /* even                            */
int random_below(struct random *random, int count);                    /* 0 .. count - 1                  */
double random_normal(struct random *random);                           /* mean 0, standard deviation 1    */

#endif
