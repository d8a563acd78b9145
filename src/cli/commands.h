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

/* Help, when it was asked for. */
int commands_help(const struct command *command);

#endif
