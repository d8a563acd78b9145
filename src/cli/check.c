/* SPDX-License-Identifier: MIT */
/* tawny check: is a photo fit for measuring, and what to do about it. */
#include <stdio.h>

#include "card/reference.h"
#include "cli/commands.h"
#include "cli/photos.h"
#include "cli/terminal.h"
#include "report/json.h"
#include "report/sheet.h"

enum { OPTION_JSON };

static const struct option_entry OPTION[] = {
    [OPTION_JSON] = {"json", NULL, "print one line of JSON a photo, as `tawny read` does, with no readings"},
    {0}};

static int check_photos(const struct words *words);

const struct command CHECK_COMMAND = {
    "check",
    "PHOTO...",
    "tells whether photos are fit for measuring, and what to do about it while you are still there",
    "Finds the 24-patch chart and reads it; looks at its size and tilt, at clipping, glare and shadow on "
    "it, at how the light falls off over the frame, and at what the camera says it did. - in place of a "
    "photo takes names from standard input, one a line. The exit status is 0 when every photo is sound or "
    "doubtful, and 1 when one is unfit.",
    OPTION,
    check_photos};

static int show(const char *path, const struct measurement *measurement, const void *context,
                struct text *out)
{
  const bool *json = context;
  struct error error;

  if (!*json) {
    report_check(measurement, out);
  } else if (!report_json(measurement, NULL, 0, NULL, out, &error)) {
    return terminal_failure(path, &error);
  }
  return 0;
}

static const char NO_CARD[] =
    "no colour card found in the photo; show the whole card, flat, evenly lit and larger, and take another";

static int check_photos(const struct words *words)
{
  struct photo_names photos = {0};
  struct card_list cards = {0};
  struct error error;
  int status;
  bool json = words->value[OPTION_JSON] != NULL;

  if (photos_collect(words, stdin, &photos, &error) && card_list_open(CARD_DEFAULT, &cards, &error)) {
    struct measure_options options = {.cards = &cards};
    status = photos_measure(
        &photos, &(struct photo_use){
                     .options = &options, .json = json, .no_card = NO_CARD, .show = show, .context = &json});
  } else {
    status = terminal_failure(NULL, &error);
  }
  card_list_clear(&cards);
  photos_clear(&photos);
  return status;
}
