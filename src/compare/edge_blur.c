/* SPDX-License-Identifier: MIT */
/* What camera and compression make of a clean cut, and the thickness of a boundary without it. */
#include <math.h>

#include "compare/edge_parts.h"

/* Pixels from 10 to 90 % of a clean cut on rendered field scenes: usual, and the range of it. Lightness shows what the lens leaves;
 * colour is kept by a JPEG at every second pixel and in coarser steps, which adds more than that in squares. */
struct range {
  double usual, least, most;
};
static const struct range LENS = {2.1, 1.4, 3.0}, COLOUR = {4.3, 2.8, 5.5};

/* From an even smear over a bin to its 10 to 90 %. */
static const double OF_BIN = 0.7399;

/* A thickness seen is told from a clean cut when it is so many times the thickest of those. */
static const double RESOLVED = 1.25;

/* Lightness, the fit's first channel, or colour. */
static struct range blur_of(const struct measurement *m, int channel)
{
  double known = EDGE_TEN_TO_NINETY * m->patches.blur;
  struct range lens = {fmax(LENS.usual, known), fmax(LENS.least, known / 1.2), fmax(LENS.most, known * 1.2)};

  if (channel == 0 || !m->image.lossy) {
    return lens;
  }
  return (struct range){hypot(lens.usual, COLOUR.usual), hypot(lens.least, COLOUR.least),
                        hypot(lens.most, COLOUR.most)};
}

void edge_blur_set(const struct measurement *m, double slant, double step, struct edge_prior *prior)
{
  for (int k = 0; k < 3; k++) {
    prior->blur[k] = hypot(blur_of(m, k).usual * sqrt(1 + slant * slant), OF_BIN * step);
  }
}

/* What a channel has to say of the thickness: squared change over the noise that can pass for a change so thin, and less the more the
 * channel is blurred. */
static double say_of(const struct edge_fit *fit, int k, double width)
{
  const struct edge_noise *noise = &fit->noise[k];
  double spread = noise->white + noise->slow * -expm1(-width / noise->length);

  return fit->change[k] * fit->change[k] / (spread * width * width * width);
}

/* Blur of the channels taken together. */
static struct range blur_of_all(const struct measurement *m, const struct edge_fit *fit)
{
  struct range sum = {0, 0, 0};
  double whole = 0;

  for (int k = 0; k < 3; k++) {
    struct range blur = blur_of(m, k);
    double say = say_of(fit, k, hypot(fit->thick, blur.usual));
    whole += say;
    sum.usual += say * blur.usual * blur.usual;
    sum.least += say * blur.least * blur.least;
    sum.most += say * blur.most * blur.most;
  }
  return (struct range){sqrt(sum.usual / whole), sqrt(sum.least / whole), sqrt(sum.most / whole)};
}

static double without_blur(double thick, double blur)
{
  return sqrt(fmax(thick * thick - blur * blur, 0));
}

bool edge_thickness(const struct measurement *m, const struct edge_fit *fit, double slant,
                    struct edge_figure *thick)
{
  struct range blur = blur_of_all(m, fit);
  double across = 1 / sqrt(1 + slant * slant);
  double seen = hypot(fit->thick * across, blur.usual);
  double low = seen * pow(hypot(fit->thick_low * across, blur.usual) / seen, EDGE_WIDER),
         high = seen * pow(hypot(fit->thick_high * across, blur.usual) / seen, EDGE_WIDER);

  *thick = (struct edge_figure){without_blur(seen, blur.usual), without_blur(low, blur.most),
                                without_blur(high, blur.least)};
  bool at_most = seen < RESOLVED * blur.most || thick->low < blur.least;
  if (at_most) {
    thick->low = 0;
    thick->high = fmax(thick->high, without_blur(RESOLVED * blur.most, blur.least));
  }
  return at_most;
}
