/* SPDX-License-Identifier: MIT */
/* Which cell of a region belongs to which part of a mixture, and the lumps that they form. For files of this folder. */
#ifndef TAWNY_COMPARE_MOTTLE_MAP_H
#define TAWNY_COMPARE_MOTTLE_MAP_H

#include <stdint.h>

#include "compare/mixture.h"
#include "compare/mottle_cells.h"

enum {
  MOTTLE_NONE = 255, /* a cell outside the region, or an inclusion        */
  MOTTLE_LUMP = 4    /* cells that make a lump; less is a speck           */
};

/* A piece of one part that hangs together by cells' sides. */
struct mottle_lump {
  uint8_t part;
  bool cut; /* it touches the outline                       */
  size_t cells;
  struct point middle; /* photo pixels                                 */
};

struct mottle_map {
  const struct mottle_cells *cells; /* borrowed                                     */
  uint8_t *part;                    /* owned; a cell each, row after row            */
  size_t count[MIXTURE_PARTS_MAX];  /* cells of each part                           */
  size_t specks;                    /* cells in pieces too small                    */
  struct mottle_lump *lump;         /* owned; of all parts but the largest          */
  size_t lumps;
  size_t main; /* the part of most cells                       */
};

/* Cells filled less than this are not looked at. */
#define MOTTLE_FILLED 0.5

bool mottle_map_make(const struct mottle_cells *cells, const struct mixture *mixture, struct mottle_map *map,
                     struct error *error);
void mottle_map_clear(struct mottle_map *map);

/* Whether the cell and those beside it are all of one part. */
bool mottle_map_inner(const struct mottle_map *map, int x, int y);

#endif
