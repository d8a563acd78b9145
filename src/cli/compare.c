/* SPDX-License-Identifier: MIT */
/* tawny compare: how readings differ, of photos or of saved files. */
#include <stdio.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/outputs.h"
#include "cli/photos.h"
#include "cli/setting.h"
#include "cli/terminal.h"
#include "compare/saved.h"
#include "report/compared.h"

/* Pairs listed in full in JSON; the shorter lists of the text are report's. */
enum { PAIRS_MOST = 4950, CONTRASTS_MOST = 500 };

enum {
  OPTION_REGIONS,
  OPTION_CARD,
  OPTION_PATCHES,
  OPTION_PAIRS,
  OPTION_ESTIMATE_DRY,
  OPTION_JSON,
  OPTION_PICTURE
};

static const struct option_entry OPTION[] = {
    [OPTION_REGIONS] = {"regions", "FILE",
                        "the outlines of the deposits or sherds in the photos, as for `tawny read`"},
    [OPTION_CARD] = {"card", "NAME|FILE", "the card in the photos, as for `tawny read`"},
    [OPTION_PATCHES] = {"patches", "\"x,y x,y x,y x,y\"",
                        "the centres of the card's four corner patches, as for `tawny read`"},
    [OPTION_PAIRS] = {"pairs", "\"A:B C:D\"",
                      "tell these pairs in words, by context or by region, in place of those that touch"},
    [OPTION_ESTIMATE_DRY] = {"estimate-dry", NULL,
                             "add an estimate of the dry value of deposits that were read moist only"},
    [OPTION_JSON] = {"json", NULL, "print one line of JSON"},
    [OPTION_PICTURE] = {"picture", "OUT.svg|png", "draw the differences of all pairs"},
    {0}};

static int compare_files(const struct words *words);

const struct command COMPARE_COMMAND = {
    "compare",
    "FILE...",
    "tells how readings differ: which deposits are told apart, and whether wetting the face helps",
    "A FILE is a photo, or readings that `tawny read --json` saved; which it is shows in its contents. Pairs "
    "that touch "
    "are compared along their common boundary where the photo is at hand. The first lines go on the sheet; "
    "differences, "
    "spread within deposits and between them, states of moisture and derived quantities follow.",
    OPTION,
    compare_files};

struct request {
  struct photo_names files;
  struct setting setting;
  struct collection collection;
  struct compared_style style;
  const char *pairs, *picture;
  bool json;
};

static bool check_picture(const struct words *words, const struct photo_names *files, struct error *error)
{
  const char *path = words->value[OPTION_PICTURE];
  struct inputs inputs = {files, words->value[OPTION_REGIONS], words->value[OPTION_CARD]};

  return !path || (outputs_spare("picture", path, &inputs, error) && drawing_check_ending(path, error));
}

/* Called while a photo's measurement is at hand; nothing is shown of each photo alone. */
static int collect(const char *path, const struct measurement *measurement, const void *context,
                   struct text *out)
{
  struct request *const *request = context;
  struct error error;

  (void)out;
  if (measurement->card_found && measurement->readings == 0) {
    error_set(&error, ERROR_UNMEASURABLE, "no-region",
              "no region of this photo is given; outline its deposits in a file and name it with --regions");
    return terminal_failure(path, &error);
  }
  return collection_add_photo(&(*request)->collection, measurement, &error) ? 0
                                                                            : terminal_failure(path, &error);
}

static int collect_photo(struct request *request, char *path)
{
  struct photo_names one = {&path, 1};

  return photos_measure(
      &one, &(struct photo_use){.options = &request->setting.options, .show = collect, .context = &request});
}

/* What begins as plain text is no picture in any format. */
static bool is_text(const struct file_bytes *bytes)
{
  for (size_t i = 0; i < bytes->size && i < 64; i++) {
    if (bytes->data[i] < 0x20 ? !strchr("\t\r\n", bytes->data[i]) || !bytes->data[i]
                              : bytes->data[i] == 0x7f) {
      return false;
    }
  }
  return memcmp(bytes->data, "%PDF", bytes->size < 4 ? bytes->size : 4) != 0;
}

static int collect_saved(struct request *request, const char *path, const struct file_bytes *bytes)
{
  struct error error;

  if (!saved_looks_so(bytes)) {
    error_set(&error, ERROR_FILE, "format",
              "%s is neither a photo nor readings that `tawny read --json` saved; give one of these", path);
    return terminal_failure(path, &error);
  }
  return saved_read(path, bytes, &request->collection, &error) ? 0 : terminal_failure(path, &error);
}

/* Saved readings are told from photos by their first bytes. */
static int collect_file(struct request *request, char *path)
{
  struct file_bytes bytes;
  struct error error;

  if (!file_read(path, SAVED_FILE_LIMIT, &bytes, &error)) {
    return terminal_failure(path, &error);
  }
  bool text = is_text(&bytes);
  int status = text ? collect_saved(request, path, &bytes) : 0;
  file_bytes_clear(&bytes);
  return text ? status : collect_photo(request, path);
}

static int write_picture(const struct findings *findings, const char *path)
{
  struct drawing drawing;
  struct error error;
  int status = 0;

  if (!path) {
    return 0;
  }
  if (!report_compared_picture(findings, &drawing, &error) || !drawing_write(&drawing, path, &error)) {
    status = terminal_failure(path, &error);
  }
  drawing_clear(&drawing);
  return status;
}

static int show(const struct request *request)
{
  struct findings_wanted wanted = {request->pairs, PAIRS_MOST, CONTRASTS_MOST};
  struct findings findings;
  struct text out = {0};
  struct error error;

  if (!findings_make(&request->collection, &wanted, &findings, &error)) {
    return terminal_failure(NULL, &error);
  }
  bool done = true;
  if (request->json) {
    done = report_compared_json(&findings, request->style, &out, &error);
  } else {
    report_compared(&findings, request->style, &out);
  }
  int status = done && terminal_put(&out, &error) ? 0 : terminal_failure(NULL, &error);
  status = terminal_graver(status, write_picture(&findings, request->picture));
  text_clear(&out);
  findings_clear(&findings);
  return status;
}

static bool prepare(const struct words *words, struct request *request, struct error *error)
{
  *request = (struct request){.json = words->value[OPTION_JSON] != NULL,
                              .style = {.estimate_dry = words->value[OPTION_ESTIMATE_DRY] != NULL},
                              .pairs = words->value[OPTION_PAIRS],
                              .picture = words->value[OPTION_PICTURE]};
  if (words->operands == 0) {
    return error_set(
        error, ERROR_USAGE, "no-photo",
        "no photo and no saved readings are named; give one or more of either, or - for a list of "
        "them on standard input");
  }
  return photos_collect(words, stdin, &request->files, error) &&
         check_picture(words, &request->files, error) &&
         setting_open(&request->setting, words->value[OPTION_REGIONS], words->value[OPTION_CARD],
                      words->value[OPTION_PATCHES], request->files.count, error);
}

static int compare_files(const struct words *words)
{
  struct request request;
  struct error error;
  int status = 0;

  if (!prepare(words, &request, &error)) {
    status = terminal_failure(NULL, &error);
  } else {
    for (size_t i = 0; i < request.files.count; i++) {
      status = terminal_graver(status, collect_file(&request, request.files.name[i]));
    }
    /* With all of them failed, that has been told; one line more would not help. */
    if (status == 0 || request.collection.count > 0) {
      status = terminal_graver(status, show(&request));
    }
  }
  collection_clear(&request.collection);
  setting_clear(&request.setting);
  photos_clear(&request.files);
  return status;
}
