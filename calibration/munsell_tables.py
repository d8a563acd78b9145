#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Turns the Munsell tables of this folder into constant C arrays, at build time.

    munsell_tables.py KIND OUTPUT.c TABLE.csv...

The renotation is worked into a grid of nodes in CIELAB under C, as docs/method.md tells: angle and radius in the
(a*, b*) plane for every value of the table, hue and even chroma, continued past the last row of a hue. Numbers are written
with 15 digits, so that the last bit of a mathematical library does not matter.
"""

import math
import re
import sys

sys.dont_write_bytecode = True  # nothing is left in the source tree
import tables  # noqa: E402
from tables import c_array, number, read_bands, read_rows, refuse  # noqa: E402

FAMILIES = ["R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP"]
VALUES = [0, 0.2, 0.4, 0.6, 0.8, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10]
HUES = 40
CHROMAS = 26  # 0, 2 ... 50
START_BINS = 64
HUE_GAP = 0.005  # radians that a continued hue keeps from a neighbour whose rows still run
WHITE_C = (0.31006, 0.31616)
TURN = 2 * math.pi


def digits(x):
    return format(x, ".15g")


def hue_number(path, line, text):
    """ASTM hue number, above 0 and up to 100."""
    match = re.fullmatch(r"(\d+(?:\.\d+)?)(" + "|".join(FAMILIES) + ")", text)
    if not match or not 0 < float(match[1]) <= 10:
        refuse(path, line, f"'{text}' is no hue")
    return float(match[1]) + 10 * FAMILIES.index(match[2])


def hue_name(step):
    """The hue at 2.5 `step`."""
    tenths = step * 25 % 1000 or 1000
    family, within = divmod(tenths - 1, 100)
    return f"{(within + 1) / 10:g}{FAMILIES[family]}"


def luminance(value):
    """ASTM D1535, percent of the perfect diffuser."""
    return value * (1.1914 + value * (-0.22533 + value * (0.23352 + value * (-0.020484 + value * 0.00081939))))


def lab_curve(t):
    return t ** (1 / 3) if t > (6 / 29) ** 3 else 841 / 108 * t + 4 / 29


def lightness(value):
    return 116 * lab_curve(luminance(value) / 100) - 16


def polar(x, y, value):
    """Angle and radius in the (a*, b*) plane under C."""
    light = luminance(value) / 100
    fx = lab_curve(x / y * light / (WHITE_C[0] / WHITE_C[1]))
    fz = lab_curve((1 - x - y) / y * light / ((1 - WHITE_C[0] - WHITE_C[1]) / WHITE_C[1]))
    fy = lab_curve(light)
    a, b = 500 * (fx - fy), 200 * (fy - fz)
    return math.atan2(b, a), math.hypot(a, b)


def read_renotation(path):
    """{(hue step 0..39, value, chroma step): (x, y, published)}; every hue and value has all even chromas from 2 on."""
    rows = {}
    for line, cells in read_rows(path, ["hue", "value", "chroma", "x", "y", "published"]):
        hue = hue_number(path, line, cells[0]) / 2.5
        value, chroma, x, y = (float(number(path, line, cell)) for cell in cells[1:5])
        if hue != int(hue) or value not in VALUES[1:] or chroma not in range(2, 2 * CHROMAS, 2):
            refuse(path, line, "hue, value or chroma is not of the table's steps")
        if cells[5] not in ("1943", "1956", "0"):
            refuse(path, line, f"'{cells[5]}' is no publication")
        key = int(hue) % HUES, value, int(chroma) // 2
        if key in rows or key[2] > 1 and (key[0], value, key[2] - 1) not in rows:
            refuse(path, line, "the row is there twice, or the one of chroma 2 less is missing before it")
        if key[2] > 1 and cells[5] != "0" and not rows[key[0], value, key[2] - 1][2]:
            refuse(path, line, "a published row stands beyond an extrapolated one")
        rows[key] = x, y, int(cells[5])
    return rows


def near(angle, reference):
    """`angle` by whole turns as close to `reference` as can be."""
    return angle + TURN * round((reference - angle) / TURN)


class Grid:
    """angle[plane][hue][chroma] and radius; last and published: chroma steps up to which rows run."""

    def __init__(self, rows):
        self.angle = [[[0.0] * CHROMAS for _ in range(HUES + 1)] for _ in VALUES]
        self.radius = [[[0.0] * CHROMAS for _ in range(HUES + 1)] for _ in VALUES]
        self.last = [[0] * (HUES + 1) for _ in VALUES]
        self.published = [[0] * (HUES + 1) for _ in VALUES]
        for plane in range(1, len(VALUES)):
            self.take_rows(plane, rows)
            self.fill_missing_hue(plane)
            for chroma in range(CHROMAS):
                self.continue_rows(plane, chroma)
            for hue in range(HUES):
                self.angle[plane][hue][0] = self.angle[plane][hue][1]
            self.close_circle(plane)
        self.make_black()

    def take_rows(self, plane, rows):
        """Rows with y > 0; one without ends its hue, since it has no place in CIELAB."""
        for hue in range(HUES):
            reference = TURN * hue / HUES
            for chroma in range(1, CHROMAS):
                x, y, published = rows.get((hue, VALUES[plane], chroma), (0, 0, 0))
                if y <= 0:
                    break
                angle, self.radius[plane][hue][chroma] = polar(x, y, VALUES[plane])
                reference = self.angle[plane][hue][chroma] = near(angle, reference)
                self.last[plane][hue] = chroma
                if published:
                    self.published[plane][hue] = chroma

    def fill_missing_hue(self, plane):
        """A hue without any row takes the mean of its neighbours for chroma 2."""
        for hue in range(1, HUES - 1):
            if self.last[plane][hue] == 0:
                for part in self.angle, self.radius:
                    part[plane][hue][1] = (part[plane][hue - 1][1] + part[plane][hue + 1][1]) / 2
                self.last[plane][hue] = 1

    def continue_rows(self, plane, chroma):
        """Past the last row the angle stays, the radius grows by its last step; but a neighbour's row is not passed."""
        angle, radius, last = self.angle[plane], self.radius[plane], self.last[plane]
        for hue in range(HUES):
            if chroma <= last[hue]:
                continue
            radius[hue][chroma] = 2 * radius[hue][chroma - 1] - radius[hue][chroma - 2]
            angle[hue][chroma] = angle[hue][chroma - 1]
            for neighbour, side in ((hue - 1) % HUES, 1), ((hue + 1) % HUES, -1):
                if chroma <= last[neighbour]:
                    limit = near(angle[neighbour][chroma], angle[hue][chroma]) + side * HUE_GAP
                    if side * (limit - angle[hue][chroma]) > 0:
                        angle[hue][chroma] = limit

    def close_circle(self, plane):
        """Hue step 40 is hue step 0 once round."""
        self.angle[plane][HUES] = [angle + TURN for angle in self.angle[plane][0]]
        self.radius[plane][HUES] = self.radius[plane][0]
        self.last[plane][HUES] = self.last[plane][0]
        self.published[plane][HUES] = self.published[plane][0]

    def make_black(self):
        """Value 0: every colour is black, and hue lines run on as at value 0.2. Nothing is published there."""
        self.angle[0] = self.angle[1]
        self.last[0] = self.last[1]

    def start(self, plane, bin_number):
        """A hue step to begin the search at, for angles of a bin: where the angle lies at chroma 6."""
        angle = TURN * (bin_number + 0.5) / START_BINS
        angles = [self.angle[plane][hue][3] for hue in range(HUES + 1)]
        while angle < angles[0]:
            angle += TURN
        while angle >= angles[HUES]:
            angle -= TURN
        return max(hue for hue in range(HUES) if angles[hue] <= angle)

    def lab(self, hue, value, chroma):
        """CIELAB of a hue step, any value from the lowest plane on and any chroma, as munsell_to_xyY() finds it."""
        plane = max(i for i in range(len(VALUES) - 1) if VALUES[i] <= value)
        t = (value - VALUES[plane]) / (VALUES[plane + 1] - VALUES[plane])
        step = int(chroma / 2)
        u = chroma / 2 - step

        def between(part):
            ends = [part[p][hue][step] * (1 - u) + part[p][hue][step + 1] * u for p in (plane, plane + 1)]
            return ends[0] * (1 - t) + ends[1] * t

        angle, radius = between(self.angle), between(self.radius)
        return lightness(value), radius * math.cos(angle), radius * math.sin(angle)


def braces(rows):
    return "{" + ", ".join(rows) + "}"


def bytes_array(name, rows):
    body = ",\n".join("    " + braces(map(str, row)) for row in rows)
    return f"const unsigned char {name}[{len(rows)}][{len(rows[0])}] = {{\n{body}\n}};\n"


def nodes_array(grid):
    def node(plane, hue, chroma):
        return braces((digits(grid.angle[plane][hue][chroma]), digits(grid.radius[plane][hue][chroma])))

    planes = []
    for plane in range(len(VALUES)):
        hues = [
            "      {" + ",\n       ".join(node(plane, hue, chroma) for chroma in range(CHROMAS)) + "}"
            for hue in range(HUES + 1)
        ]
        planes.append("    {\n" + ",\n".join(hues) + "}")
    size = f"[{len(VALUES)}][{HUES + 1}][{CHROMAS}]"
    return f"const struct munsell_node MUNSELL_NODES{size} = {{\n" + ",\n".join(planes) + "\n};\n"


def renotation(path):
    grid = Grid(read_renotation(path))
    starts = [[grid.start(plane, i) for i in range(START_BINS)] for plane in range(len(VALUES))]
    return ["munsell/tables.h"], [
        f"const double MUNSELL_PLANES[{len(VALUES)}] = {braces(map(digits, VALUES))};\n",
        nodes_array(grid),
        bytes_array("MUNSELL_LAST", grid.last),
        bytes_array("MUNSELL_PUBLISHED_LAST", grid.published),
        bytes_array("MUNSELL_START", starts),
    ]


def chip(notation, name, confidence, colour, lab):
    quoted = f'"{name}"' if name else "NULL"
    lch = lab[0], math.hypot(lab[1], lab[2]), math.degrees(math.atan2(lab[2], lab[1])) % 360
    numbers = [braces(map(digits, part)) for part in (colour, lab, lch)]
    return "    " + braces([f'"{notation}"', quoted, "MUNSELL_CONFIDENCE_" + confidence.upper()] + numbers)


def chips_arrays(prefix, chips):
    """`chips`: {value: [C text]}. The chips by rising value, and where the chips of each value are."""
    body, pages = [], []
    for value in sorted(chips):
        pages.append("    " + braces([digits(lightness(value)), str(len(body)), str(len(chips[value]))]))
        body += chips[value]
    return [
        f"const struct munsell_chip MUNSELL_{prefix}_CHIPS[{len(body)}] = {{\n" + ",\n".join(body) + "\n};\n",
        f"const struct chip_page MUNSELL_{prefix}_PAGES[{len(pages)}] = {{\n" + ",\n".join(pages) + "\n};\n",
        f"const size_t MUNSELL_{prefix}_PAGE_COUNT = {len(pages)};\n",
    ]


def soil_chips(path, grid):
    chips, seen = {}, set()
    for line, (notation, name, confidence) in read_rows(path, ["notation", "name", "confidence"]):
        match = re.fullmatch(r"(N|[0-9.]+[A-Z]+) ([0-9.]+)/([0-9.]*)", notation)
        if not match or (match[1] == "N") != (match[3] == ""):
            refuse(path, line, f"'{notation}' is no notation")
        if confidence not in ("low", "medium", "high") or not re.fullmatch(r"[a-z ]+", name) or notation in seen:
            refuse(path, line, "the name or its confidence is not of the known kind, or the chip is there twice")
        seen.add(notation)
        value, chroma = float(number(path, line, match[2])), float(number(path, line, match[3] or "0"))
        if match[1] != "N" and chroma == 0:
            continue  # an old neutral on a hue page
        hue = hue_number(path, line, match[1]) if match[1] != "N" else 0
        if hue % 2.5 or not 0 < value < 10 or chroma > 2 * CHROMAS - 4:
            refuse(path, line, f"'{notation}' is no chip")
        lab = grid.lab(int(hue / 2.5) % HUES, value, chroma)
        chips.setdefault(value, []).append(chip(notation, name, confidence, (hue, value, chroma), lab))
    return chips


def book_chips(grid, rows):
    """Chips of 1943 by hue: even chromas and 1, values 2 to 9 and 2.5 (where both 2 and 3 have the row); and neutrals."""
    chips = {}
    for value in [2, 2.5, 3, 4, 5, 6, 7, 8, 9, 9.5]:
        made = [chip(f"N {value:g}/", None, "low", (0, value, 0), (lightness(value), 0, 0))]
        around = (2, 3) if value == 2.5 else (value,)
        for hue in range(1, HUES + 1):
            for chroma in [1] + list(range(2, 2 * CHROMAS, 2)):
                keys = [(hue % HUES, v, max(chroma // 2, 1)) for v in around]
                if all(rows.get(key, (0, 0, 0))[2] == 1943 for key in keys):
                    colour = 2.5 * hue, value, chroma
                    notation = f"{hue_name(hue)} {value:g}/{chroma}"
                    made.append(chip(notation, None, "low", colour, grid.lab(hue % HUES, value, chroma)))
        chips[value] = made
    return chips


def chips(soil, path):
    rows = read_renotation(path)
    grid = Grid(rows)
    return ["munsell/tables.h"], chips_arrays("SOIL", soil_chips(soil, grid)) + chips_arrays("BOOK", book_chips(grid, rows))


def names(blocks, centres):
    rows = read_rows(centres, ["number", "name", "centre"])
    for i, (line, cells) in enumerate(rows):
        if cells[0] != str(i + 1) or not re.fullmatch(r"[a-z -]+", cells[1]):
            refuse(centres, line, f"name {i + 1} is due here, in small letters")
    header = ["number", "hue_from", "hue_to", "value_from", "value_to", "chroma_from", "chroma_to"]
    body = []
    for line, cells in read_rows(blocks, header):
        ends = [number(blocks, line, cell) for cell in cells[1:6]] + [cells[6] and number(blocks, line, cells[6])]
        low, high = ends[0::2], [end or "HUGE_VAL" for end in ends[1::2]]
        if not cells[0].isdigit() or not 1 <= int(cells[0]) <= len(rows):
            refuse(blocks, line, f"there is no name {cells[0]}")
        if any(end != "HUGE_VAL" and float(start) >= float(end) for start, end in zip(low, high)):
            refuse(blocks, line, "a block that begins at or beyond its end")
        body.append("    " + braces([f'"{rows[int(cells[0]) - 1][1][1]}"', braces(low), braces(high)]))
    return ["munsell/tables.h"], [
        f"const struct iscc_nbs_block ISCC_NBS_BLOCKS[{len(body)}] = {{\n" + ",\n".join(body) + "\n};\n",
        f"const size_t ISCC_NBS_BLOCK_COUNT = {len(body)};\n",
    ]


def limits(observer, illuminants):
    """Sums of observer times illuminant C from 380 nm on: the ends of a reflectance that jumps between 0 and 1. The products are
    read at 1 nm on straight lines, and scaled to end at the white exactly."""
    matching, light = read_bands(observer, ["xbar", "ybar", "zbar"]), read_bands(illuminants, ["A", "C", "D50", "D65"])
    bands = [[float(cell) * float(power[1]) for cell in row] for row, power in zip(matching, light)]
    sums = [[0.0, 0.0, 0.0]]
    for nm in range(380, 781):
        i = min((nm - 380) // 5, len(bands) - 2)
        part = (nm - 380) / 5 - i
        sums.append([total + low * (1 - part) + high * part for total, low, high in zip(sums[-1], bands[i], bands[i + 1])])
    white = WHITE_C[0] / WHITE_C[1], 1, (1 - WHITE_C[0] - WHITE_C[1]) / WHITE_C[1]
    scaled = [[100 * x * w / end for x, w, end in zip(row, white, sums[-1])] for row in sums]
    return ["munsell/tables.h"], [c_array("LIMIT_SUMS", [[digits(x) for x in row] for row in scaled])]


KINDS = {"renotation": renotation, "chips": chips, "names": names, "limits": limits}

if __name__ == "__main__":
    tables.run(KINDS, sys.argv[1:])
