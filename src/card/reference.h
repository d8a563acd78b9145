/* SPDX-License-Identifier: MIT */
/* Reference cards: where their patches lie and what colour they have.
 *
 * A card file is CGATS.17 text (ISO 28178), read strictly (card/cgats.h); calibration/cards/README.md describes its
 * keywords and columns. Colour comes as one of LAB_* (D50 unless the file names C), XYZ_* or XYY_* with the file's white
 * named, spectral reflectance, or a Munsell notation a patch. */
#ifndef TAWNY_CARD_REFERENCE_H
#define TAWNY_CARD_REFERENCE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "card/cgats.h"
#include "colour/space.h"

enum { CARD_PATCHES_MAX = CGATS_ROWS_MAX };

/* The whitest patch of printed charts is the most coloured of the greys: C*ab 3.1 in one published edition. */
#define CARD_GREY_CHROMA 4.0

/* Taken for patches of a file that has no TOLERANCE_DE00 column. */
#define CARD_TOLERANCE_DEFAULT 1.0

struct card_patch {
  char name[32];     /* "dark skin", "10YR 4/3"                                             */
  double x_mm, y_mm; /* centre on the card, x right, y down, as read with the card upright  */
  double width_mm, height_mm;
  struct lab lab_d50; /* of the published or measured card                                   */
  double tolerance;   /* root mean square distance of one card's patch from it, CIEDE2000   */
  bool grey;          /* a neutral, C*ab < CARD_GREY_CHROMA: may steer the tone curve        */
};

/* A place on the card. */
struct card_place {
  double x_mm, y_mm;
};

/* One edition of a card. Editions of a card share `layout` and all geometry and differ in colours only: charts of
 * different years, or different measurements of the chart. Which edition fits a photo is decided by the fit. */
struct card_reference {
  char name[48];            /* "chart24-1976", or the file's name                                  */
  char layout[48];          /* "chart24"                                                           */
  char title[96];           /* for people                                                          */
  char source[240];         /* publication the colours come from                                   */
  struct card_patch *patch; /* owned                                                              */
  size_t count;
  size_t corner[4]; /* patches at the corners, in the order in which --patches lists them  */
  /* The four points that --patches lists, clockwise as read with the card upright: the centres of the corner patches.
   * A card of one row has no four corner patches: its file names the end patches first, last, last, first, and the
   * points are the outer corners of these: top left, top right, bottom right, bottom left. */
  struct card_place corner_place[4];
  bool matt; /* matt or semi-matt surface */
  bool
      sized; /* its mm are true; false: they give proportions only, so that nothing in a photo can be measured by them */
};

struct card_list {
  struct card_reference *card; /* owned */
  size_t count;
};

/* The cards compiled in from calibration/cards, in a fixed order. For looking for a card nobody named take
 * card_list_open("chart24"): among the others is a row of greys, which would be found inside that chart too. */
bool card_list_builtin(struct card_list *list, struct error *error);

/* By name, in any case: every built-in edition of a layout ("chart24"), or one edition ("chart24-1976"). Else a card file.
 * ERROR_USAGE "unknown-card" names the cards there are; ERROR_FILE "bad-card" names the line, or the row and the column, at fault. */
bool card_list_open(const char *name_or_path, struct card_list *list, struct error *error);

/* One card from CGATS text in memory. */
bool card_reference_parse(const char *text, size_t length, const char *name, struct card_reference *card,
                          struct error *error);

void card_reference_clear(struct card_reference *card);
void card_list_clear(struct card_list *list);

/* The rectangle around all patches, mm, each grown on every side by `share` of its own width or height. */
struct card_extent {
  double left, top, right, bottom;
};
struct card_extent card_reference_extent(const struct card_reference *card, double share);

#endif
