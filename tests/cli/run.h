/* SPDX-License-Identifier: MIT */
/* Running the program under test as a person or a script would, and folders to do so in. */
#ifndef TAWNY_TESTS_CLI_RUN_H
#define TAWNY_TESTS_CLI_RUN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/file.h"

struct run {
  int status;      /* exit status; 128 + signal where one ended it */
  char *out, *err; /* owned, NUL-terminated                         */
  size_t out_size;
};

/* Runs the program that the environment variable TAWNY_PROGRAM names with `words` (parted by single blanks; a word in '...' keeps
 * its blanks) in `folder`, with `input` on standard input. Ends the test when that is not possible. */
struct run run_tawny(const char *folder, const char *words, const char *input);
void run_clear(struct run *run);

/* Makes a new empty folder for a test; its path is valid until the next call. run_folder_remove() takes it away with the files in
 * it. */
const char *run_folder(void);
void run_folder_remove(const char *folder);

/* "folder/name". Valid until the next call. */
const char *run_path(const char *folder, const char *name);

#endif
