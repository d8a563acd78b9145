/* SPDX-License-Identifier: MIT */
#include "compare/edge_whiten.h"

#include <math.h>

void whitener_make(const struct edge_sample *sample, size_t count, struct edge_noise noise,
                   struct whitener *whitener)
{
  double spread = noise.slow; /* of the slow part, before the sample is seen */

  whitener->log_determinant = 0;
  for (size_t i = 0; i < count; i++) {
    double decay = i ? exp(-(sample[i].at - sample[i - 1].at) / noise.length) : 0;
    spread = i ? decay * decay * spread + noise.slow * (1 - decay * decay) : noise.slow;
    double seen = spread + noise.white / sample[i].weight;
    whitener->decay[i] = decay;
    whitener->gain[i] = spread / seen;
    whitener->scale[i] = 1 / sqrt(seen);
    whitener->log_determinant += log(seen);
    spread *= 1 - whitener->gain[i];
  }
}

void whitener_apply(const struct whitener *whitener, size_t count, const double *in, double *out)
{
  double state = 0;

  for (size_t i = 0; i < count; i++) {
    state *= whitener->decay[i];
    double news = in[i] - state;
    out[i] = news * whitener->scale[i];
    state += whitener->gain[i] * news;
  }
}
