/* SPDX-License-Identifier: MIT */
/* How far dirt moves the colour read from a deposit, and how long reading takes; run by `meson test --benchmark`, best in
 * a release build. Prints the tables of docs/accuracy.md; the bounds are those of test_statistics.c. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "base/order.h"
#include "colour/difference.h"
#include "deposit.h"
#include "region/statistics.h"

enum { SOILS = 5, TEXTURES = 4, SHARES = 3, SEEDS = 4 };

static const struct vec3 SOIL[SOILS] = {{{0.155, 0.105, 0.06}},
                                        {{0.045, 0.035, 0.026}},
                                        {{0.45, 0.37, 0.26}},
                                        {{0.2, 0.21, 0.19}},
                                        {{0.2, 0.07, 0.035}}};
static const double TEXTURE[TEXTURES] = {0.05, 0.12, 0.18, 0.25}, SHARE[SHARES] = {0.1, 0.2, 0.3};

static double processor_seconds(void)
{
  struct timespec now;

  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static struct deposit deposit_of(struct vec3 colour, int width, int height)
{
  return (struct deposit){.width = width,
                          .height = height,
                          .bits = 8,
                          .colour = colour,
                          .hue_texture = 0.12,
                          .texture = 0.12,
                          .noise = 0.006,
                          .light_x = 1e-5};
}

static double moved(const struct profile *profile, const struct deposit *deposit)
{
  struct image image;
  struct vec3 clean;
  struct region_statistics s;
  struct error error;
  struct light light = deposit_light(deposit->light_x, deposit->light_y, 1e9);
  struct region region = deposit_rectangle(0, 0, deposit->width, deposit->height);

  deposit_paint(deposit, &image, &clean, NULL);
  bool done = region_measure(&image, profile, &light, &region, &s, &error);
  free(image.codes);
  region_clear(&region);
  return done ? colour_de00(profile_lab(profile, clean), profile_lab(profile, s.linear)) : HUGE_VAL;
}

/* Median and largest over soils, grains and seeds. */
static void row(const struct profile *profile, enum deposit_dirt dirt, double share)
{
  printf("%-8s %3.0f %%", deposit_dirt_word(dirt), 100 * share);
  for (int t = 0; t < TEXTURES; t++) {
    double off[SOILS * SEEDS];
    for (int i = 0; i < SOILS * SEEDS; i++) {
      struct deposit deposit = deposit_of(SOIL[i % SOILS], 160, 120);
      deposit.texture = TEXTURE[t];
      deposit.dirt = dirt;
      deposit.share = share;
      deposit.grain = i / SOILS % 2 ? 3 : 1;
      deposit.jpeg = i / SOILS / 2 % 2;
      deposit.seed = 100 + (unsigned)i;
      off[i] = moved(profile, &deposit);
    }
    order_doubles(off, SOILS * SEEDS);
    printf("   %5.2f %5.2f", off[SOILS * SEEDS / 2], off[SOILS * SEEDS - 1]);
  }
  puts("");
}

static void speed(const struct profile *profile, int bits)
{
  struct deposit deposit = deposit_of(SOIL[0], 6000, 4000);
  struct image image;
  struct vec3 clean;
  struct region_statistics s;
  struct error error;
  struct light light = deposit_light(1e-5, 0, 1e9);
  struct region whole = deposit_rectangle(0, 0, 6000, 4000), small = deposit_rectangle(2000, 1500, 150, 150);

  deposit.bits = bits;
  deposit_paint(&deposit, &image, &clean, NULL);
  double start = processor_seconds();
  region_measure(&image, profile, &light, &whole, &s, &error);
  double one = processor_seconds();
  for (int i = 0; i < 100; i++) {
    region_measure(&image, profile, &light, &small, &s, &error);
  }
  printf("%d bit: 24 megapixels in %.2f s, 100 regions of 150 x 150 in %.2f s\n", bits, one - start,
         processor_seconds() - one);
  free(image.codes);
  region_clear(&whole);
  region_clear(&small);
}

int main(void)
{
  static struct profile profile;

  deposit_profile(&profile);
  puts("CIEDE2000, median and largest; texture      5 %          12 %          18 %          25 %");
  for (int dirt = DIRT_NONE; dirt < DIRT_KINDS; dirt++) {
    for (int i = 0; i < (dirt == DIRT_NONE ? 1 : SHARES); i++) {
      row(&profile, (enum deposit_dirt)dirt, dirt == DIRT_NONE ? 0 : SHARE[i]);
    }
  }
  speed(&profile, 8);
  speed(&profile, 16);
  return 0;
}
