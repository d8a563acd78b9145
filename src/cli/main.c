/* SPDX-License-Identifier: MIT */
#include <stdio.h>
#include <string.h>

#include "cli/convert.h"

int main(int argc, char **argv)
{
  if (argc >= 2 && strcmp(argv[1], "convert") == 0) {
    return convert_run(argc - 1, argv + 1);
  }
  fputs("tawny: name a command: convert\n", stderr);
  return 2;
}
