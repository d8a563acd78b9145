/* SPDX-License-Identifier: MIT */
/* Real photos whose card places are known: a folder with truth.csv (id, repository, path, commit, width, height, x and y of
 * patches 1, 6, 24, 19 counted from pixel centres, difficulty, notes). */
#ifndef TAWNY_SUPPORT_PHOTOS_H
#define TAWNY_SUPPORT_PHOTOS_H

#include "image/image.h"

enum photo_difficulty { PHOTO_EASY, PHOTO_MEDIUM, PHOTO_HARD, PHOTO_OTHER, PHOTO_NONE, PHOTO_DIFFICULTIES };
extern const char *const photo_difficulty_word[PHOTO_DIFFICULTIES];

struct photo_truth {
  char id[64];
  enum photo_difficulty difficulty;
  bool has_card;       /* the four places are known                         */
  bool part_of_card;   /* a known card in part, by the notes' first word    */
  double corner[4][2]; /* x, y from the outer corner of the top-left pixel  */
};

/* Rows of the folder's truth.csv, at most `room`; 0 where there is none. */
int photo_truths_read(const char *folder, struct photo_truth *truth, int room);

/* Decodes ID.jpg or ID.png. */
bool photo_open(const char *folder, const char *id, struct image *image, struct error *error);

/* Pixels between neighbouring patches of the 6 x 4 chart, in the direction in which there are fewer. */
double photo_spacing(const struct photo_truth *truth);

#endif
