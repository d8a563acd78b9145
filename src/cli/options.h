/* SPDX-License-Identifier: MIT */
/* Options as a table, from which parsing, help and (by a test) the manual's list come. */
#ifndef TAWNY_CLI_OPTIONS_H
#define TAWNY_CLI_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"

enum { OPTIONS_MAX = 16 };

struct option_entry {
  const char *name;  /* without the two hyphens; NULL ends a table */
  const char *value; /* what stands behind it, "FILE"; NULL: nothing */
  const char *help;  /* one sentence without full stop              */
};

struct words;

/* A subcommand. */
struct command {
  const char *name;
  const char *operands; /* "PHOTO...", or "" for none                              */
  const char *summary;  /* one line                                                */
  const char *details;  /* a paragraph for its help                                */
  const struct option_entry *option;
  int (*run)(const struct words *words); /* what was given, help apart; gives the exit status */
};

/* What was given: value[i] belongs to option[i]: NULL not given, "" given without value. Strings are borrowed from argv, the
 * list of operands is owned. */
struct words {
  const char *value[OPTIONS_MAX];
  const char **operand;
  size_t operands;
  bool help; /* --help was among them: nothing else is looked at */
};

/* argv[0] is the subcommand's own name. Options may stand before and behind operands, as --name=value or --name value; -- ends them; - alone is an operand.
 * ERROR_USAGE names what is wrong: "unknown-option" with the nearest one there is, "no-value", "needless-value",
 * "given-twice". */
bool options_parse(const struct command *command, int argc, char **argv, struct words *words,
                   struct error *error);
void words_clear(struct words *words);

/* Adds what `tawny COMMAND --help` says. */
void options_help(const struct command *command, struct text *out);

/* The entry of `names` that is nearest to `word` by letters to change (Levenshtein 1966); NULL where more than one letter and a third
 * of the word would have to change, which is no slip of the finger. count > 0. */
const char *options_nearest(const char *word, const char *const *names, size_t count);

#endif
