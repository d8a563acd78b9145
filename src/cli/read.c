/* SPDX-License-Identifier: MIT */
/* tawny read: the colour of regions of photos. */
#include <stdio.h>
#include <stdlib.h>

#include "cli/commands.h"
#include "cli/outputs.h"
#include "cli/photos.h"
#include "cli/setting.h"
#include "cli/terminal.h"
#include "report/json.h"
#include "report/sheet.h"

enum {
  OPTION_REGIONS,
  OPTION_CARD,
  OPTION_PATCHES,
  OPTION_JSON,
  OPTION_ICC,
  OPTION_CORRECTED,
  OPTION_OVERLAY,
  OPTION_EXPLAIN
};

static const struct option_entry OPTION[] = {
    [OPTION_REGIONS] =
        {"regions", "FILE",
         "the outlines of the deposits or sherds: comma-separated values, or a W3C Web Annotation in JSON; "
         "without it deposits are proposed by colour and read"},
    [OPTION_CARD] =
        {"card", "NAME|FILE",
         "the card in the photo, by name or by a CGATS.17 file; chart24, the 24-patch chart, if not given"},
    [OPTION_PATCHES] =
        {"patches", "\"x,y x,y x,y x,y\"",
         "do not look for the card: these are the centres of its four corner patches in the order of the "
         "card's file (24-patch chart: dark skin, bluish green, black, white)"},
    [OPTION_JSON] = {"json", NULL, "print one line of JSON a photo"},
    [OPTION_ICC] = {"icc", "OUT.icc", "write the camera and its tone curve as an ICC profile (one photo)"},
    [OPTION_CORRECTED] = {"corrected", "OUT.jpg|png",
                          "write the photo with its light evened and that profile embedded (one photo)"},
    [OPTION_OVERLAY] = {"overlay", "OUT.png",
                        "write the photo with the card, its patches and the outlines with their chips drawn "
                        "on it (one photo)"},
    [OPTION_EXPLAIN] =
        {"explain", NULL,
         "say of each reading what limits it, in words and numbers, and what would make it better"},
    {0}};

static int read_photos(const struct words *words);

const struct command READ_COMMAND = {"read",
                                     "PHOTO...",
                                     "measures the colour of regions of photos that show a colour card",
                                     "The first lines are what goes on the context sheet, ready to copy; "
                                     "figures, the card, causes of doubt and a verdict "
                                     "follow. - in place of a photo takes names from standard input, one a "
                                     "line. The exit status is 0 when all was "
                                     "measured, 1 when a photo or a region can't be, 2 for wrong words, 3 "
                                     "when a file can't be read or written.",
                                     OPTION,
                                     read_photos};

/* All that is settled before the first photo is opened. */
struct request {
  const struct words *words; /* borrowed */
  struct photo_names photos;
  struct setting setting;
  struct outputs outputs;
  bool json;
  struct sheet_style style;
};

/* No failure: other photos of the same region file may be the ones that matter. */
static void note_no_region(const char *path, const char *regions)
{
  struct error note;

  error_set(&note, ERROR_NONE, "no-region",
            "no region of %s is of this photo; if one should be, correct its photo column", regions);
  terminal_failure(path, &note);
}

static int show(const char *path, const struct measurement *measurement, const void *context,
                struct text *out)
{
  const struct request *request = context;
  struct comparison *comparison = NULL;
  struct mottle_list mottles = {0};
  size_t comparisons = 0;
  struct error error;
  bool done = compare_measurement(measurement, &comparison, &comparisons, &error) &&
              mottles_find(measurement, &mottles, &error);

  if (done && request->json) {
    done = report_json(measurement, comparison, comparisons, &mottles, out, &error);
  } else if (done) {
    report_sheet(measurement, comparison, comparisons, &mottles, request->style, out);
  }
  if (done && measurement->card_found && request->setting.options.regions && measurement->readings == 0) {
    note_no_region(path, request->words->value[OPTION_REGIONS]);
  }
  int status = done ? 0 : terminal_failure(path, &error);
  if (measurement->card_found) {
    status = terminal_graver(status, outputs_write(&request->outputs, measurement));
  }
  mottle_list_clear(&mottles);
  free(comparison);
  return status;
}

static bool prepare(const struct words *words, struct request *request, struct error *error)
{
  *request = (struct request){.words = words, .json = words->value[OPTION_JSON] != NULL};
  request->style = (struct sheet_style){.colour = terminal_shows_colour(),
                                        .explain = words->value[OPTION_EXPLAIN] != NULL};
  request->outputs = (struct outputs){.icc = words->value[OPTION_ICC],
                                      .corrected = words->value[OPTION_CORRECTED],
                                      .overlay = words->value[OPTION_OVERLAY]};
  if (request->json && request->style.explain) {
    return error_set(error, ERROR_USAGE, "options",
                     "--explain is text for people and --json for programs; leave one of them out");
  }
  struct inputs inputs = {&request->photos, words->value[OPTION_REGIONS], words->value[OPTION_CARD]};
  if (!photos_collect(words, stdin, &request->photos, error) ||
      !outputs_check(&request->outputs, &inputs, error) ||
      !setting_open(&request->setting, words->value[OPTION_REGIONS], words->value[OPTION_CARD],
                    words->value[OPTION_PATCHES], request->photos.count, error)) {
    return false;
  }
  request->setting.options.propose = !words->value[OPTION_REGIONS];
  return true;
}

static int read_photos(const struct words *words)
{
  struct request request;
  struct error error;
  int status;

  if (prepare(words, &request, &error)) {
    status = photos_measure(&request.photos, &(struct photo_use){.options = &request.setting.options,
                                                                 .json = request.json,
                                                                 .show = show,
                                                                 .context = &request});
  } else {
    status = terminal_failure(NULL, &error);
  }
  setting_clear(&request.setting);
  photos_clear(&request.photos);
  return status;
}
