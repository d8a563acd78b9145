/* SPDX-License-Identifier: MIT */
/* Small painted photos of deposits for the tests of regions: a plain sRGB camera, a texture, and things that lie on it. */
#ifndef TAWNY_TESTS_REGION_DEPOSIT_H
#define TAWNY_TESTS_REGION_DEPOSIT_H

#include "image/image.h"
#include "light/light.h"
#include "profile/profile.h"
#include "random.h"
#include "region/region.h"

/* What lies on or in the deposit. */
enum deposit_dirt {
  DIRT_NONE,
  DIRT_PEBBLES, /* pale stones, 3 to 10 pixels across                */
  DIRT_STONES,  /* the same, only twice as light as the deposit      */
  DIRT_ROOTS,   /* dark lines                                        */
  DIRT_GLINT,   /* mirrored light of all strengths, 1 to 3 pixels    */
  DIRT_SHADOW,  /* specks of shadow of all depths, 2 to 8 pixels     */
  DIRT_ALL,
  DIRT_KINDS
};
const char *deposit_dirt_word(enum deposit_dirt dirt);

struct deposit {
  int width, height, bits;
  struct vec3 colour; /* linear light of the deposit                                   */
  double texture;     /* standard deviation of its logarithm, pixel by pixel           */
  double hue_texture; /* share of it that differs between channels                     */
  int grain;          /* pixels that the texture is smooth over; 1: none               */
  bool jpeg; /* chroma as JPEG keeps it: whole steps of Cb and Cr, one for each 2 x 2 pixels; for 8 bits */
  enum deposit_dirt dirt;
  double share;            /* of the pixels that are dirt                                   */
  double noise;            /* of the camera, standard deviation of linear light at 0.2      */
  double light_x, light_y; /* slope of the log of the light, per pixel                  */
  uint64_t seed;
};

/* Paints it; the image owns its codes. `clean` gets the mean linear light, evened, of the deposit without dirt. `mask` may be
 * NULL or take one byte a pixel, 1 for dirt. */
void deposit_paint(const struct deposit *deposit, struct image *image, struct vec3 *clean,
                   unsigned char *mask);

/* The camera that deposit_paint uses: sRGB codes and primaries, tone curve as they say. */
void deposit_profile(struct profile *profile);

/* A light that the stand-in in deposit.c understands: log gain light_x x + light_y y in all channels, a shadow edge along the
 * column `edge` (beyond it to the right). */
struct light deposit_light(double light_x, double light_y, double edge);

struct region deposit_rectangle(double x, double y, double width, double height);

#endif
