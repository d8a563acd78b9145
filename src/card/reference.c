/* SPDX-License-Identifier: MIT */
#include "card/reference.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

#include "base/file.h"
#include "base/text.h"
#include "card/builtin.h"
#include "card/cgats.h"
#include "card/colours.h"

enum { POSITION_MAX_MM = 10000 };

static const char *const PLACE_COLUMN[4] = {"X_MM", "Y_MM", "WIDTH_MM", "HEIGHT_MM"};

static bool check_columns(const struct cgats *cgats, struct error *error)
{
  static const char *const known[] = {"SAMPLE_ID", "SAMPLE_NAME", "TOLERANCE_DE00"};

  for (size_t i = 0; i < cgats->columns; i++) {
    const struct cgats_word *name = &cgats->column[i];
    bool taken = card_colours_column(name);
    for (size_t k = 0; k < 4; k++) {
      taken = taken || cgats_word_is(name, PLACE_COLUMN[k]) || (k < 3 && cgats_word_is(name, known[k]));
    }
    if (!taken) {
      return error_set(error, ERROR_FILE, "bad-card",
                       "line %d: column %.*s is not known; take it out or correct its name", name->line,
                       (int)name->length, name->start);
    }
  }
  for (size_t k = 0; k < 5; k++) {
    const char *name = k < 4 ? PLACE_COLUMN[k] : "SAMPLE_ID";
    if (cgats_column(cgats, name) < 0) {
      return error_set(error, ERROR_FILE, "bad-card", "column %s is missing; add it to the data format",
                       name);
    }
  }
  return true;
}

/* Copies a word; too long is a fault, not a cut. */
static bool copy_word(const struct cgats_word *word, const char *what, char *to, size_t size,
                      struct error *error)
{
  if (word->length == 0 || word->length >= size) {
    return error_set(error, ERROR_FILE, "bad-card", "line %d: %s must be 1 to %zu characters long",
                     word->line, what, size - 1);
  }
  memcpy(to, word->start, word->length);
  to[word->length] = '\0';
  return true;
}

static bool read_keyword(const struct cgats *cgats, const char *name, char *to, size_t size,
                         struct error *error)
{
  struct cgats_word value;

  if (cgats_keyword_value(cgats, name, 1, &value)) {
    return error_set(error, ERROR_FILE, "bad-card", "line %d: %s is given twice; leave one", value.line,
                     name);
  }
  if (!cgats_keyword_value(cgats, name, 0, &value)) {
    return error_set(error, ERROR_FILE, "bad-card", "%s is missing; add it before BEGIN_DATA", name);
  }
  return copy_word(&value, name, to, size, error);
}

static bool read_surface(const struct cgats *cgats, bool *matt, struct error *error)
{
  char word[16];

  if (!read_keyword(cgats, "CARD_SURFACE", word, sizeof word, error)) {
    return false;
  }
  *matt = strcmp(word, "matt") == 0;
  return *matt || strcmp(word, "glossy") == 0 ||
         error_set(error, ERROR_FILE, "bad-card", "CARD_SURFACE is \"%s\"; it must be matt or glossy", word);
}

/* May be left out: sizes are true. */
static bool read_scale(const struct cgats *cgats, bool *sized, struct error *error)
{
  struct cgats_word value;
  char word[16] = "true";

  if (cgats_keyword_value(cgats, "CARD_SCALE", 0, &value) &&
      !read_keyword(cgats, "CARD_SCALE", word, sizeof word, error)) {
    return false;
  }
  *sized = strcmp(word, "true") == 0;
  return *sized || strcmp(word, "none") == 0 ||
         error_set(error, ERROR_FILE, "bad-card",
                   "CARD_SCALE is \"%s\"; it must be true, or none where the sizes give proportions only",
                   word);
}

static bool read_place(const struct cgats *cgats, size_t row, struct card_patch *patch, struct error *error)
{
  double value[4];

  for (size_t k = 0; k < 4; k++) {
    size_t column = (size_t)cgats_column(cgats, PLACE_COLUMN[k]);
    if (!cgats_number(cgats, row, column, &value[k], error)) {
      return false;
    }
    if (fabs(value[k]) > POSITION_MAX_MM || (k >= 2 && value[k] <= 0)) {
      return error_set(error, ERROR_FILE, "bad-card",
                       "line %d, row %zu, column %s: %g mm can't be; correct it",
                       cgats_cell(cgats, row, column)->line, row + 1, PLACE_COLUMN[k], value[k]);
    }
  }
  patch->x_mm = value[0];
  patch->y_mm = value[1];
  patch->width_mm = value[2];
  patch->height_mm = value[3];
  return true;
}

static bool read_tolerance(const struct cgats *cgats, size_t row, double *tolerance, struct error *error)
{
  int column = cgats_column(cgats, "TOLERANCE_DE00");

  *tolerance = CARD_TOLERANCE_DEFAULT;
  if (column < 0) {
    return true;
  }
  if (!cgats_number(cgats, row, (size_t)column, tolerance, error)) {
    return false;
  }
  return (*tolerance > 0 && *tolerance <= 20) ||
         error_set(error, ERROR_FILE, "bad-card",
                   "line %d, row %zu, column TOLERANCE_DE00: %g is given; it must be above 0 and up to 20",
                   cgats_cell(cgats, row, (size_t)column)->line, row + 1, *tolerance);
}

static bool check_patch_id(const struct cgats *cgats, size_t row, struct error *error)
{
  size_t column = (size_t)cgats_column(cgats, "SAMPLE_ID");
  const struct cgats_word *id = cgats_cell(cgats, row, column);

  for (size_t before = 0; before < row; before++) {
    const struct cgats_word *other = cgats_cell(cgats, before, column);
    if (other->length == id->length && memcmp(other->start, id->start, id->length) == 0) {
      return error_set(error, ERROR_FILE, "bad-card",
                       "line %d: patch %.*s was already given in line %d; give each patch once", id->line,
                       (int)(id->length < 40 ? id->length : 40), id->start, other->line);
    }
  }
  return true;
}

static bool read_patch(const struct cgats *cgats, size_t row, struct card_patch *patch, struct error *error)
{
  int name = cgats_column(cgats, "SAMPLE_NAME");
  const struct cgats_word *label =
      cgats_cell(cgats, row, (size_t)(name >= 0 ? name : cgats_column(cgats, "SAMPLE_ID")));

  return check_patch_id(cgats, row, error) &&
         copy_word(label, "a patch's name", patch->name, sizeof patch->name, error) &&
         read_place(cgats, row, patch, error) && read_tolerance(cgats, row, &patch->tolerance, error);
}

static bool overlap(const struct card_patch *a, const struct card_patch *b)
{
  const double touch = 1e-6;

  return fabs(a->x_mm - b->x_mm) < (a->width_mm + b->width_mm) / 2 - touch &&
         fabs(a->y_mm - b->y_mm) < (a->height_mm + b->height_mm) / 2 - touch;
}

static bool check_overlap(const struct cgats *cgats, const struct card_reference *card, struct error *error)
{
  for (size_t i = 0; i < card->count; i++) {
    for (size_t k = 0; k < i; k++) {
      if (overlap(&card->patch[i], &card->patch[k])) {
        return error_set(error, ERROR_FILE, "bad-card",
                         "lines %d and %d: patches %s and %s overlap; correct their places or sizes",
                         cgats_cell(cgats, k, 0)->line, cgats_cell(cgats, i, 0)->line, card->patch[k].name,
                         card->patch[i].name);
      }
    }
  }
  return true;
}

static bool read_patches(const struct cgats *cgats, struct card_reference *card, struct error *error)
{
  card->patch = calloc(cgats->rows, sizeof *card->patch);
  if (!card->patch) {
    return error_no_memory(error, "a card");
  }
  card->count = cgats->rows;
  for (size_t row = 0; row < cgats->rows; row++) {
    if (!read_patch(cgats, row, &card->patch[row], error)) {
      return false;
    }
  }
  if (!check_overlap(cgats, card, error) || !card_colours_read(cgats, card->patch, error)) {
    return false;
  }
  for (size_t i = 0; i < card->count; i++) {
    struct lab lab = card->patch[i].lab_d50;
    card->patch[i].grey = hypot(lab.a, lab.b) < CARD_GREY_CHROMA;
  }
  return true;
}

/* Index of the patch whose SAMPLE_ID is the next word of *list, which moves on; count when there is none. */
static size_t next_corner(const struct cgats *cgats, const char **list)
{
  size_t column = (size_t)cgats_column(cgats, "SAMPLE_ID"), row = 0;
  const char *word = *list + strspn(*list, " ");
  size_t length = strcspn(word, " ");
  struct cgats_word id = {word, length, 0};

  *list = word + length;
  for (; row < cgats->rows; row++) {
    const struct cgats_word *cell = cgats_cell(cgats, row, column);
    if (cell->length == id.length && memcmp(cell->start, id.start, id.length) == 0) {
      break;
    }
  }
  return row;
}

/* Where the four points lie on the card. */
static void place_corners(struct card_reference *card)
{
  static const double side_x[4] = {-0.5, 0.5, 0.5, -0.5}, side_y[4] = {-0.5, -0.5, 0.5, 0.5};
  bool row = card->corner[0] == card->corner[3] && card->corner[1] == card->corner[2];

  for (size_t k = 0; k < 4; k++) {
    const struct card_patch *patch = &card->patch[card->corner[k]];
    double out = row ? 1 : 0;
    card->corner_place[k] = (struct card_place){patch->x_mm + out * side_x[k] * patch->width_mm,
                                                patch->y_mm + out * side_y[k] * patch->height_mm};
  }
}

/* Clockwise with y down, and no three on a line. */
static bool corners_turn_right(const struct card_place place[4])
{
  for (size_t k = 0; k < 4; k++) {
    struct card_place a = place[k], b = place[(k + 1) % 4], c = place[(k + 2) % 4];
    double ux = b.x_mm - a.x_mm, uy = b.y_mm - a.y_mm, vx = c.x_mm - b.x_mm, vy = c.y_mm - b.y_mm;
    if (ux * vy - uy * vx <= 0.01 * hypot(ux, uy) * hypot(vx, vy)) {
      return false;
    }
  }
  return true;
}

static bool read_corners(const struct cgats *cgats, struct card_reference *card, struct error *error)
{
  char text[160];
  const char *list = text;

  if (!read_keyword(cgats, "CARD_CORNERS", text, sizeof text, error)) {
    return false;
  }
  for (size_t k = 0; k < 4; k++) {
    card->corner[k] = next_corner(cgats, &list);
    if (card->corner[k] == card->count) {
      return error_set(error, ERROR_FILE, "bad-card",
                       "CARD_CORNERS \"%s\" must name four patches by their SAMPLE_ID; number %zu is none",
                       text, k + 1);
    }
  }
  place_corners(card);
  if (list[strspn(list, " ")] != '\0' || !corners_turn_right(card->corner_place)) {
    return error_set(
        error, ERROR_FILE, "bad-card",
        "CARD_CORNERS \"%s\" must name four patches clockwise, or the ends of a single row: first "
        "last last first",
        text);
  }
  return true;
}

static bool read_card(const struct cgats *cgats, struct card_reference *card, struct error *error)
{
  struct cgats_word unused;

  snprintf(card->layout, sizeof card->layout, "%s", card->name);
  return (!cgats_keyword_value(cgats, "CARD_LAYOUT", 0, &unused) ||
          read_keyword(cgats, "CARD_LAYOUT", card->layout, sizeof card->layout, error)) &&
         read_keyword(cgats, "DESCRIPTOR", card->title, sizeof card->title, error) &&
         read_keyword(cgats, "CARD_SOURCE", card->source, sizeof card->source, error) &&
         read_surface(cgats, &card->matt, error) && read_scale(cgats, &card->sized, error) &&
         check_columns(cgats, error) && read_patches(cgats, card, error) && read_corners(cgats, card, error);
}

bool card_reference_parse(const char *text, size_t length, const char *name, struct card_reference *card,
                          struct error *error)
{
  struct cgats cgats;

  *card = (struct card_reference){0};
  if (!cgats_read(text, length, &cgats, error)) {
    return error_prefix(error, name);
  }
  snprintf(card->name, sizeof card->name, "%.*s", (int)sizeof card->name - 1, name);
  bool done = read_card(&cgats, card, error);
  cgats_clear(&cgats);
  if (!done) {
    card_reference_clear(card);
    error_prefix(error, name);
  }
  return done;
}

void card_reference_clear(struct card_reference *card)
{
  free(card->patch);
  *card = (struct card_reference){0};
}

void card_list_clear(struct card_list *list)
{
  for (size_t i = 0; i < list->count; i++) {
    card_reference_clear(&list->card[i]);
  }
  free(list->card);
  *list = (struct card_list){0};
}

/* Appends one card, which the list then owns. */
static bool append(struct card_list *list, struct card_reference *card, struct error *error)
{
  struct card_reference *larger = realloc(list->card, (list->count + 1) * sizeof *larger);

  if (!larger) {
    card_reference_clear(card);
    return error_no_memory(error, "a list of cards");
  }
  list->card = larger;
  list->card[list->count++] = *card;
  return true;
}

/* The built-in cards of this name or layout; all for NULL. */
static bool take_builtin(const char *wanted, struct card_list *list, struct error *error)
{
  *list = (struct card_list){0};
  for (size_t i = 0; i < CARD_BUILTINS; i++) {
    const struct card_builtin *source = &CARD_BUILTIN[i];
    struct card_reference card;
    if (!card_reference_parse(source->text, source->length, source->name, &card, error)) {
      card_list_clear(list);
      return false;
    }
    if (wanted && strcasecmp(wanted, card.name) != 0 && strcasecmp(wanted, card.layout) != 0) {
      card_reference_clear(&card);
    } else if (!append(list, &card, error)) {
      card_list_clear(list);
      return false;
    }
  }
  return true;
}

bool card_list_builtin(struct card_list *list, struct error *error)
{
  return take_builtin(NULL, list, error);
}

static bool open_file(const char *path, struct card_list *list, struct error *error)
{
  struct file_bytes bytes;
  struct card_reference card;

  if (!file_read(path, CGATS_LENGTH_MAX, &bytes, error)) {
    return false;
  }
  bool done = card_reference_parse((const char *)bytes.data, bytes.size, file_name(path), &card, error) &&
              append(list, &card, error);
  file_bytes_clear(&bytes);
  return done;
}

static bool unknown_card(const char *name, struct error *error)
{
  struct text names = {0};

  for (size_t i = 0; i < CARD_BUILTINS; i++) {
    text_format(&names, ", %s", CARD_BUILTIN[i].name);
  }
  error_set(error, ERROR_USAGE, "unknown-card",
            "no card is called \"%.80s\"; name one of chart24 (every edition)%s, or a card file", name,
            names.data ? names.data : "");
  text_clear(&names);
  return false;
}

bool card_list_open(const char *name_or_path, struct card_list *list, struct error *error)
{
  if (!take_builtin(name_or_path, list, error)) {
    return false;
  }
  if (list->count > 0) {
    return true;
  }
  bool is_path = strpbrk(name_or_path, "/.") || access(name_or_path, F_OK) == 0;
  return is_path ? open_file(name_or_path, list, error) : unknown_card(name_or_path, error);
}

struct card_extent card_reference_extent(const struct card_reference *card, double share)
{
  struct card_extent e = {INFINITY, INFINITY, -INFINITY, -INFINITY};

  for (size_t i = 0; i < card->count; i++) {
    const struct card_patch *p = &card->patch[i];
    double x = (0.5 + share) * p->width_mm, y = (0.5 + share) * p->height_mm;
    e.left = fmin(e.left, p->x_mm - x);
    e.right = fmax(e.right, p->x_mm + x);
    e.top = fmin(e.top, p->y_mm - y);
    e.bottom = fmax(e.bottom, p->y_mm + y);
  }
  return e;
}
