/* SPDX-License-Identifier: MIT */
/* tawny convert: colours on standard input, one a line, to notation, chip, name, Lab and xyY on standard output. */
#ifndef TAWNY_CLI_CONVERT_H
#define TAWNY_CLI_CONVERT_H

/* The command: argv[0] is its own name, the only option --precise. Reads to the end of standard input; output keeps up
 * with input, so that another program can wait for an answer. Returns the exit status. */
int convert_run(int argc, char **argv);

#endif
