/* SPDX-License-Identifier: MIT */
/* Region files as comma-separated values: RFC 4180, also with line feeds alone, with blanks round quoted fields, and with
 * empty lines, which are passed over. */
#include "region/list.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "region/outline.h"

enum { COLUMNS_MAX = 256 };

struct field {
  size_t begin, length; /* in the record's text              */
  long line, column;    /* where it starts, counted from 1   */
};

struct csv {
  const char *data;
  size_t size, at;
  long line;
  size_t line_start;
  struct text text; /* owned; contents of the record's fields, quotes undone */
  struct field field[COLUMNS_MAX];
  size_t fields;
};

/* What a column holds: an enum list_fact, or one of these. */
enum { COLUMN_SHAPE = LIST_FACTS, COLUMN_POINTS, COLUMN_OTHER };

struct columns {
  int kind[COLUMNS_MAX];
  size_t count;
};

/* Columns are counted in characters. */
static long column_of(const struct csv *csv, size_t at)
{
  long column = 1;

  for (size_t i = csv->line_start; i < at; i++) {
    column += ((unsigned char)csv->data[i] & 0xc0) != 0x80;
  }
  return column;
}

static bool prefix_place(const struct field *field, struct error *error)
{
  char place[64];

  snprintf(place, sizeof place, "line %ld, column %ld", field->line, field->column);
  return error_prefix(error, place);
}

static bool fault(const struct field *field, struct error *error, const char *text)
{
  error_set(error, ERROR_FILE, "bad-regions", "%s", text);
  return prefix_place(field, error);
}

static bool at_end(const struct csv *csv)
{
  return csv->at >= csv->size;
}

static char here(const struct csv *csv)
{
  return at_end(csv) ? '\n' : csv->data[csv->at];
}

static bool at_line_end(const struct csv *csv)
{
  return here(csv) == '\n' || here(csv) == '\r';
}

static void next_line(struct csv *csv)
{
  if (here(csv) == '\r' && csv->at + 1 < csv->size && csv->data[csv->at + 1] == '\n') {
    csv->at++;
  }
  csv->at += !at_end(csv);
  csv->line++;
  csv->line_start = csv->at;
}

static bool is_blank(char c)
{
  return c == ' ' || c == '\t';
}

static void skip_blanks(struct csv *csv)
{
  while (is_blank(here(csv))) {
    csv->at++;
  }
}

/* From behind the opening quote to behind the closing one. */
static bool read_quoted(struct csv *csv, const struct field *field, struct error *error)
{
  for (;;) {
    if (at_end(csv)) {
      return fault(field, error,
                   "a quote is opened here and never closed; close it, and double quotes inside");
    }
    if (at_line_end(csv)) {
      next_line(csv);
      text_add_bytes(&csv->text, "\n", 1);
    } else if (here(csv) != '"') {
      text_add_bytes(&csv->text, &csv->data[csv->at++], 1);
    } else if (csv->at + 1 < csv->size && csv->data[csv->at + 1] == '"') {
      text_add_bytes(&csv->text, "\"", 1);
      csv->at += 2;
    } else {
      csv->at++;
      return true;
    }
  }
}

static bool read_plain(struct csv *csv, const struct field *field, struct error *error)
{
  size_t begin = csv->at;

  while (!at_line_end(csv) && here(csv) != ',' && here(csv) != '"') {
    csv->at++;
  }
  text_add_bytes(&csv->text, csv->data + begin, csv->at - begin);
  if (here(csv) == '"') {
    return fault(field, error, "a quote stands inside an unquoted field; quote the whole field");
  }
  return true;
}

static bool read_field(struct csv *csv, struct error *error)
{
  struct field field = {.begin = csv->text.length};

  skip_blanks(csv);
  field.line = csv->line;
  field.column = column_of(csv, csv->at);
  bool quoted = here(csv) == '"';
  csv->at += quoted;
  if (quoted ? !read_quoted(csv, &field, error) : !read_plain(csv, &field, error)) {
    return false;
  }
  skip_blanks(csv);
  if (here(csv) != ',' && !at_line_end(csv)) {
    return fault(&field, error,
                 "text stands behind the closing quote; put a comma there, and double quotes inside");
  }
  if (csv->fields == COLUMNS_MAX) {
    return fault(&field, error, "more than 256 fields; is this a region file?");
  }
  while (!quoted && csv->text.length > field.begin && is_blank(csv->text.data[csv->text.length - 1])) {
    csv->text.length--;
  }
  field.length = csv->text.length - field.begin;
  text_add_bytes(&csv->text, "", 1); /* so that each field is a string */
  csv->field[csv->fields++] = field;
  return true;
}

/* Reads one line, or several that a quoted field spans. */
static bool read_record(struct csv *csv, struct error *error)
{
  csv->text.length = 0;
  csv->fields = 0;
  for (;;) {
    if (!read_field(csv, error)) {
      return false;
    }
    if (at_line_end(csv)) {
      next_line(csv);
      return !csv->text.failed || error_no_memory(error, "a line of the region file");
    }
    csv->at++; /* the comma */
  }
}

static const char *field_text(const struct csv *csv, const struct field *field)
{
  return csv->text.data + field->begin;
}

static bool record_is_empty(const struct csv *csv)
{
  for (size_t i = 0; i < csv->fields; i++) {
    if (csv->field[i].length > 0) {
      return false;
    }
  }
  return true;
}

static const char *column_name(int kind)
{
  return kind == COLUMN_SHAPE    ? "shape"
         : kind == COLUMN_POINTS ? "points"
                                 : list_fact_name((enum list_fact)kind);
}

/* Whether one letter more, less, other, or any number of capitals make a known name of this. Such a column is a slip: taken
 * for a stranger's it would lose a fact without a word. */
static bool one_letter_off(const char *word, size_t length, const char *name)
{
  size_t n = strlen(name), head = 0, tail = 0;

  if (length + 1 < n || length > n + 1) {
    return false;
  }
  size_t shorter = length < n ? length : n, longer = length < n ? n : length;
  while (head < shorter && strncasecmp(word + head, name + head, 1) == 0) {
    head++;
  }
  while (tail < shorter - head && strncasecmp(word + length - 1 - tail, name + n - 1 - tail, 1) == 0) {
    tail++;
  }
  return head + tail + 1 >= longer;
}

static bool name_column(const struct csv *csv, const struct field *field, int *kind, struct error *error)
{
  const char *word = field_text(csv, field);
  size_t length = field->length;

  for (*kind = 0; *kind < COLUMN_OTHER; ++*kind) {
    const char *name = column_name(*kind);
    if (strlen(name) == length && strncasecmp(name, word, length) == 0) {
      return true;
    }
  }
  for (int i = 0; i < COLUMN_OTHER; i++) {
    if (one_letter_off(word, length, column_name(i))) {
      error_set(error, ERROR_FILE, "bad-regions", "the column '%.*s' is almost '%s'; correct or rename it",
                (int)length, word, column_name(i));
      return prefix_place(field, error);
    }
  }
  return true;
}

static bool has_column(const struct columns *columns, int kind)
{
  for (size_t i = 0; i < columns->count; i++) {
    if (columns->kind[i] == kind) {
      return true;
    }
  }
  return false;
}

static bool read_header(struct csv *csv, struct columns *columns, struct error *error)
{
  static const int required[] = {FACT_LABEL, COLUMN_SHAPE, COLUMN_POINTS};

  do {
    if (!read_record(csv, error)) {
      return false;
    }
  } while (record_is_empty(csv) && !at_end(csv));
  for (size_t i = 0; i < csv->fields; i++) {
    int kind;
    if (!name_column(csv, &csv->field[i], &kind, error)) {
      return false;
    }
    if (kind != COLUMN_OTHER && has_column(columns, kind)) {
      return fault(&csv->field[i], error, "the column stands there twice; keep one");
    }
    columns->kind[columns->count++] = kind;
  }
  for (int i = 0; i < 3; i++) {
    if (!has_column(columns, required[i])) {
      return error_set(
          error, ERROR_FILE, "bad-regions",
          "line %ld, column 1: the header lacks the column '%s'; begin with region,shape,points, "
          "parted by commas",
          csv->field[0].line, column_name(required[i]));
    }
  }
  return true;
}

static bool count_is(size_t count, size_t wanted, const char *what, struct error *error)
{
  return count == wanted ||
         error_set(error, ERROR_FILE, "bad-regions", "%zu numbers are given; a %s", count, what);
}

static bool name_shape(const char *word, enum region_shape *shape, struct error *error)
{
  static const struct {
    const char *word;
    enum region_shape shape;
  } known[] = {{"rectangle", REGION_RECTANGLE}, {"circle", REGION_CIRCLE}, {"polygon", REGION_POLYGON}};

  for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
    if (strcasecmp(word, known[i].word) == 0) {
      *shape = known[i].shape;
      return true;
    }
  }
  return error_set(error, ERROR_FILE, "bad-regions",
                   "shape '%s' is not known; write rectangle, circle or polygon", word);
}

static bool draw(struct region *region, enum region_shape shape, const double *number, size_t count,
                 struct error *error)
{
  if (shape == REGION_RECTANGLE) {
    return count_is(count, 4, "rectangle takes x y w h", error) &&
           outline_rectangle(region, number[0], number[1], number[2], number[3], error);
  }
  if (shape == REGION_CIRCLE) {
    struct point centre = {number[0], number[1]};
    return count_is(count, 3, "circle takes x y r", error) &&
           outline_ellipse(region, REGION_CIRCLE, centre, number[2], number[2], error);
  }
  return outline_polygon(region, number, count, error);
}

/* What a row needs while it is read. */
struct row {
  const struct field *shape, *points;
  struct list_entry entry;
};

static bool take_facts(const struct csv *csv, const struct columns *columns, struct row *row,
                       struct error *error)
{
  for (size_t i = 0; i < csv->fields; i++) {
    const struct field *field = &csv->field[i];
    int kind = columns->kind[i];
    row->shape = kind == COLUMN_SHAPE ? field : row->shape;
    row->points = kind == COLUMN_POINTS ? field : row->points;
    if (kind < COLUMN_SHAPE && !list_set_fact(&row->entry.region, (enum list_fact)kind,
                                              field_text(csv, field), field->length, error)) {
      return prefix_place(field, error);
    }
    if (kind == FACT_LABEL && row->entry.region.label[0] == '\0') {
      return fault(field, error, "the region has no label; give it a name or number");
    }
  }
  return true;
}

static bool take_shape(const struct csv *csv, struct row *row, double *number, struct error *error)
{
  enum region_shape shape = REGION_RECTANGLE;
  size_t count;

  if (!name_shape(field_text(csv, row->shape), &shape, error)) {
    return prefix_place(row->shape, error);
  }
  if (!list_numbers(field_text(csv, row->points), row->points->length, 2 * OUTLINE_CORNERS_MAX, number,
                    &count, error) ||
      !draw(&row->entry.region, shape, number, count, error)) {
    return prefix_place(row->points, error);
  }
  return true;
}

static bool read_row(struct csv *csv, const struct columns *columns, double *number,
                     struct list_builder *builder, struct error *error)
{
  struct row row = {.entry = {.labelled = true, .at = csv->field[0].line}};

  if (csv->fields != columns->count) {
    error_set(error, ERROR_FILE, "bad-regions",
              "%zu fields, but the header has %zu; put quotes round points that hold commas", csv->fields,
              columns->count);
    return prefix_place(&csv->field[0], error);
  }
  if (!take_facts(csv, columns, &row, error) || !take_shape(csv, &row, number, error)) {
    region_clear(&row.entry.region);
    return false;
  }
  return list_add(builder, row.entry, error);
}

static bool read_rows(struct csv *csv, double *number, struct list_builder *builder, struct error *error)
{
  struct columns columns = {.count = 0};

  if (!read_header(csv, &columns, error)) {
    return false;
  }
  while (!at_end(csv)) {
    if (!read_record(csv, error) ||
        (!record_is_empty(csv) && !read_row(csv, &columns, number, builder, error))) {
      return false;
    }
  }
  return true;
}

bool region_file_csv(const struct file_bytes *file, struct list_builder *builder, struct error *error)
{
  struct csv *csv = calloc(1, sizeof *csv);
  double *number = calloc(2 * OUTLINE_CORNERS_MAX, sizeof *number);
  bool done = false;

  builder->unit = "line";
  if (csv && number) {
    csv->data = (const char *)file->data;
    csv->size = file->size;
    csv->line = 1;
    done = read_rows(csv, number, builder, error);
    text_clear(&csv->text);
  } else {
    error_no_memory(error, "the region file");
  }
  free(number);
  free(csv);
  return done;
}
