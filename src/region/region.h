/* SPDX-License-Identifier: MIT */
/* Regions: what a person outlined in a photo and said about it. */
#ifndef TAWNY_REGION_REGION_H
#define TAWNY_REGION_REGION_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "card/pose.h"

enum region_shape { REGION_RECTANGLE, REGION_CIRCLE, REGION_ELLIPSE, REGION_POLYGON };

/* State of the surface. What nobody stated stays unstated; it is never guessed. */
enum region_moisture { MOISTURE_UNSTATED = 0, MOISTURE_DRY, MOISTURE_MOIST, MOISTURE_WET };

struct region {
  char label[96];   /* never empty, unique in its photo                                  */
  char context[64]; /* context number or name; "" not stated, likewise the next three     */
  char find[64];    /* find (sherd) number                                                */
  char zone[64];    /* of a sherd: core, margin, slip, glaze ...                          */
  char role[64];    /* fill, surrounding deposit ...                                      */
  char photo[256];  /* file name of the photo it belongs to; "" any                       */
  enum region_moisture moisture;
  enum region_shape shape;
  struct point
      *vertex; /* owned; the outline as a polygon, also of circles and ellipses (128 corners), photo pixels */
  size_t vertices;
};

struct region_list {
  struct region *region; /* owned */
  size_t count;
};

void region_clear(struct region *region);
void region_list_clear(struct region_list *list);

/* "dry", "moist", "wet"; NULL for unstated. */
const char *region_moisture_word(enum region_moisture moisture);
bool region_moisture_parse(const char *word, enum region_moisture *moisture);

/* Whether fills are compared with it: its role begins with "surrounding", in any case. */
bool region_surrounds(const struct region *region);

/* Whether exactly one of two regions surrounds, and the other has a role too. */
bool region_is_in(const struct region *a, const struct region *b);

/* Area in square pixels, >= 0. */
double region_area(const struct region *region);
struct point region_centroid(const struct region *region);
bool region_contains(const struct region *region, struct point place); /* even-odd rule */

/* Checks the outline against a photo: ERROR_UNMEASURABLE "outside" (any part beyond the frame by more than half a pixel), "no-area" (under
 * one pixel), "self-crossing". */
bool region_check(const struct region *region, int width, int height, struct error *error);

#endif
