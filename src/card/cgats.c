/* SPDX-License-Identifier: MIT */
#include "card/cgats.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"

/* What the reader stands in. */
enum section { SECTION_HEADER, SECTION_FORMAT, SECTION_DATA, SECTION_END };

struct reader {
  const char *at, *end;
  int line;
  enum section section;
  bool format_seen, signature_seen;
  size_t words; /* of the line in hand */
  struct cgats_word word[CGATS_COLUMNS_MAX + 1];
  long sets, fields; /* as declared; -1: not */
  struct cgats *out;
  size_t cell_capacity, keyword_capacity;
};

static bool bad(struct error *error, int line, const char *what)
{
  return error_set(error, ERROR_FILE, "bad-card", "line %d: %s", line, what);
}

bool cgats_word_is(const struct cgats_word *word, const char *text)
{
  return word->length == strlen(text) && memcmp(word->start, text, word->length) == 0;
}

/* The array with room for one more element; NULL, and the array left as it is, when memory is out. */
static void *grown(void *array, size_t count, size_t *capacity, size_t size)
{
  if (count < *capacity) {
    return array;
  }
  size_t larger = *capacity ? 2 * *capacity : 64;
  void *moved = realloc(array, larger * size);

  *capacity = moved ? larger : *capacity;
  return moved;
}

static bool is_blank(char c)
{
  return c == ' ' || c == '\t' || c == '\r';
}

/* One quoted or bare word from the reader's place. */
static bool take_word(struct reader *reader, struct error *error)
{
  struct cgats_word *word = &reader->word[reader->words];
  char quote = *reader->at;

  if (reader->words >= CGATS_COLUMNS_MAX) {
    return bad(error, reader->line, "too many words; is a line break missing?");
  }
  *word = (struct cgats_word){reader->at, 0, reader->line};
  if (quote == '"' || quote == '\'') {
    word->start = ++reader->at;
    while (reader->at < reader->end && *reader->at != quote && *reader->at != '\n') {
      reader->at++;
    }
    if (reader->at == reader->end || *reader->at != quote) {
      return bad(error, reader->line, "a quotation mark is not closed; close it on the same line");
    }
    word->length = (size_t)(reader->at++ - word->start);
  } else {
    while (reader->at < reader->end && !is_blank(*reader->at) && *reader->at != '\n' && *reader->at != '#') {
      reader->at++;
    }
    word->length = (size_t)(reader->at - word->start);
  }
  reader->words++;
  return true;
}

/* Splits the next line into words; a # outside quotes starts a comment. */
static bool take_line(struct reader *reader, struct error *error)
{
  reader->words = 0;
  reader->line++;
  while (reader->at < reader->end && *reader->at != '\n') {
    if (is_blank(*reader->at)) {
      reader->at++;
    } else if (*reader->at == '#') {
      while (reader->at < reader->end && *reader->at != '\n') {
        reader->at++;
      }
    } else if (!take_word(reader, error)) {
      return false;
    }
  }
  reader->at += reader->at < reader->end;
  return true;
}

static bool read_count(const struct reader *reader, long *count, struct error *error)
{
  double value;

  if (*count >= 0) {
    return bad(error, reader->line, "a count is given twice; leave one");
  }
  if (reader->words != 2 || !text_number_bytes(reader->word[1].start, reader->word[1].length, &value) ||
      value < 1 || value > 100000 || value != (double)(long)value) {
    return bad(error, reader->line, "a whole number of fields or sets must follow");
  }
  *count = (long)value;
  return true;
}

static bool keep_keyword(struct reader *reader, struct error *error)
{
  struct cgats *out = reader->out;

  if (reader->words > 2) {
    return bad(error, reader->line, "a keyword takes one value; put it in quotation marks");
  }
  void *room = grown(out->keyword, out->keywords, &reader->keyword_capacity, sizeof *out->keyword);
  if (!room) {
    return error_no_memory(error, "a card file");
  }
  out->keyword = room;
  struct cgats_word none = {reader->word[0].start, 0, reader->line};
  out->keyword[out->keywords++] =
      (struct cgats_keyword){reader->word[0], reader->words == 2 ? reader->word[1] : none};
  return true;
}

static bool begin_data(struct reader *reader, struct error *error)
{
  if (!reader->format_seen) {
    return bad(error, reader->line, "BEGIN_DATA stands before a data format; add BEGIN_DATA_FORMAT");
  }
  reader->section = SECTION_DATA;
  return true;
}

static bool header_line(struct reader *reader, struct error *error)
{
  const struct cgats_word *first = &reader->word[0];

  if (!reader->signature_seen) {
    reader->signature_seen = true;
    return (reader->words == 1 && !memchr(first->start, ',', first->length)) ||
           bad(error, reader->line,
               "this is no card file, which starts with a line of one word, such as CGATS.17; name another");
  }
  if (first->start[0] == '.') {
    return bad(error, reader->line, "directives such as .INCLUDE are not taken; put the text itself here");
  }
  if (cgats_word_is(first, "NUMBER_OF_FIELDS")) {
    return read_count(reader, &reader->fields, error);
  }
  if (cgats_word_is(first, "NUMBER_OF_SETS")) {
    return read_count(reader, &reader->sets, error);
  }
  if (cgats_word_is(first, "BEGIN_DATA_FORMAT")) {
    if (reader->format_seen) {
      return bad(error, reader->line, "a second data format; a card file holds one table");
    }
    reader->section = SECTION_FORMAT;
    reader->format_seen = true;
    return true;
  }
  if (cgats_word_is(first, "BEGIN_DATA")) {
    return begin_data(reader, error);
  }
  return keep_keyword(reader, error);
}

static bool format_line(struct reader *reader, struct error *error)
{
  struct cgats *out = reader->out;

  if (cgats_word_is(&reader->word[0], "END_DATA_FORMAT")) {
    reader->section = SECTION_HEADER;
    return true;
  }
  if (out->columns + reader->words > CGATS_COLUMNS_MAX) {
    return bad(error, reader->line, "too many columns");
  }
  if (!out->column) {
    out->column = calloc(CGATS_COLUMNS_MAX, sizeof *out->column);
  }
  if (!out->column) {
    return error_no_memory(error, "a card file");
  }
  for (size_t i = 0; i < reader->words; i++) {
    for (size_t j = 0; j < out->columns; j++) {
      const struct cgats_word *other = &out->column[j];
      if (other->length == reader->word[i].length &&
          memcmp(other->start, reader->word[i].start, other->length) == 0) {
        return error_set(error, ERROR_FILE, "bad-card", "line %d: column %.*s is named twice; leave one",
                         reader->line, (int)other->length, other->start);
      }
    }
    out->column[out->columns++] = reader->word[i];
  }
  return true;
}

static bool data_line(struct reader *reader, struct error *error)
{
  struct cgats *out = reader->out;

  if (cgats_word_is(&reader->word[0], "END_DATA")) {
    reader->section = SECTION_END;
    return true;
  }
  if (reader->words != out->columns) {
    return error_set(error, ERROR_FILE, "bad-card",
                     "line %d: %zu values where the data format names %zu columns; one patch takes one line",
                     reader->line, reader->words, out->columns);
  }
  if (out->rows >= CGATS_ROWS_MAX) {
    return error_set(error, ERROR_FILE, "bad-card", "line %d: more than %d patches; describe fewer",
                     reader->line, CGATS_ROWS_MAX);
  }
  for (size_t i = 0; i < reader->words; i++) {
    size_t count = out->rows * out->columns + i;
    void *room = grown(out->cell, count, &reader->cell_capacity, sizeof *out->cell);
    if (!room) {
      return error_no_memory(error, "a card file");
    }
    out->cell = room;
    out->cell[count] = reader->word[i];
  }
  out->rows++;
  return true;
}

static bool take_section_line(struct reader *reader, struct error *error)
{
  switch (reader->section) {
  case SECTION_HEADER:
    return header_line(reader, error);
  case SECTION_FORMAT:
    return format_line(reader, error);
  case SECTION_DATA:
    return data_line(reader, error);
  case SECTION_END:
    break;
  }
  return bad(error, reader->line, "text behind END_DATA; a card file holds one table");
}

static bool check_whole(const struct reader *reader, struct error *error)
{
  const struct cgats *out = reader->out;

  if (reader->section != SECTION_END) {
    return bad(error, reader->line, "the text ends before END_DATA; copy the file again");
  }
  if (out->columns == 0 || out->rows == 0) {
    return bad(error, reader->line, "the table is empty; a card needs patches");
  }
  if (reader->fields >= 0 && (size_t)reader->fields != out->columns) {
    return error_set(error, ERROR_FILE, "bad-card",
                     "NUMBER_OF_FIELDS says %ld but the data format names %zu columns; make them agree",
                     reader->fields, out->columns);
  }
  if (reader->sets < 0) {
    return error_set(error, ERROR_FILE, "bad-card", "NUMBER_OF_SETS is missing; add it before BEGIN_DATA");
  }
  if ((size_t)reader->sets != out->rows) {
    return error_set(error, ERROR_FILE, "bad-card",
                     "NUMBER_OF_SETS says %ld but the table has %zu rows; is a patch missing?", reader->sets,
                     out->rows);
  }
  return true;
}

static bool read_lines(struct reader *reader, struct error *error)
{
  while (reader->at < reader->end) {
    if (!take_line(reader, error) || (reader->words > 0 && !take_section_line(reader, error))) {
      return false;
    }
  }
  return check_whole(reader, error);
}

bool cgats_read(const char *text, size_t length, struct cgats *cgats, struct error *error)
{
  *cgats = (struct cgats){0};
  if (length > CGATS_LENGTH_MAX || memchr(text, '\0', length)) {
    return error_set(error, ERROR_FILE, "bad-card", "this is no card file: it is %s; name a CGATS text",
                     length > CGATS_LENGTH_MAX ? "too long" : "not text");
  }
  struct reader *reader = calloc(1, sizeof *reader);
  if (!reader) {
    return error_no_memory(error, "a card file");
  }
  *reader = (struct reader){.at = text, .end = text + length, .sets = -1, .fields = -1, .out = cgats};
  bool done = read_lines(reader, error);
  free(reader);
  if (!done) {
    cgats_clear(cgats);
  }
  return done;
}

void cgats_clear(struct cgats *cgats)
{
  free(cgats->keyword);
  free(cgats->column);
  free(cgats->cell);
  *cgats = (struct cgats){0};
}

bool cgats_keyword_value(const struct cgats *cgats, const char *name, size_t nth, struct cgats_word *value)
{
  for (size_t i = 0; i < cgats->keywords; i++) {
    if (cgats_word_is(&cgats->keyword[i].name, name) && nth-- == 0) {
      *value = cgats->keyword[i].value;
      return true;
    }
  }
  return false;
}

int cgats_column(const struct cgats *cgats, const char *name)
{
  for (size_t i = 0; i < cgats->columns; i++) {
    if (cgats_word_is(&cgats->column[i], name)) {
      return (int)i;
    }
  }
  return -1;
}

const struct cgats_word *cgats_cell(const struct cgats *cgats, size_t row, size_t column)
{
  return &cgats->cell[row * cgats->columns + column];
}

bool cgats_number(const struct cgats *cgats, size_t row, size_t column, double *value, struct error *error)
{
  const struct cgats_word *cell = cgats_cell(cgats, row, column), *name = &cgats->column[column];

  if (!text_number_bytes(cell->start, cell->length, value)) {
    return error_set(error, ERROR_FILE, "bad-card",
                     "line %d, row %zu, column %.*s: \"%.*s\" is no number; write one such as 35.5",
                     cell->line, row + 1, (int)name->length, name->start,
                     (int)(cell->length < 40 ? cell->length : 40), cell->start);
  }
  return true;
}
