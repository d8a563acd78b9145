/* SPDX-License-Identifier: MIT */
#include "photos.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/text.h"

enum { LINE_BYTES = 1024, FIELDS = 16 /* the last are the notes, commas and all */ };

const char *const photo_difficulty_word[PHOTO_DIFFICULTIES] = {"easy", "medium", "hard", "other", "none"};

static void truth_parse(char *line, struct photo_truth *truth)
{
  char *field[FIELDS] = {0};
  int count = 0;

  for (char *at = line; count < FIELDS && at != NULL; count++)
    field[count] = count < FIELDS - 1 ? strsep(&at, ",") : at;
  *truth = (struct photo_truth){.difficulty = PHOTO_NONE};
  if (count < FIELDS - 1)
    return;
  snprintf(truth->id, sizeof truth->id, "%s", field[0]);
  truth->has_card = true;
  for (int k = 0; k < 8; k++) {
    truth->has_card = text_number(field[6 + k], &truth->corner[k / 2][k % 2]) && truth->has_card;
    truth->corner[k / 2][k % 2] += 0.5;
  }
  for (int i = 0; i < PHOTO_DIFFICULTIES; i++)
    if (strcmp(field[14], photo_difficulty_word[i]) == 0)
      truth->difficulty = (enum photo_difficulty)i;
  truth->part_of_card = field[15] != NULL && strncmp(field[15], "partial", 7) == 0;
}

int photo_truths_read(const char *folder, struct photo_truth *truth, int room)
{
  char line[LINE_BYTES];
  struct text path = {0};
  FILE *file;
  int count = 0;

  text_format(&path, "%s/truth.csv", folder);
  file = path.failed ? NULL : fopen(path.data, "r");
  text_clear(&path);
  if (file == NULL)
    return 0;
  if (fgets(line, sizeof line, file) != NULL)
    while (count < room && fgets(line, sizeof line, file) != NULL)
      truth_parse(line, &truth[count++]);
  fclose(file);
  return count;
}

bool photo_open(const char *folder, const char *id, struct image *image, struct error *error)
{
  static const char *const ending[] = {"jpg", "png"};
  struct file_bytes file = {0};
  bool done = false;

  for (int i = 0; i < 2 && file.data == NULL; i++) {
    struct text path = {0};

    text_format(&path, "%s/%s.%s", folder, id, ending[i]);
    if (path.failed || !file_read(path.data, IMAGE_FILE_MAX, &file, error))
      file = (struct file_bytes){0};
    text_clear(&path);
  }
  done = file.data != NULL && image_decode(&file, id, image, error);
  file_bytes_clear(&file);
  return done;
}

double photo_spacing(const struct photo_truth *truth)
{
  const double(*c)[2] = truth->corner;

  return fmin(hypot(c[1][0] - c[0][0], c[1][1] - c[0][1]) / 5,
              hypot(c[3][0] - c[0][0], c[3][1] - c[0][1]) / 3);
}
