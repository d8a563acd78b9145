/* SPDX-License-Identifier: MIT */
/* One line that tells what is wrong and what to do.
 *
 * Whoever detects a fault fills the caller's struct error; whoever passes it on leaves it alone, but
 * for error_prefix() with the name of the file or region. Functions that can fail return bool (true:
 * done) and take `struct error *` as their last argument, never NULL. Doubt about a value is no error:
 * it is a caveat on the reading (measure/reading.h). */
#ifndef TAWNY_BASE_ERROR_H
#define TAWNY_BASE_ERROR_H

#include <stdbool.h>

/* What kind of failure, which decides the program's exit status. */
enum error_kind {
  ERROR_NONE = 0,     /* no error                                                    */
  ERROR_UNMEASURABLE, /* a photo or region that can't be measured: exit status 1     */
  ERROR_USAGE,        /* wrong words or options: 2                                   */
  ERROR_FILE,         /* a file that can't be read, written or understood: 3         */
  ERROR_INTERNAL      /* out of memory or a broken promise inside the program: 4     */
};

struct error {
  enum error_kind kind;
  char code[32];  /* short fixed word for scripts, e.g. "no-card"; lower case and hyphens */
  char text[480]; /* one line, no full stop at the end: what is wrong; what to do         */
};

/* Fills *error (whatever it held before) and returns false, so that a function can end with
 * `return error_set(error, ...)`. A text that is too long is cut; line breaks and control characters,
 * which file names may hold, become '?'. No argument may point into *error. */
bool error_set(struct error *error, enum error_kind kind, const char *code, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* The usual internal error: no memory for `what`. Returns false. */
bool error_no_memory(struct error *error, const char *what);

/* Puts "name: " before the text. Returns false. */
bool error_prefix(struct error *error, const char *name);

/* The exit status that the contract gives to a kind of error: 0 to 4. */
int error_exit_status(enum error_kind kind);

#endif
