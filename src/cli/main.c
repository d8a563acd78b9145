/* SPDX-License-Identifier: MIT */
/* Which subcommand is meant; the rest is the subcommand's. */
#include <string.h>

#include "cli/commands.h"
#include "cli/terminal.h"
#include "report/figures.h"

static int put(struct text *out)
{
  struct error error;

  return terminal_put(out, &error) ? 0 : terminal_failure(NULL, &error);
}

static int print_version(void)
{
  struct text out = {0};

  text_add(&out, "tawny " TAWNY_VERSION ", method " FIGURES_METHOD "\n");
  return put(&out);
}

static int print_help(void)
{
  struct text out = {0};

  text_add(&out,
           "tawny measures the Munsell colour of soil and pottery from photos that show a colour card.\n\n");
  for (size_t i = 0; i < COMMANDS; i++) {
    const struct command *command = commands_at(i);
    text_format(&out, "  tawny %s%s%s [options]\n      %s\n", command->name, command->operands[0] ? " " : "",
                command->operands, command->summary);
  }
  text_add(&out, "\n`tawny COMMAND --help` tells the options of one, `tawny --version` the version.\n");
  return put(&out);
}

static int print_help_of(const char *name)
{
  const struct command *command = commands_find(name);
  struct text out = {0};
  struct error error;

  if (!command) {
    commands_unknown(name, &error);
    return terminal_failure(NULL, &error);
  }
  options_help(command, &out);
  return put(&out);
}

static int no_command(void)
{
  struct error error;

  error_set(&error, ERROR_USAGE, "no-command",
            "no command is given; begin with `tawny read PHOTO`, and `tawny --help` lists all");
  return terminal_failure(NULL, &error);
}

int main(int argc, char **argv)
{
  const struct command *command = argc > 1 ? commands_find(argv[1]) : NULL;
  struct error error;

  if (argc < 2) {
    return no_command();
  }
  if (command) {
    return commands_run(command, argc - 1, argv + 1);
  }
  if (strcmp(argv[1], "--version") == 0) {
    return print_version();
  }
  if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0 || strcmp(argv[1], "help") == 0) {
    return argc > 2 ? print_help_of(argv[2]) : print_help();
  }
  commands_unknown(argv[1], &error);
  return terminal_failure(NULL, &error);
}
