/* SPDX-License-Identifier: MIT */
/* Letters for pictures: 5 x 7 dots, and what hangs below the line, drawn for this program. */
#ifndef TAWNY_REPORT_FONT_H
#define TAWNY_REPORT_FONT_H

#include <stdbool.h>
#include <stddef.h>

enum {
  FONT_WIDTH = 5,
  FONT_HEIGHT = 7,
  FONT_BELOW = 2,
  FONT_ROWS = FONT_HEIGHT + FONT_BELOW,
  FONT_ADVANCE = 6
};

/* Characters of a UTF-8 text: each takes FONT_ADVANCE dots. */
size_t font_length(const char *text);

/* The next character of *text, which moves on; what is not ASCII shows as '?'. */
char font_next(const char **text);

/* Whether a dot of a character (0x20 to 0x7e) is set; column and row inside the 5 x 9, whose line is below row 6. */
bool font_dot(char character, int column, int row);

#endif
