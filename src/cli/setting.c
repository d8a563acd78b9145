/* SPDX-License-Identifier: MIT */
#include "cli/setting.h"

#include "cli/place.h"
#include "region/file.h"

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

bool setting_open(struct setting *setting, const char *regions, const char *card, const char *patches,
                  size_t photos, struct error *error)
{
  *setting = (struct setting){0};
  return place_cards(card, patches, &setting->cards, &setting->options, error) &&
         open_regions(setting, regions, photos, error);
}

void setting_clear(struct setting *setting)
{
  region_list_clear(&setting->regions);
  card_list_clear(&setting->cards);
  *setting = (struct setting){0};
}
