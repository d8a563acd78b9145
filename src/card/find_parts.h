/* SPDX-License-Identifier: MIT */
/* Parts of the card finder, shared by find*.c only.
 *
 * How it goes: a picture of the photo at one scale -> even, compact blobs (candidate patches) -> lattices of blobs -> the
 * placement of a card's layout on a lattice whose colours agree -> the plane map refined on patch edges in the photo itself.
 * Geometry only proposes; colour decides, by a statistic that no camera, light or cast changes (find_score.c). */
#ifndef TAWNY_CARD_FIND_PARTS_H
#define TAWNY_CARD_FIND_PARTS_H

#include "card/find.h"

/* -- find_picture.c: the photo at one scale, compressed so that dark and bright steps weigh alike ------------------- */

enum { FIND_TABLE = 1024 };

/* Codes 0..1 to a byte and back: logarithm above a toe, scaled to the photo's own white. */
struct find_tone {
  uint8_t byte[FIND_TABLE + 1]; /* of code i / FIND_TABLE */
  double code[256];
};
void find_tone_make(const struct image_blocks *blocks, struct find_tone *tone);

struct find_picture {
  int width, height;
  int step;      /* photo pixels a picture pixel              */
  int left, top; /* photo place of the picture's outer corner */
  uint8_t *byte; /* owned; R G B                              */
};

/* A rectangle of the photo (pixels) in boxes of `step` pixels. Box means come from `blocks` where `step` is a multiple of their
 * size. */
struct find_window {
  int left, top, width, height;
};
bool find_picture_make(const struct image *image, const struct image_blocks *blocks,
                       const struct find_tone *tone, struct find_window window, int step,
                       struct find_picture *picture, struct error *error);
void find_picture_clear(struct find_picture *picture);

/* -- find_blobs.c: candidate patches -------------------------------------------------------------------------------- */

struct find_blob {
  double x, y;       /* centroid, picture pixels                                          */
  double xx, xy, yy; /* 12 x covariance: the squared sides of a rectangle, as a 2x2 form   */
  double area;       /* of that rectangle                                                 */
  double margin;     /* contrast at which it merges over contrast at which it was complete */
};

struct find_blobs {
  struct find_blob *blob; /* owned */
  int count, room;
  int columns, rows, cell; /* grid over the picture, for look-ups                        */
  int *first, *next;       /* owned; blobs of a cell as a chain, -1 ends it              */
};
bool find_blobs_make(const struct find_picture *picture, struct find_blobs *blobs, struct error *error);
void find_blobs_clear(struct find_blobs *blobs);

/* Calls for every blob within `radius` of x, y. */
void find_blobs_near(const struct find_blobs *blobs, double x, double y, double radius,
                     void (*visit)(int blob, void *context), void *context);

/* -- find_lattice.c: blobs that lie on a lattice -------------------------------------------------------------------- */

enum { FIND_REACH = 14, FIND_SPAN = 2 * FIND_REACH + 1 };

struct find_lattice {
  int count;                      /* nodes that are blobs                          */
  int blob[FIND_SPAN][FIND_SPAN]; /* by column and row + FIND_REACH; -1: none      */
  int left, right, top, bottom;   /* span of the nodes, -FIND_REACH .. FIND_REACH  */
  struct mat3 map;                /* picture pixels from column, row               */
};

struct find_seed {
  int blob;
  double ux, uy, vx, vy; /* to the neighbours in the next column and row */
  double rank;           /* small: regular and close                     */
};
struct find_seeds {
  struct find_seed *seed; /* owned; best first */
  int count;
};
bool find_seeds_make(const struct find_blobs *blobs, struct find_seeds *seeds, struct error *error);

/* False when nothing worth looking at grows from the seed. */
bool find_lattice_grow(const struct find_blobs *blobs, const struct find_seed *seed,
                       struct find_lattice *lattice);

/* Moves a map whose columns and rows start at 0 onto the blobs of a finer picture; leaves it where half of them are missing. */
void find_lattice_adjust(const struct find_blobs *blobs, int columns, int rows, struct mat3 *map);

/* -- find_map.c: plane maps ----------------------------------------------------------------------------------------- */

struct find_tie {
  double column, row, x, y, weight_x, weight_y;
  double sag_x[2], sag_y[2]; /* of x and y by the unknown bend, for a bent fit */
};

/* Least-squares plane map x, y from column, row: affine for fewer than 8 ties or when `affine`. With `bend` not NULL x and y
 * are the map's plus sag . bend, and bend is found too. */
bool find_map_fit(const struct find_tie *tie, int count, bool affine, struct mat3 *map, struct point *bend);
struct point find_map_apply(const struct mat3 *map, double column, double row);

/* -- find_layout.c: what to look for -------------------------------------------------------------------------------- */

enum { FIND_TONES = 3, FIND_LAYOUTS = 16, FIND_CELLS = 144, FIND_CHROMATIC_MIN = 10 };

struct find_layout {
  size_t card;       /* first edition of it in the list                                      */
  int columns, rows; /* of the lattice                                                       */
  struct mat3 grid_from_mm;
  double fill_x, fill_y; /* patch side over pitch                                            */
  struct vec3 model[FIND_TONES][FIND_CELLS]; /* colours, row by row, linear light to the power of each tone */
};

/* Why a card can't be searched for; the first reason counts. */
enum find_unfit {
  FIND_FIT,
  FIND_DULL,       /* fewer than FIND_CHROMATIC_MIN coloured patches  */
  FIND_MANY,       /* more than FIND_CELLS patches                    */
  FIND_NO_LATTICE, /* they do not fill even rows and columns          */
};

/* Layouts of the list that are a full lattice with enough chromatic patches; returns their number. `unfit` is what is wrong with
 * the last one that is none. */
int find_layouts_make(const struct card_list *list, struct find_layout layout[FIND_LAYOUTS],
                      enum find_unfit *unfit);

/* -- find_score.c: do the colours agree? ---------------------------------------------------------------------------- */

struct find_sample {
  bool inside;      /* of the frame                                   */
  struct vec3 code; /* mean of the middle of the patch, 0..1           */
  double spread;    /* root mean square deviation inside that middle  */
};

struct find_score {
  /* Chi-squared (9 degrees of freedom) against colours that have nothing to do with the card. */
  double evidence;
  double weakest; /* least squared canonical correlation, 0..1: the worst explained mixture of channels */
  double uneven;  /* median of spread inside patches over the spread between them                     */
  int inside;     /* patches inside the frame                                                         */
  int agree;      /* of these, patches that agree with the model                                       */
};

/* `sample` lies in the layout's order. The full score tries tones, evens out a slope of the light and leaves outliers out. */
double find_score_quick(const struct find_layout *layout, const struct find_sample *sample);
struct find_score find_score_full(const struct find_layout *layout, const struct find_sample *sample);

/* -- find_match.c: the placement of a layout on a lattice ------------------------------------------------------------ */

struct find_match {
  const struct find_layout *layout;
  bool mirrored;
  struct mat3 map;   /* photo pixels from the layout's column, row, before the sag */
  struct point bend; /* sag of a curved sheet as in pose.h; 0 flat                   */
  struct find_score score;
  double width[2]; /* of patches over the pitch, by column and row, as measured by find_refine; 0: not */
};

/* Best placement of any layout on the lattice. False when none is near. */
bool find_match_best(const struct find_picture *picture, const struct find_tone *tone,
                     const struct find_lattice *lattice, const struct find_layout *layout, int layouts,
                     struct find_match *match);

/* A colourful lattice of many nodes: a chart, if perhaps not one of ours. */
bool find_match_is_chart(const struct find_picture *picture, const struct find_tone *tone,
                         const struct find_lattice *lattice);

/* -- find_edges.c: what the photo itself shows of a patch ------------------------------------------------------------ */

/* Shape of the sag along the layout's longer side: 0 at the corner places, 1 in the middle. */
double find_match_sag(const struct find_layout *layout, double column, double row);

/* Photo pixels of a column and row, sag and all; and pixels between patches in the middle, the closer direction. */
struct point find_match_place(const struct find_match *match, double column, double row);
double find_match_pitch(const struct find_match *match);

struct find_centre {
  bool found;
  double shift, width; /* of the patch against its expected place, and its side, in pitches */
};
struct find_centre find_centre_read(const struct image *image, const struct find_match *match, int column,
                                    int row, bool along_row);

void find_samples_read(const struct image *image, const struct find_match *match, struct find_sample *sample);

/* -- find_refine.c: the map from patch edges in the photo ------------------------------------------------------------ */

/* Moves the map onto the patch edges, bent if the sheet is. */
void find_refine(const struct image *image, struct find_match *match);

/* Patches of the same size on the lattice right outside the card: more than a few, and it is a larger target. */
int find_patches_beyond(const struct image *image, const struct find_match *match);

/* -- find_places.c: where a small card may be ----------------------------------------------------------------------- */

struct find_places {
  int columns, rows; /* cells of FIND_CELL x FIND_CELL pixels of the first picture */
  double *sum;       /* owned; summed areas of chroma and its squares              */
  double *rank;      /* owned; a cell, while places are taken                      */
};

enum { FIND_CELL = 4 };
bool find_places_make(const struct find_picture *picture, struct find_places *places, struct error *error);
void find_places_clear(struct find_places *places);

/* Ranks the cells by how colourful a square of `pool` cells round them is: the smaller principal variance of chroma. */
void find_places_rank(struct find_places *places, int pool);

/* Takes the best cell left, and with it those within `reach` cells. False when nothing colourful is left. */
bool find_places_take(struct find_places *places, int reach, int *column, int *row);

enum { FIND_PATCH_MIN = 8 /* pixels: smaller patches can't be measured */ };

/* -- find_hunt.c: one picture searched from blobs to cards ----------------------------------------------------------- */

/* Why nothing is found, in rising order of how much it tells. */
enum find_nearest { FIND_NOTHING, FIND_OTHER_CARD, FIND_CUT, FIND_MIRRORED, FIND_TOO_SMALL, FIND_FOUND };

struct find_hunt {
  const struct image *image;
  const struct image_blocks *blocks;
  const struct card_list *list;
  struct find_tone tone;
  struct find_layout layout[FIND_LAYOUTS];
  int layouts;
  enum find_nearest nearest;
  struct card_search *search;
};

bool find_hunt_picture(struct find_hunt *hunt, const struct find_picture *picture, struct error *error);

#endif
