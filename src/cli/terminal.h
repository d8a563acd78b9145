/* SPDX-License-Identifier: MIT */
/* What goes to standard output and standard error. */
#ifndef TAWNY_CLI_TERMINAL_H
#define TAWNY_CLI_TERMINAL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"

/* Writes and flushes, so that a reader at a pipe has each photo at once; then clears the text. ERROR_FILE "unwritable" when
 * the other side takes nothing, ERROR_INTERNAL when the text itself ran out of memory. */
bool terminal_put(struct text *text, struct error *error);

/* One line on standard error: "tawny: NAME: text". A text that begins with the name is not given it again. NULL: no name.
 * Returns the exit status of the error's kind. */
int terminal_failure(const char *name, const struct error *error);

/* The graver of two exit statuses. They rise with it: a photo that can't be measured, a file that can't be read, a fault
 * inside the program; usage (2) ends the program before any work and never meets another. */
int terminal_graver(int a, int b);

/* Whether standard output is a terminal of 24-bit colour (COLORTERM), and NO_COLOR is not set. */
bool terminal_shows_colour(void);

/* "3 of 12: NAME" on standard error where that is a terminal and there are several; the line is rewritten each time and
 * wiped by terminal_progress_end(). */
void terminal_progress(size_t done, size_t count, const char *name);
void terminal_progress_end(size_t count);

#endif
