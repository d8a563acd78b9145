/* SPDX-License-Identifier: MIT */
#include <math.h>

#include "munsell/tables.h"

static bool within(double x, double low, double high)
{
  return low <= x && x < high;
}

/* Brings a notation, whatever it holds, to where the blocks are: hue 1..101, value 0..10 (10 belongs to the topmost
 * blocks, which end there), chroma from 0 on. */
static struct munsell in_blocks(struct munsell m)
{
  double hue = isfinite(m.hue) ? fmod(fmod(m.hue, 100) + 100, 100) : 1;

  return (struct munsell){hue < 1 ? hue + 100 : hue, fmin(fmax(m.value, 0), nextafter(10, 0)),
                          fmin(fmax(m.chroma, 0), 1e6)};
}

static bool holds(const struct iscc_nbs_block *block, struct munsell m)
{
  return within(m.value, block->low[1], block->high[1]) && within(m.chroma, block->low[2], block->high[2]) &&
         (within(m.hue, block->low[0], block->high[0]) || within(m.hue + 100, block->low[0], block->high[0]));
}

const char *munsell_iscc_nbs_name(struct munsell m)
{
  struct munsell at = in_blocks(m);
  size_t i = 0;

  while (i + 1 < ISCC_NBS_BLOCK_COUNT && !holds(&ISCC_NBS_BLOCKS[i], at)) {
    i++; /* a test shows that the blocks fill the space */
  }
  return ISCC_NBS_BLOCKS[i].name;
}
