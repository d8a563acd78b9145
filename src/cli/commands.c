/* SPDX-License-Identifier: MIT */
#include "cli/commands.h"

#include <string.h>

#include "cli/terminal.h"

const struct command *commands_at(size_t index)
{
  static const struct command *const command[COMMANDS] = {
      &READ_COMMAND, &COMPARE_COMMAND, &EDGE_COMMAND, &PROPOSE_COMMAND, &CHECK_COMMAND, &CONVERT_COMMAND};

  return command[index];
}

const struct command *commands_find(const char *name)
{
  for (size_t i = 0; i < COMMANDS; i++) {
    if (strcmp(commands_at(i)->name, name) == 0) {
      return commands_at(i);
    }
  }
  return NULL;
}

bool commands_unknown(const char *name, struct error *error)
{
  const char *names[COMMANDS + 3] = {"help", "--help", "--version"};

  for (size_t i = 0; i < COMMANDS; i++) {
    names[3 + i] = commands_at(i)->name;
  }
  const char *nearest = options_nearest(name, names, COMMANDS + 3);
  return error_set(error, ERROR_USAGE, "unknown-command",
                   "no command is called %.200s; %s%s%s`tawny --help` lists all", name,
                   nearest ? "the nearest is " : "", nearest ? nearest : "", nearest ? ", and " : "");
}

static int help(const struct command *command)
{
  struct text out = {0};
  struct error error;

  options_help(command, &out);
  return terminal_put(&out, &error) ? 0 : terminal_failure(NULL, &error);
}

int commands_run(const struct command *command, int argc, char **argv)
{
  struct words words;
  struct error error;

  if (!options_parse(command, argc, argv, &words, &error)) {
    return terminal_failure(NULL, &error);
  }
  int status = words.help ? help(command) : command->run(&words);
  words_clear(&words);
  return status;
}
