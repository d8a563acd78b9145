/* SPDX-License-Identifier: MIT */
/* Text for the terminal: characters, their width, wrapped paragraphs and aligned tables. */
#ifndef TAWNY_REPORT_PLAIN_H
#define TAWNY_REPORT_PLAIN_H

#include <stddef.h>

#include "base/text.h"

enum { PLAIN_WIDTH = 100 }; /* columns that paragraphs keep to */

/* Bytes (1 to 4) of the UTF-8 character at `string`, which is not at its end; 0 where there is none (RFC 3629: no
 * surrogates, nothing overlong, nothing beyond U+10FFFF). */
size_t plain_character(const char *string);

/* Adds a label or a file name: control characters, which could steer a terminal, and bytes that are no UTF-8 become '?'. */
void plain_add(struct text *out, const char *string);

/* Columns that the text takes: one a character, none for the swatches' escape sequences. */
size_t plain_columns(const char *string, size_t length);

/* Adds `string` broken at blanks into lines of at most PLAIN_WIDTH columns (but for words longer than that), the first
 * behind `first`, the others behind `rest`, each ended by a line feed. */
void plain_paragraph(struct text *out, const char *first, const char *rest, const char *string);

/* Adds a table. `cells` has rows ended by line feeds and cells parted by tabs; `align` has 'l' or 'r' for each column, at
 * most PLAIN_COLUMNS; cells beyond them are left out. Columns stand two blanks apart, behind two blanks. */
enum { PLAIN_COLUMNS = 16 };
void plain_table(struct text *out, const char *cells, const char *align);

/* The same from a text of cells, which is cleared. Had it no memory, the page has `failed` too; likewise of a paragraph. */
void plain_put_table(struct text *out, struct text *cells, const char *align);
void plain_put_paragraph(struct text *out, const char *first, const char *rest, struct text *words);

#endif
