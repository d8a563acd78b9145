#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Turns the tables of this folder into constant C arrays, at build time.

    tables.py KIND OUTPUT.c TABLE.csv...

KIND names a function at the end of this file, which says which tables it takes, in which order, and what each of
their columns must be. A table is UTF-8 text: lines that begin with '#', then one header line, then rows; no quoting, no
blank lines. Anything else is refused with the name of the file and the line, since a table read askew would measure
askew ever after.
"""

import re
import sys

NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")


class Refused(Exception):
    """A table that is not what it must be."""


def refuse(path, line, reason):
    raise Refused(f"{path}:{line}: {reason}")


def read_rows(path, header):
    """(line number, cells) of each row, once the header line is `header` and all rows are as long."""
    with open(path, encoding="utf-8", newline="\n") as file:
        lines = file.read().split("\n")
    if lines[-1] != "":
        refuse(path, len(lines), "the last line has no line end: is the file cut short?")
    numbered = [(i + 1, line) for i, line in enumerate(lines[:-1])]
    while numbered and numbered[0][1].startswith("#"):
        numbered.pop(0)
    if not numbered or numbered[0][1].split(",") != header:
        refuse(path, numbered[0][0] if numbered else 1, "the header must be " + ",".join(header))
    rows = [(number, line.split(",")) for number, line in numbered[1:]]
    for number, cells in rows:
        if len(cells) != len(header):
            refuse(path, number, f"{len(cells)} cells where the header has {len(header)}")
    return rows


def number(path, line, cell):
    """A cell as it is written, once it is a finite decimal number."""
    if not NUMBER.fullmatch(cell):
        refuse(path, line, f"'{cell}' is no number")
    return cell


def read_bands(path, columns):
    """Rows of a spectral table, 380 to 780 nm at 5 nm, without the wavelength."""
    rows = read_rows(path, ["wavelength_nm"] + columns)
    if len(rows) != 81:
        refuse(path, rows[-1][0] if rows else 1, f"{len(rows)} rows where 380 to 780 nm at 5 nm make 81")
    for i, (line, cells) in enumerate(rows):
        if cells[0] != str(380 + 5 * i):
            refuse(path, line, f"wavelength '{cells[0]}' where {380 + 5 * i} is due")
    return [[number(path, line, cell) for cell in cells[1:]] for line, cells in rows]


def c_array(name, rows):
    """`const double name[rows][columns]`."""
    body = "\n".join("    {" + ", ".join(row) + "}," for row in rows)
    return f"const double {name}[{len(rows)}][{len(rows[0])}] = {{\n{body}\n}};\n"


def cie(observer, illuminants, daylight):
    return ["colour/cie_tables.h"], [
        c_array("CIE_OBSERVER", read_bands(observer, ["xbar", "ybar", "zbar"])),
        c_array("CIE_ILLUMINANTS", read_bands(illuminants, ["A", "C", "D50", "D65"])),
        c_array("CIE_DAYLIGHT", read_bands(daylight, ["S0", "S1", "S2"])),
    ]


def pigments(table):
    columns = ["L", "a", "b"] + [f"{axis}{k}" for k in range(1, 7) for axis in ("dL", "da", "db")]
    rows = read_rows(table, ["patch"] + columns)
    if len(rows) != 24:
        refuse(table, rows[-1][0] if rows else 1, f"{len(rows)} rows where the chart has 24 patches")
    return ["profile/pigment.h"], [
        c_array("PIGMENT_TABLE", [[number(table, line, cell) for cell in cells[1:]] for line, cells in rows]),
    ]


def moisture(table):
    rows = read_rows(table, ["moist_value", "dry_value", "horizons"])
    if not rows:
        refuse(table, 1, "there is no row")
    cells = [[number(table, line, cell) for cell in cells] for line, cells in rows]
    return ["compare/moisture_table.h"], [
        f"const size_t MOISTURE_ROWS = {len(cells)};\n",
        c_array("MOISTURE_TABLE", cells),
    ]


KINDS = {"cie": cie, "pigments": pigments, "moisture": moisture}


def main(kinds, arguments):
    if len(arguments) < 3 or arguments[0] not in kinds:
        raise Refused("usage: " + "|".join(kinds) + " OUTPUT.c TABLE.csv...")
    headers, arrays = kinds[arguments[0]](*arguments[2:])
    includes = "".join(f'#include "{header}"\n' for header in headers)
    with open(arguments[1], "w", encoding="utf-8", newline="\n") as file:
        file.write("/* Made from the tables in calibration; change those instead. */\n" + includes + "\n" + "\n".join(arrays))


def run(kinds, arguments):
    """main() of this generator and of others that share its reading; a fault is one line and exit status 1."""
    try:
        main(kinds, arguments)
    except (Refused, OSError, UnicodeDecodeError) as fault:
        sys.exit(str(fault))


if __name__ == "__main__":
    run(KINDS, sys.argv[1:])
