#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Writes card files as C text: embed.py OUT.c CARD.txt..."""
import pathlib
import sys


def as_bytes(text):
    """Numbers rather than a string literal, whose length C limits to 4095."""
    codes = [str(ord(character)) for character in text] + ['0']
    return ',\n'.join(', '.join(codes[at:at + 24]) for at in range(0, len(codes), 24))


def main():
    out, cards = pathlib.Path(sys.argv[1]), [pathlib.Path(name) for name in sys.argv[2:]]
    parts = ['/* SPDX-License-Identifier: MIT */', '/* Written by embed.py. */', '#include "card/builtin.h"', '']
    for number, card in enumerate(cards):
        parts.append(f'static const char text_{number}[] = {{\n{as_bytes(card.read_text(encoding="ascii"))}}};')
    parts.append('const struct card_builtin CARD_BUILTIN[CARD_BUILTINS] = {')
    for number, card in enumerate(cards):
        parts.append(f'    {{"{card.stem}", text_{number}, sizeof text_{number} - 1}},')
    parts.append('};')
    out.write_text('\n'.join(parts) + '\n', encoding='ascii')


main()
