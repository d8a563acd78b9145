/* SPDX-License-Identifier: MIT */
/* tawny convert: colours on standard input, one a line, to notation, chip, name, Lab and xyY on standard output. */
#ifndef TAWNY_CLI_CONVERT_H
#define TAWNY_CLI_CONVERT_H

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

/* The command: argv[0] is its own name, the only option --precise. Reads to the end of standard input; output keeps up
 * with input, so that another program can wait for an answer. Returns the exit status. */
int convert_run(int argc, char **argv);

#endif
