/* SPDX-License-Identifier: MIT */
/* edge_table EDGE.csv EDGE.jsonl SECTION.csv SECTION.jsonl
 *
 * Holds what `tawny edge --json` said, line by line, against the truth of the scenes; used by edge.sh. Exit status 1: a share is
 * below its target; 2: the files are not of the same photos. */
#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What is asked for: shares of the scenes. */
static const double FOUND_LEAST = 0.90, PLACE_LEAST = 0.95, CLASS_LEAST = 0.90, SILENT_LEAST = 0.95;

/* Pixels by which a place may be off whatever interval is stated. */
static const double PLACE_OFF = 2;

/* USDA's limits of thickness, mm; kept apart from the program's own table. */
static const double LIMIT_MM[] = {5, 20, 50, 150};
static const char *const CLASS[] = {"very abrupt", "abrupt", "clear", "gradual", "diffuse"};

enum { COLUMNS = 9, LINE_MOST = 1 << 20 };

struct counts {
  int scenes, failed, found, place, interval, stated, in_range, thick_interval, difference;
  double place_square;
};

/* A row of the truth: its photo, and numbers; NaN where there is none. */
struct truth {
  char photo[64];
  double value[COLUMNS];
};

static bool read_truth(FILE *file, struct truth *truth)
{
  char line[512];

  if (!fgets(line, sizeof line, file)) {
    return false;
  }
  snprintf(truth->photo, sizeof truth->photo, "%.*s", (int)strcspn(line, ",\n"), line);
  char *at = strchr(line, ',');
  for (int k = 0; k < COLUMNS; k++) {
    char *end;
    truth->value[k] = at ? strtod(at + 1, &end) : (double)NAN;
    truth->value[k] = at && end == at + 1 ? (double)NAN : truth->value[k];
    at = at ? strchr(at + 1, ',') : NULL;
  }
  return true;
}

static int class_of_mm(double mm)
{
  int class = 0;

  for (int i = 0; i < 4; i++) {
    class += mm >= LIMIT_MM[i];
  }
  return class;
}

/* -1: none of them. */
static int class_of_word(const json_t *word)
{
  for (int i = 0; json_is_string(word) && i < 5; i++) {
    if (strcmp(json_string_value(word), CLASS[i]) == 0) {
      return i;
    }
  }
  return -1;
}

static double number_at(const json_t *array, size_t index)
{
  return json_number_value(json_array_get(array, index));
}

static void score_place(const json_t *edge, double truth, struct counts *counts)
{
  const json_t *place = json_object_get(json_object_get(edge, "place"), "pixels");
  double off = number_at(place, 0) - truth;
  bool inside = number_at(place, 1) <= truth && truth <= number_at(place, 2);

  counts->interval += inside;
  counts->place += inside || fabs(off) <= PLACE_OFF;
  counts->place_square += off * off;
}

/* A thickness that is only known to be under a limit is right with every class up to that. */
static void score_thickness(const json_t *edge, double truth_mm, struct counts *counts)
{
  const json_t *class = json_object_get(edge, "class");
  const json_t *mm = json_object_get(json_object_get(edge, "thickness"), "mm");
  int truth = class_of_mm(truth_mm), stated = class_of_word(json_object_get(class, "usda"));
  bool at_most = json_is_true(json_object_get(edge, "at_most"));

  counts->stated += truth == stated || (at_most && truth < stated);
  counts->in_range += class_of_word(json_object_get(class, "usda_least")) <= truth &&
                      truth <= class_of_word(json_object_get(class, "usda_most"));
  counts->thick_interval += number_at(mm, 1) <= truth_mm && truth_mm <= number_at(mm, 2);
}

static void score_difference(const json_t *edge, double truth, struct counts *counts)
{
  const json_t *difference = json_object_get(edge, "difference");
  double de00 = json_number_value(json_object_get(difference, "de00"));

  counts->difference += fabs(de00 - truth) <= json_number_value(json_object_get(difference, "uncertainty"));
}

static void score(const json_t *photo, const double truth[COLUMNS], struct counts *counts)
{
  const json_t *edge = json_array_get(json_object_get(photo, "edges"), 0);

  counts->scenes++;
  if (!edge) {
    const json_t *why = json_object_get(json_object_get(photo, "error"), "code");
    printf("  not measured: %s\n", json_is_string(why) ? json_string_value(why) : "no answer");
    counts->failed++;
    return;
  }
  if (json_is_true(json_object_get(edge, "found"))) {
    counts->found++;
    score_place(edge, truth[4], counts);
    score_thickness(edge, truth[7], counts);
    score_difference(edge, truth[8], counts);
  }
}

/* A run that wrote no line would move all later ones to another scene's truth. */
static bool is_of(const json_t *photo, const char *name)
{
  const char *file = json_string_value(json_object_get(json_object_get(photo, "photo"), "file"));
  const char *slash = file ? strrchr(file, '/') : NULL;

  return file && strcmp(slash ? slash + 1 : file, name) == 0;
}

/* The next line of what was read, if it is of the photo. NULL after a message otherwise. */
static json_t *read_photo(FILE *reads, const char *path, const char *name, char *line)
{
  json_t *photo = fgets(line, LINE_MOST, reads) ? json_loads(line, 0, NULL) : NULL;

  if (!is_of(photo, name)) {
    fprintf(stderr,
            "edge_table: %s has no line about %s where the truth has it; see why that run wrote none\n", path,
            name);
    json_decref(photo);
    return NULL;
  }
  return photo;
}

static FILE *open_or_tell(const char *path)
{
  FILE *file = fopen(path, "r");

  if (!file) {
    fprintf(stderr, "edge_table: %s can't be opened\n", path);
  }
  return file;
}

static bool score_all(const char *truth_path, const char *read_path, struct counts *counts)
{
  FILE *truths = open_or_tell(truth_path), *reads = open_or_tell(read_path);
  char *line = malloc(LINE_MOST);
  struct truth truth;
  bool good = truths && reads && line;

  while (good && read_truth(truths, &truth)) {
    json_t *photo = read_photo(reads, read_path, truth.photo, line);
    good = photo != NULL;
    if (good) {
      score(photo, truth.value, counts);
    }
    json_decref(photo);
  }
  if (truths) {
    fclose(truths);
  }
  if (reads) {
    fclose(reads);
  }
  free(line);
  return good;
}

/* A row, and whether it reaches its target (0: none); of nothing, none is reached. */
static bool tell(const char *what, int count, int of, double target)
{
  printf("  %-72s %4d of %4d  %5.1f %%", what, count, of, 100.0 * count / (of ? of : 1));
  if (target > 0) {
    printf("  (target %.0f)", 100 * target);
  }
  printf("\n");
  return target == 0 || (of > 0 && count >= target * of);
}

static bool tell_edges(const struct counts *edge)
{
  bool found = tell("boundary told apart", edge->found, edge->scenes, FOUND_LEAST);
  bool place = tell("place within 2 pixels or the stated interval", edge->place, edge->found, PLACE_LEAST);

  tell("place within the stated interval", edge->interval, edge->found, 0);
  printf("  %-72s %.2f pixels\n", "place, root mean square error",
         sqrt(edge->place_square / (edge->found ? edge->found : 1)));
  tell("class of the thickness itself right (\"at most\": not thicker)", edge->stated, edge->found, 0);
  bool class = tell("true class among those named", edge->in_range, edge->found, CLASS_LEAST);
  tell("thickness within the stated interval", edge->thick_interval, edge->found, 0);
  tell("difference within its stated 95 %", edge->difference, edge->found, 0);
  return found && place && class;
}

int main(int argc, char **argv)
{
  struct counts edge = {0}, section = {0};

  if (argc != 5) {
    fprintf(stderr, "usage: edge_table EDGE.csv EDGE.jsonl SECTION.csv SECTION.jsonl\n");
    return 2;
  }
  if (!score_all(argv[1], argv[2], &edge) || !score_all(argv[3], argv[4], &section)) {
    return 2;
  }
  bool edges = tell_edges(&edge);
  bool silent = tell("one deposit: no boundary", section.scenes - section.found - section.failed,
                     section.scenes, SILENT_LEAST);
  return edges && silent ? 0 : 1;
}
