/* SPDX-License-Identifier: MIT */
/* tawny edge: where one deposit ends and another begins. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "cli/commands.h"
#include "cli/outputs.h"
#include "cli/photos.h"
#include "cli/place.h"
#include "cli/terminal.h"
#include "region/file.h"
#include "report/edge.h"
#include "report/json.h"

enum { OPTION_LINE, OPTION_REGIONS, OPTION_CARD, OPTION_PATCHES, OPTION_JSON, OPTION_PICTURE };

static const struct option_entry OPTION[] = {
    [OPTION_LINE] = {"line", "\"x,y x,y\"",
                     "a line drawn across a boundary, by its two ends in pixels of the photo as shown"},
    [OPTION_REGIONS] =
        {"regions", "FILE",
         "in place of a line: outlines, as for `tawny read`; the boundary is looked for all around each"},
    [OPTION_CARD] = {"card", "NAME|FILE", "the card in the photo, as for `tawny read`"},
    [OPTION_PATCHES] =
        {"patches", "\"x,y x,y x,y x,y\"",
         "do not look for the card: the centres of its four corner patches, as for `tawny read`"},
    [OPTION_JSON] = {"json", NULL, "print one line of JSON"},
    [OPTION_PICTURE] =
        {"picture", "OUT.svg|png",
         "draw the colour along the line with the boundary, or the boundary beside each outline"},
    {0}};

static int read_edge(const struct words *words);

const struct command EDGE_COMMAND = {
    "edge",
    "PHOTO",
    "tells where a boundary between deposits lies, how thick it is and how much the colour changes",
    "Reads the colour along a line drawn across a boundary, or around outlines, and finds the change: its "
    "place and "
    "its thickness with their 95 % intervals, the class of the thickness by both field books, and the "
    "difference of the "
    "two sides. mm come from the card and hold in its plane. That no boundary is told apart is a result too; "
    "the exit "
    "status is then 0.",
    OPTION,
    read_edge};

/* All that is settled before the photo is opened. */
struct request {
  const struct words *words; /* borrowed */
  struct photo_names photos;
  struct card_list cards;
  struct region_list regions;
  struct measure_options options;
  struct edge_line line;
  bool json;
  const char *picture; /* NULL: none */
};

static int write_picture(const struct request *request, const struct measurement *m,
                         const struct edge_report *report)
{
  struct drawing drawing = {0};
  struct error error;

  if (!request->picture) {
    return 0;
  }
  if (report->line) {
    report_edge_picture(m, report->line, &drawing);
  } else {
    report_outline_picture(m, report->outline, report->outlines, &drawing);
  }
  bool done = drawing_write(&drawing, request->picture, &error);
  drawing_clear(&drawing);
  return done ? 0 : terminal_failure(request->picture, &error);
}

static int show_report(const struct request *request, const char *path, const struct measurement *m,
                       const struct edge_report *report, struct text *out)
{
  struct error error;

  if (!request->json) {
    report_edge(m, report, out);
  } else if (!report_edge_json(m, report, out, &error)) {
    return terminal_failure(path, &error);
  }
  return m->card_found ? write_picture(request, m, report) : 0;
}

/* A line that can't be read is a failure of the photo. */
static int fail_line(const struct request *request, const char *path, const struct error *failure,
                     struct text *out)
{
  struct error error;
  int status = terminal_failure(path, failure);

  if (request->json && !report_json_failure(path, failure, out, &error)) {
    status = terminal_graver(status, terminal_failure(path, &error));
  }
  return status;
}

static int show_line(const struct request *request, const char *path, const struct measurement *m,
                     struct text *out)
{
  struct edge edge;
  struct error error;

  if (!edge_measure(m, &request->line, &edge, &error)) {
    return fail_line(request, path, &error, out);
  }
  int status = show_report(request, path, m, &(struct edge_report){.line = &edge}, out);
  edge_clear(&edge);
  return status;
}

static bool belongs(const struct region *region, const struct measurement *m)
{
  return region->photo[0] == '\0' || strcmp(file_name(region->photo), m->file) == 0;
}

static int tell_outlines(const char *path, const struct edge_report *report)
{
  int status = 0;

  for (size_t i = 0; i < report->outlines; i++) {
    if (!report->outline[i].measured) {
      struct error error = report->outline[i].error;
      error_prefix(&error, report->outline[i].region->label);
      error_prefix(&error, path);
      status = terminal_graver(status, terminal_failure(NULL, &error));
    }
  }
  return status;
}

static bool measure_outlines(const struct request *request, const struct measurement *m,
                             struct edge_outline *outline, size_t *count, struct error *error)
{
  for (size_t i = 0; i < request->regions.count; i++) {
    const struct region *region = &request->regions.region[i];
    if (belongs(region, m)) {
      if (!edge_outline_measure(m, region, &outline[*count], error)) {
        return false;
      }
      (*count)++;
    }
  }
  return *count > 0 || error_set(error, ERROR_UNMEASURABLE, "no-region",
                                 "no region of %s is of this photo; correct its photo column",
                                 request->words->value[OPTION_REGIONS]);
}

static int show_outlines(const struct request *request, const char *path, const struct measurement *m,
                         struct text *out)
{
  struct edge_outline *outline = calloc(request->regions.count + 1, sizeof *outline);
  struct error error;
  size_t count = 0;
  int status;

  if (!outline) {
    error_no_memory(&error, "the outlines");
    return terminal_failure(path, &error);
  }
  if (measure_outlines(request, m, outline, &count, &error)) {
    struct edge_report report = {.outline = outline, .outlines = count};
    status = terminal_graver(show_report(request, path, m, &report, out), tell_outlines(path, &report));
  } else {
    status = fail_line(request, path, &error, out);
  }
  for (size_t i = 0; i < count; i++) {
    edge_outline_clear(&outline[i]);
  }
  free(outline);
  return status;
}

/* Without a card there is nothing to show but that: whoever called tells why. */
static int show(const char *path, const struct measurement *m, const void *context, struct text *out)
{
  const struct request *request = context;

  if (!m->card_found) {
    return show_report(request, path, m, &(struct edge_report){0}, out);
  }
  return request->words->value[OPTION_LINE] ? show_line(request, path, m, out)
                                            : show_outlines(request, path, m, out);
}

static bool open_course(struct request *request, struct error *error)
{
  const char *line = request->words->value[OPTION_LINE], *regions = request->words->value[OPTION_REGIONS];
  struct point end[2];

  if ((line != NULL) == (regions != NULL)) {
    return error_set(error, ERROR_USAGE, "course",
                     line ? "--line and --regions are both given; leave one of them out"
                          : "neither a line nor outlines are given; add --line \"x,y x,y\" across the "
                            "boundary, or --regions FILE");
  }
  if (regions) {
    return region_file_read(regions, &request->regions, error);
  }
  if (!place_parse(line, 2, end)) {
    return error_set(
        error, ERROR_USAGE, "line",
        "--line \"%.200s\" is not two places in pixels; write \"x,y x,y\", a point on either side of the "
        "boundary",
        line);
  }
  request->line = (struct edge_line){end[0], end[1]};
  return true;
}

static bool check_picture(const struct request *request, struct error *error)
{
  const char *const *value = request->words->value;
  struct inputs inputs = {&request->photos, value[OPTION_REGIONS], value[OPTION_CARD]};

  return !request->picture || (outputs_spare("picture", request->picture, &inputs, error) &&
                               drawing_check_ending(request->picture, error));
}

static bool prepare(const struct words *words, struct request *request, struct error *error)
{
  *request = (struct request){
      .words = words, .json = words->value[OPTION_JSON] != NULL, .picture = words->value[OPTION_PICTURE]};
  if (!photos_collect(words, stdin, &request->photos, error)) {
    return false;
  }
  if (request->photos.count > 1) {
    return error_set(error, ERROR_USAGE, "several-photos",
                     "a line is of one photo, and %zu are given; read them one by one",
                     request->photos.count);
  }
  return check_picture(request, error) && open_course(request, error) &&
         place_cards(words->value[OPTION_CARD], words->value[OPTION_PATCHES], &request->cards,
                     &request->options, error);
}

static int read_edge(const struct words *words)
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
  region_list_clear(&request.regions);
  card_list_clear(&request.cards);
  photos_clear(&request.photos);
  return status;
}
