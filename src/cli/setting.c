/* SPDX-License-Identifier: MIT */
#include "cli/setting.h"

#include <math.h>
#include <string.h>

#include "base/text.h"
#include "cli/photos.h"
#include "region/file.h"

/* Pixels: far beyond any photo. */
static const double CORNER_MAX = 1e6;

/* With several photos an outline that names none of them belongs nowhere. */
static bool check_region_photos(const struct setting *setting, const char *path, size_t photos,
                                struct error *error)
{
  for (size_t i = 0; photos > 1 && i < setting->regions.count; i++) {
    if (!setting->regions.region[i].photo[0]) {
      return error_set(error, ERROR_FILE, "bad-regions",
                       "%s: region %s names no photo; with several photos each region needs the photo column",
                       path, setting->regions.region[i].label);
    }
  }
  return true;
}

static bool open_regions(struct setting *setting, const char *path, size_t photos, struct error *error)
{
  if (!path) {
    return true;
  }
  setting->options.regions = &setting->regions;
  return region_file_read(path, &setting->regions, error) &&
         check_region_photos(setting, path, photos, error);
}

/* "x,y x,y x,y x,y": eight numbers, parted by blanks or commas. */
static bool parse_corners(const char *patches, struct point corner[4], struct error *error)
{
  double number[8];
  size_t count = 0;
  bool good = true;

  for (const char *at = patches + strspn(patches, " ,\t"); good && *at; at += strspn(at, " ,\t")) {
    size_t length = strcspn(at, " ,\t");
    good = count < 8 && text_number_bytes(at, length, &number[count]) && fabs(number[count]) < CORNER_MAX;
    count++;
    at += length;
  }
  if (!good || count != 8) {
    return error_set(error, ERROR_USAGE, "patches",
                     "--patches \"%.200s\" is not four places in pixels; write \"x,y x,y x,y x,y\"", patches);
  }
  for (int k = 0; k < 4; k++) {
    corner[k] = (struct point){number[2 * k], number[2 * k + 1]};
  }
  return true;
}

static bool open_cards(struct setting *setting, const char *card, const char *patches, struct error *error)
{
  struct card_pose pose;

  if (!card_list_open(card ? card : CARD_DEFAULT, &setting->cards, error)) {
    return false;
  }
  setting->options.cards = &setting->cards;
  setting->options.corners_given = patches != NULL;
  return !patches || (parse_corners(patches, setting->options.corner, error) &&
                      card_pose_from_corners(&setting->cards.card[0], setting->options.corner, &pose, error));
}

bool setting_open(struct setting *setting, const char *regions, const char *card, const char *patches,
                  size_t photos, struct error *error)
{
  *setting = (struct setting){0};
  return open_cards(setting, card, patches, error) && open_regions(setting, regions, photos, error);
}

void setting_clear(struct setting *setting)
{
  region_list_clear(&setting->regions);
  card_list_clear(&setting->cards);
  *setting = (struct setting){0};
}
