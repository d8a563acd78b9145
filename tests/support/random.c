/* SPDX-License-Identifier: MIT */
#include "random.h"

#include <math.h>

static uint64_t splitmix(uint64_t *state)
{
  uint64_t z = *state += 0x9e3779b97f4a7c15u;

  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
  return z ^ (z >> 31);
}

struct random random_start(uint64_t seed)
{
  struct random random;

  for (int i = 0; i < 4; i++) {
    random.state[i] = splitmix(&seed);
  }
  return random;
}

static uint64_t rotate(uint64_t x, int by)
{
  return (x << by) | (x >> (64 - by));
}

uint64_t random_bits(struct random *random)
{
  uint64_t *s = random->state;
  uint64_t result = rotate(s[1] * 5, 7) * 9, t = s[1] << 17;

  s[2] ^= s[0];
  s[3] ^= s[1];
  s[1] ^= s[2];
  s[0] ^= s[3];
  s[2] ^= t;
  s[3] = rotate(s[3], 45);
  return result;
}

double random_unit(struct random *random)
{
  return (double)(random_bits(random) >> 11) * 0x1p-53;
}

double random_between(struct random *random, double low, double high)
{
  return low + (high - low) * random_unit(random);
}

int random_below(struct random *random, int count)
{
  return (int)(random_unit(random) * count);
}

/* Box and Muller, one of the pair. */
double random_normal(struct random *random)
{
  double radius = sqrt(-2 * log(1 - random_unit(random)));

  return radius * cos(2 * 3.14159265358979323846 * random_unit(random));
}
