/* SPDX-License-Identifier: MIT */
/* One line of `tawny convert`, without the reading and writing around it. */
#ifndef TAWNY_CLI_CONVERT_LINE_H
#define TAWNY_CLI_CONVERT_LINE_H

#include <stdbool.h>
#include <stddef.h>

enum {
  CONVERT_LINE_MOST = 4096, /* bytes of an input line */
  CONVERT_TEXT_SIZE = 512   /* of an output line, with a NUL */
};

/* One input line, `length` bytes without the line end, to an output line without one. An input line is
 *   xyY x y Y | lab L a b | srgb #rrggbb | a notation
 * (xyY under C, Lab under D50). False, and "?", a tab and the reason in `text`, when it can't be converted. `precise` gives
 * six more decimals. */
bool convert_line(const char *line, size_t length, bool precise, char text[CONVERT_TEXT_SIZE]);

#endif
