/* SPDX-License-Identifier: MIT */
/* Card files compiled in as text; builtin.c is written at build by embed.py from calibration/cards. */
#ifndef TAWNY_CARD_BUILTIN_H
#define TAWNY_CARD_BUILTIN_H

#include <stddef.h>

struct card_builtin {
  const char *name; /* the file's name without ending */
  const char *text;
  size_t length;
};

enum { CARD_BUILTINS = 6 };
extern const struct card_builtin CARD_BUILTIN[CARD_BUILTINS];

#endif
