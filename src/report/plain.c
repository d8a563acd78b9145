/* SPDX-License-Identifier: MIT */
#include "report/plain.h"

#include <stdbool.h>
#include <string.h>

static bool continues(const unsigned char *c, size_t count)
{
  for (size_t i = 1; i <= count; i++) {
    if ((c[i] & 0xC0) != 0x80) { /* stops at the final NUL too */
      return false;
    }
  }
  return true;
}

size_t plain_character(const char *string)
{
  const unsigned char *c = (const unsigned char *)string;

  if (c[0] < 0x80) {
    return 1;
  }
  if (c[0] >= 0xC2 && c[0] <= 0xDF) {
    return continues(c, 1) ? 2 : 0;
  }
  if (c[0] >= 0xE0 && c[0] <= 0xEF) {
    bool overlong = c[0] == 0xE0 && c[1] < 0xA0, surrogate = c[0] == 0xED && c[1] > 0x9F;
    return continues(c, 2) && !overlong && !surrogate ? 3 : 0;
  }
  if (c[0] >= 0xF0 && c[0] <= 0xF4) {
    bool overlong = c[0] == 0xF0 && c[1] < 0x90, beyond = c[0] == 0xF4 && c[1] > 0x8F;
    return continues(c, 3) && !overlong && !beyond ? 4 : 0;
  }
  return 0;
}

void plain_add(struct text *out, const char *string)
{
  for (size_t length; *string; string += length) {
    const unsigned char *c = (const unsigned char *)string;
    length = plain_character(string);
    bool steers = c[0] < 0x20 || c[0] == 0x7F || (c[0] == 0xC2 && c[1] < 0xA0);
    if (length == 0 || steers) {
      text_add(out, "?");
      length = length ? length : 1;
    } else {
      text_add_bytes(out, string, length);
    }
  }
}

size_t plain_columns(const char *string, size_t length)
{
  size_t columns = 0;
  bool escape = false;

  for (size_t i = 0; i < length; i++) {
    unsigned char c = (unsigned char)string[i];
    if (c == 0x1B) {
      escape = true;
    } else if (escape) {
      escape = c != 'm';
    } else {
      columns += (c & 0xC0) != 0x80;
    }
  }
  return columns;
}

void plain_paragraph(struct text *out, const char *first, const char *rest, const char *string)
{
  size_t column = plain_columns(first, strlen(first)), start = plain_columns(rest, strlen(rest));
  bool fresh = true;

  text_add(out, first);
  for (string += strspn(string, " "); *string; string += strspn(string, " ")) {
    size_t length = strcspn(string, " "), width = plain_columns(string, length);
    if (!fresh && column + 1 + width > PLAIN_WIDTH) {
      text_format(out, "\n%s", rest);
      column = start;
      fresh = true;
    }
    text_add(out, fresh ? "" : " ");
    text_add_bytes(out, string, length);
    column += width + !fresh;
    fresh = false;
    string += length;
  }
  text_add(out, "\n");
}

/* The next cell of a row: its length; *cell is moved behind it and its tab. */
static size_t next_cell(const char **cell)
{
  size_t length = strcspn(*cell, "\t\n");

  *cell += length + ((*cell)[length] == '\t');
  return length;
}

static void find_widths(const char *cells, size_t columns, size_t *width)
{
  while (*cells) {
    for (size_t k = 0; k < columns && *cells != '\n'; k++) {
      const char *cell = cells;
      size_t wide = plain_columns(cell, next_cell(&cells));
      width[k] = wide > width[k] ? wide : width[k];
    }
    cells += strcspn(cells, "\n");
    cells += *cells == '\n';
  }
}

static void add_blanks(struct text *out, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    text_add(out, " ");
  }
}

/* One row; blanks wait until something follows them, so that no line ends in one. */
static const char *add_row(struct text *out, const char *cells, const char *align, size_t columns,
                           const size_t *width)
{
  size_t waiting = 2;

  for (size_t k = 0; k < columns && *cells != '\n' && *cells; k++) {
    const char *cell = cells;
    size_t length = next_cell(&cells), room = width[k] - plain_columns(cell, length);
    if (length > 0) {
      add_blanks(out, waiting + (align[k] == 'r' ? room : 0));
      text_add_bytes(out, cell, length);
      waiting = 2 + (align[k] == 'r' ? 0 : room);
    } else {
      waiting += 2 + room;
    }
  }
  text_add(out, "\n");
  cells += strcspn(cells, "\n");
  return cells + (*cells == '\n');
}

void plain_table(struct text *out, const char *cells, const char *align)
{
  size_t width[PLAIN_COLUMNS] = {0}, columns = strlen(align);

  columns = columns < PLAIN_COLUMNS ? columns : PLAIN_COLUMNS;
  find_widths(cells, columns, width);
  while (*cells) {
    cells = add_row(out, cells, align, columns, width);
  }
}

static void take_over(struct text *out, struct text *part)
{
  out->failed |= part->failed;
  text_clear(part);
}

void plain_put_table(struct text *out, struct text *cells, const char *align)
{
  plain_table(out, cells->data ? cells->data : "", align);
  take_over(out, cells);
}

void plain_put_paragraph(struct text *out, const char *first, const char *rest, struct text *words)
{
  plain_paragraph(out, first, rest, words->data ? words->data : "");
  take_over(out, words);
}
