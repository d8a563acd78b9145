/* SPDX-License-Identifier: MIT */
/* Reference cards: where their patches lie and what colour they have.
 *
 * A card file is CGATS.17 text (ISO 28178), read with Little-CMS and then checked, since that library hands back 0 for
 * whatever is missing. calibration/cards/README.md describes the columns. Colour comes as one of LAB_* (D50), XYZ_* with
 * the file's white named, spectral reflectance, or a Munsell notation a patch. */
#ifndef TAWNY_CARD_REFERENCE_H
#define TAWNY_CARD_REFERENCE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "colour/space.h"

enum { CARD_PATCHES_MAX = 400 };

struct card_patch {
  char name[32];     /* "dark skin", "10YR 4/3"                                             */
  double x_mm, y_mm; /* centre on the card, x right, y down, as read with the card upright  */
  double width_mm, height_mm;
  struct lab lab_d50; /* of the published or measured card                                   */
  double tolerance;   /* standard deviation of one card's patch from lab_d50, CIEDE2000      */
  bool grey;          /* a neutral, C*ab < 3: may steer the tone curve                       */
};

/* One edition of a card. Editions of a card share `layout` and all geometry and differ in colours only: charts of
 * different years, or different measurements of the chart. Which edition fits a photo is decided by the fit. */
struct card_reference {
  char name[48];            /* "chart24-2014", or the file's name                                  */
  char layout[48];          /* "chart24"                                                           */
  char title[96];           /* for people                                                          */
  char source[240];         /* publication the colours come from                                   */
  struct card_patch *patch; /* owned                                                              */
  size_t count;
  size_t corner[4]; /* patches at the corners, in the order in which --patches lists them  */
  bool matt;        /* matt or semi-matt surface                                           */
};

struct card_list {
  struct card_reference *card; /* owned */
  size_t count;
};

/* The cards compiled in from calibration/cards, in a fixed order. */
bool card_list_builtin(struct card_list *list, struct error *error);

/* By name: every built-in edition of a layout ("chart24"), or one edition ("chart24-2014"). Else a card file.
 * ERROR_USAGE "unknown-card" names the cards there are; ERROR_FILE "bad-card" names the row and the column at fault. */
bool card_list_open(const char *name_or_path, struct card_list *list, struct error *error);

/* One card from CGATS text in memory. */
bool card_reference_parse(const char *text, size_t length, const char *name, struct card_reference *card,
                          struct error *error);

void card_reference_clear(struct card_reference *card);
void card_list_clear(struct card_list *list);

#endif
