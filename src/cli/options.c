/* SPDX-License-Identifier: MIT */
#include "cli/options.h"

#include <stdlib.h>
#include <string.h>

#include "report/plain.h"

enum { WORD_MAX = 64 }; /* letters of a word that are compared */

static size_t smaller(size_t a, size_t b)
{
  return a < b ? a : b;
}

/* Letters to insert, delete or replace; row by row. */
static size_t letters_apart(const char *a, const char *b)
{
  size_t row[WORD_MAX + 1], length = strnlen(b, WORD_MAX);

  for (size_t j = 0; j <= length; j++) {
    row[j] = j;
  }
  for (size_t i = 0; a[i] && i < WORD_MAX; i++) {
    size_t diagonal = row[0];
    row[0] = i + 1;
    for (size_t j = 0; j < length; j++) {
      size_t replaced = diagonal + (a[i] != b[j]);
      diagonal = row[j + 1];
      row[j + 1] = smaller(replaced, 1 + smaller(row[j], row[j + 1]));
    }
  }
  return row[length];
}

const char *options_nearest(const char *word, const char *const *names, size_t count)
{
  size_t best = 0;

  for (size_t i = 1; i < count; i++) {
    if (letters_apart(word, names[i]) < letters_apart(word, names[best])) {
      best = i;
    }
  }
  return letters_apart(word, names[best]) <= 1 + strlen(word) / 3 ? names[best] : NULL;
}

static bool unknown_option(const struct command *command, const char *word, size_t length,
                           struct error *error)
{
  const char *names[OPTIONS_MAX + 1] = {"help"};
  size_t count = 1;
  char name[WORD_MAX] = {0};

  for (const struct option_entry *option = command->option; option->name; option++) {
    names[count++] = option->name;
  }
  memcpy(name, word, smaller(length, sizeof name - 1));
  const char *nearest = options_nearest(name + strspn(name, "-"), names, count);
  return error_set(error, ERROR_USAGE, "unknown-option",
                   "%s has no option %.*s; %s%s%s`tawny %s --help` lists all", command->name,
                   (int)smaller(length, 200), word, nearest ? "the nearest is --" : "",
                   nearest ? nearest : "", nearest ? ", and " : "", command->name);
}

/* Index of the option that `word` (with its hyphens, up to `length`) names, -1 if none. */
static int find_option(const struct command *command, const char *word, size_t length)
{
  for (int i = 0; command->option[i].name; i++) {
    if (strlen(command->option[i].name) == length - 2 &&
        strncmp(command->option[i].name, word + 2, length - 2) == 0) {
      return i;
    }
  }
  return -1;
}

/* One option at argv[*at]; *at moves on to its value if that is the next word. */
static bool take_option(const struct command *command, int argc, char **argv, int *at, struct words *words,
                        struct error *error)
{
  const char *word = argv[*at];
  size_t length = strcspn(word, "=");
  const char *value = word[length] ? word + length + 1 : NULL;
  int i = word[1] == '-' ? find_option(command, word, length) : -1;

  if (i < 0) {
    return unknown_option(command, word, length, error);
  }
  const struct option_entry *option = &command->option[i];
  if (words->value[i]) {
    return error_set(error, ERROR_USAGE, "given-twice", "--%s is given twice; give it once", option->name);
  }
  if (value && !option->value) {
    return error_set(error, ERROR_USAGE, "needless-value", "--%s takes no value; leave out =%s", option->name,
                     value);
  }
  if (option->value && !value && *at + 1 < argc && strncmp(argv[*at + 1], "--", 2) != 0) {
    value = argv[++*at];
  }
  if (option->value && (!value || value[0] == '\0')) {
    return error_set(error, ERROR_USAGE, "no-value", "--%s needs a value; write --%s %s", option->name,
                     option->name, option->value);
  }
  words->value[i] = value ? value : "";
  return true;
}

static bool take_words(const struct command *command, int argc, char **argv, struct words *words,
                       struct error *error)
{
  bool ended = false;

  for (int i = 1; i < argc; i++) {
    if (ended || argv[i][0] != '-' || argv[i][1] == '\0') {
      words->operand[words->operands++] = argv[i];
    } else if (strcmp(argv[i], "--") == 0) {
      ended = true;
    } else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0 ||
               strncmp(argv[i], "--help=", 7) == 0) {
      words->help = true;
      return true;
    } else if (!take_option(command, argc, argv, &i, words, error)) {
      return false;
    }
  }
  return true;
}

bool options_parse(const struct command *command, int argc, char **argv, struct words *words,
                   struct error *error)
{
  *words = (struct words){.operand = calloc((size_t)argc + 1, sizeof *words->operand)};
  if (!words->operand) {
    return error_no_memory(error, "the command line");
  }
  if (!take_words(command, argc, argv, words, error)) {
    words_clear(words);
    return false;
  }
  return true;
}

void words_clear(struct words *words)
{
  free(words->operand);
  *words = (struct words){0};
}

static void add_option(const struct option_entry *option, struct text *out)
{
  text_format(out, "  --%s%s%s\n", option->name, option->value ? " " : "",
              option->value ? option->value : "");
  plain_paragraph(out, "      ", "      ", option->help);
}

void options_help(const struct command *command, struct text *out)
{
  static const struct option_entry help = {"help", NULL, "print this"};

  text_format(out, "usage: tawny %s%s%s [options]\n\n", command->name, command->operands[0] ? " " : "",
              command->operands);
  plain_paragraph(out, "", "", command->summary);
  text_add(out, "\n");
  plain_paragraph(out, "", "", command->details);
  text_add(out, "\n");
  for (const struct option_entry *option = command->option; option->name; option++) {
    add_option(option, out);
  }
  add_option(&help, out);
}
