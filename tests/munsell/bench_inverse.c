/* SPDX-License-Identifier: MIT */
/* How many colours a second one core takes through the conversions; run by `meson test --benchmark`, best in a release
 * build. Prints; fails only when the inverse does. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "munsell/chip.h"

enum { COLOURS = 200000, ROUNDS = 5 };

static double processor_seconds(void)
{
  struct timespec now;

  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Multiplicative congruential, 0..1: the same colours on every machine. */
static double next_random(unsigned long long *state)
{
  *state = *state * 6364136223846793005ull + 1442695040888963407ull;
  return (double)(*state >> 11) / 9007199254740992.0;
}

static void report(const char *what, double seconds)
{
  printf("%-48s %8.3f million a second, %6.0f ns each\n", what, ROUNDS * COLOURS / seconds / 1e6,
         seconds / (ROUNDS * COLOURS) * 1e9);
}

static double between(unsigned long long *state, double low, double high)
{
  return low + (high - low) * next_random(state);
}

static struct munsell random_soil(unsigned long long *state)
{
  double hue = between(state, 5, 25), value = between(state, 2, 9);

  return (struct munsell){hue, value, between(state, 0.5, 8)};
}

/* Anywhere in the published rows. */
static struct munsell random_published(unsigned long long *state)
{
  struct munsell m;

  do {
    m.hue = between(state, 0, 100);
    m.value = between(state, 0.2, 9);
    m.chroma = between(state, 0.1, 38);
  } while (munsell_place_in_rows(m) != MUNSELL_PUBLISHED);
  return m;
}

/* Anywhere in the extrapolated rows, where the limits of real surfaces are asked as well. */
static struct munsell random_extrapolated(unsigned long long *state)
{
  struct munsell m;

  do {
    m.hue = between(state, 0, 100);
    m.value = between(state, 0.2, 10);
    m.chroma = between(state, 0.1, 50);
  } while (munsell_place_in_rows(m) != MUNSELL_EXTRAPOLATED);
  return m;
}

static int time_inverse(const char *what, struct munsell (*next)(unsigned long long *), struct xyY *colours)
{
  unsigned long long state = 1;
  int failures = 0;
  double sum = 0;

  for (int i = 0; i < COLOURS; i++) {
    colours[i] = munsell_to_xyY(next(&state));
  }
  double begin = processor_seconds();
  for (int i = 0; i < ROUNDS * COLOURS; i++) {
    struct munsell m;
    enum munsell_place place;
    failures += !munsell_from_xyY(colours[i % COLOURS], &m, &place);
    sum += m.hue;
  }
  report(what, processor_seconds() - begin);
  return failures + (sum < 0);
}

static void time_forward(struct xyY *colours)
{
  unsigned long long state = 1;
  struct munsell *notations = malloc(COLOURS * sizeof *notations);

  if (!notations) {
    return;
  }
  for (int i = 0; i < COLOURS; i++) {
    notations[i] = random_soil(&state);
  }
  double begin = processor_seconds();
  for (int i = 0; i < ROUNDS * COLOURS; i++) {
    colours[i % COLOURS] = munsell_to_xyY(notations[i % COLOURS]);
  }
  report("notation to xyY, soils", processor_seconds() - begin);
  free(notations);
}

static void time_chips(const char *what, const struct munsell_chip *(*nearest)(struct lab, double *),
                       struct munsell (*next)(unsigned long long *), struct lab *labs)
{
  unsigned long long state = 1;
  double sum = 0;

  for (int i = 0; i < COLOURS; i++) {
    labs[i] = colour_lab_from_xyz(colour_xyz_from_xyY(munsell_to_xyY(next(&state))), COLOUR_WHITE_C);
  }
  double begin = processor_seconds();
  for (int i = 0; i < ROUNDS * COLOURS; i++) {
    double de00;
    nearest(labs[i % COLOURS], &de00);
    sum += de00;
  }
  report(what, processor_seconds() - begin);
  printf("%-48s %8.3f CIEDE2000\n", "  mean distance", sum / (ROUNDS * COLOURS));
}

int main(void)
{
  struct xyY *colours = malloc(COLOURS * sizeof *colours);
  struct lab *labs = malloc(COLOURS * sizeof *labs);
  int failures = 1;

  if (colours && labs) {
    failures = time_inverse("xyY to notation, soils", random_soil, colours);
    failures += time_inverse("xyY to notation, published rows", random_published, colours);
    failures += time_inverse("xyY to notation, extrapolated rows", random_extrapolated, colours);
    time_forward(colours);
    time_chips("nearest soil chip, soils", munsell_nearest_soil_chip, random_soil, labs);
    time_chips("nearest soil chip, published rows", munsell_nearest_soil_chip, random_published, labs);
    time_chips("nearest chip of the book, published rows", munsell_nearest_book_chip, random_published, labs);
  }
  free(colours);
  free(labs);
  return failures > 0;
}
