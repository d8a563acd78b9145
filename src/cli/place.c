/* SPDX-License-Identifier: MIT */
#include "cli/place.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "cli/photos.h"

/* Pixels: far beyond any photo. */
static const double PLACE_MAX = 1e6;

bool place_parse(const char *text, size_t count, struct point *place)
{
  size_t numbers = 0;

  for (const char *at = text + strspn(text, " ,\t"); *at; at += strspn(at, " ,\t")) {
    size_t length = strcspn(at, " ,\t");
    double number;
    if (numbers == 2 * count || !text_number_bytes(at, length, &number) || fabs(number) >= PLACE_MAX) {
      return false;
    }
    *(numbers % 2 ? &place[numbers / 2].y : &place[numbers / 2].x) = number;
    numbers++;
    at += length;
  }
  return numbers == 2 * count;
}

bool place_cards(const char *card, const char *patches, struct card_list *cards,
                 struct measure_options *options, struct error *error)
{
  struct card_pose pose;

  if (!card_list_open(card ? card : CARD_DEFAULT, cards, error)) {
    return false;
  }
  options->cards = cards;
  options->corners_given = patches != NULL;
  if (!patches) {
    return true;
  }
  if (!place_parse(patches, 4, options->corner)) {
    return error_set(error, ERROR_USAGE, "patches",
                     "--patches \"%.200s\" is not four places in pixels; write \"x,y x,y x,y x,y\"", patches);
  }
  return card_pose_from_corners(&cards->card[0], options->corner, &pose, error);
}
