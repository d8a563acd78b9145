/* SPDX-License-Identifier: MIT */
/* The subcommands. */
#ifndef TAWNY_CLI_COMMANDS_H
#define TAWNY_CLI_COMMANDS_H

#include "cli/options.h"

enum { COMMANDS = 6 };

extern const struct command READ_COMMAND, COMPARE_COMMAND, EDGE_COMMAND, PROPOSE_COMMAND, CHECK_COMMAND,
    CONVERT_COMMAND;

const struct command *commands_at(size_t index);
const struct command *commands_find(const char *name); /* NULL: none is called so */

/* ERROR_USAGE "unknown-command", which names the nearest. Returns false. */
bool commands_unknown(const char *name, struct error *error);

/* Parses the words behind the subcommand's name, argv[0], and runs it, or says its help where that is asked for. Returns the exit
 * status. */
int commands_run(const struct command *command, int argc, char **argv);

#endif
