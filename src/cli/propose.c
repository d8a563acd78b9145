/* SPDX-License-Identifier: MIT */
/* tawny propose: a face divided into deposits by colour, to correct and name. */
#include <stdio.h>

#include "base/file.h"
#include "cli/commands.h"
#include "cli/outputs.h"
#include "cli/photos.h"
#include "cli/place.h"
#include "cli/terminal.h"
#include "report/proposal.h"

enum { OPTION_OUTLINES, OPTION_OVERLAY, OPTION_CARD, OPTION_PATCHES, OPTION_JSON };

static const struct option_entry OPTION[] = {
    [OPTION_OUTLINES] =
        {"outlines", "OUT.json",
         "write the outlines as a W3C Web Annotation page, to correct and name, which --regions "
         "of `tawny read` reads (one photo)"},
    [OPTION_OVERLAY] =
        {"overlay", "OUT.png",
         "write the photo with the outlines drawn on it, and boundaries that the eye may miss dotted, "
         "with their difference (one photo)"},
    [OPTION_CARD] = {"card", "NAME|FILE", "the card in the photo, as for `tawny read`"},
    [OPTION_PATCHES] =
        {"patches", "\"x,y x,y x,y x,y\"",
         "do not look for the card: the centres of its four corner patches, as for `tawny read`"},
    [OPTION_JSON] = {"json", NULL, "print one line of JSON a photo"},
    {0}};

static int propose(const struct words *words);

const struct command PROPOSE_COMMAND = {
    "propose",
    "PHOTO...",
    "divides a face into deposits by colour, for you to correct and name",
    "Neighbours are joined while the photo does not tell them apart; the card, things of no soil colour, "
    "smooth "
    "things with straight sides, and what is thin or small are left out. Colour is not context: what is "
    "proposed is "
    "a start, not a finding. That nothing can be proposed is a result too; the exit status is then 0.",
    OPTION,
    propose};

struct request {
  struct photo_names photos;
  struct card_list cards;
  struct measure_options options;
  struct outputs outputs;
  bool json;
};

static int show(const char *path, const struct measurement *measurement, const void *context,
                struct text *out)
{
  const struct request *request = context;
  struct error error;
  int status = 0;

  if (!request->json) {
    report_proposal(measurement, out);
  } else if (!report_proposal_json(measurement, out, &error)) {
    status = terminal_failure(path, &error);
  }
  if (measurement->card_found) {
    status = terminal_graver(status, outputs_write(&request->outputs, measurement));
  }
  return status;
}

static bool prepare(const struct words *words, struct request *request, struct error *error)
{
  *request = (struct request){.json = words->value[OPTION_JSON] != NULL, .options.propose = true};
  request->outputs =
      (struct outputs){.outlines = words->value[OPTION_OUTLINES], .overlay = words->value[OPTION_OVERLAY]};
  struct inputs inputs = {.photos = &request->photos, .card = words->value[OPTION_CARD]};
  return photos_collect(words, stdin, &request->photos, error) &&
         outputs_check(&request->outputs, &inputs, error) &&
         place_cards(words->value[OPTION_CARD], words->value[OPTION_PATCHES], &request->cards,
                     &request->options, error);
}

static int propose(const struct words *words)
{
  struct request request;
  struct error error;
  int status;

  if (prepare(words, &request, &error)) {
    status = photos_measure(&request.photos, &(struct photo_use){.options = &request.options,
                                                                 .json = request.json,
                                                                 .show = show,
                                                                 .context = &request});
  } else {
    status = terminal_failure(NULL, &error);
  }
  card_list_clear(&request.cards);
  photos_clear(&request.photos);
  return status;
}
