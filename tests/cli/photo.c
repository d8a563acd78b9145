/* SPDX-License-Identifier: MIT */
#include "photo.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "card/reference.h"
#include "colour/srgb.h"
#include "image/write.h"

/* Pixels to a millimetre of the card, where the first patch begins, and the border round the patches. */
static const double SCALE = 2;
enum { CARD_LEFT = 182, CARD_TOP = 42, BORDER = 12 };

/* 10YR 3/3 and 10YR 6/6 */
static const struct lab LEFT = {30.66, 7.58, 18.04}, RIGHT = {61.57, 12.79, 37.93}, INK = {8, 0, 0};

const char PHOTO_REGIONS[] = "photo,region,context,moisture,shape,points\n"
                             "good.png,left,1042,moist,rectangle,300 500 150 100\n"
                             "good.png,right,1043,moist,rectangle,450 500 150 100\n"
                             "other.png,elsewhere,1044,,circle,100 100 40\n"
                             "other.png,beyond,1045,dry,circle,-50 -50 40\n";

/* A made-up camera: linear in XYZ, the curve of sRGB, and no colour of the card at an end of its scale. */
static void see(struct lab lab, uint8_t code[3])
{
  struct xyz c = colour_xyz_from_lab(lab, COLOUR_WHITE_D50);
  double linear[3] = {(1.2 * c.X - 0.2 * c.Y) / 100, (-0.3 * c.X + 1.2 * c.Y + 0.1 * c.Z) / 110, c.Z / 100};

  for (int k = 0; k < 3; k++) {
    code[k] = (uint8_t)lround(255 * colour_srgb_encode(linear[k]));
  }
}

static void fill(struct image *image, int left, int top, int width, int height, struct lab lab)
{
  uint8_t seen[3];

  see(lab, seen);

  for (int y = top; y < top + height; y++) {
    for (int x = left; x < left + width; x++) {
      uint8_t *code = (uint8_t *)image->codes + 3 * ((size_t)y * (size_t)image->width + (size_t)x);
      memcpy(code, seen, sizeof seen);
    }
  }
}

static void draw_card(struct image *image)
{
  struct card_list cards;
  struct error error;

  if (!card_list_open("chart24-1976", &cards, &error)) {
    fprintf(stderr, "%s\n", error.text);
    exit(99);
  }
  fill(image, CARD_LEFT - BORDER, CARD_TOP - BORDER, 535 + 2 * BORDER, 353 + 2 * BORDER, INK);
  for (size_t i = 0; i < cards.card[0].count; i++) {
    const struct card_patch *patch = &cards.card[0].patch[i];
    fill(image, CARD_LEFT + (int)(SCALE * (patch->x_mm - patch->width_mm / 2)),
         CARD_TOP + (int)(SCALE * (patch->y_mm - patch->height_mm / 2)), (int)(SCALE * patch->width_mm),
         (int)(SCALE * patch->height_mm), patch->lab_d50);
  }
  card_list_clear(&cards);
}

void photo_write(const char *path, bool with_card)
{
  struct image image = {.width = PHOTO_WIDTH, .height = PHOTO_HEIGHT, .bits = 8};
  struct error error;

  image.codes = malloc((size_t)3 * PHOTO_WIDTH * PHOTO_HEIGHT);
  if (!image.codes) {
    exit(99);
  }
  fill(&image, 0, 0, PHOTO_WIDTH / 2, PHOTO_HEIGHT, LEFT);
  fill(&image, PHOTO_WIDTH / 2, 0, PHOTO_WIDTH / 2, PHOTO_HEIGHT, RIGHT);
  if (with_card) {
    draw_card(&image);
  }
  if (!image_write(&image, path, &error)) {
    fprintf(stderr, "%s\n", error.text);
    exit(99);
  }
  image_clear(&image);
}

const char *photo_corners(void)
{
  static char words[120];
  struct card_list cards;
  struct error error;
  int length = 0;

  if (!card_list_open("chart24-1976", &cards, &error)) {
    exit(99);
  }
  for (int k = 0; k < 4; k++) {
    struct card_place place = cards.card[0].corner_place[k];
    length += snprintf(words + length, sizeof words - (size_t)length, "%s%.1f,%.1f", k ? " " : "'",
                       CARD_LEFT + SCALE * place.x_mm, CARD_TOP + SCALE * place.y_mm);
  }
  snprintf(words + length, sizeof words - (size_t)length, "'");
  card_list_clear(&cards);
  return words;
}
