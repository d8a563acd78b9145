#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Writes pigments.csv: how far patches of the classic chart read off when a camera is set up for soils.

    pigments.py > pigments.csv

A camera is no colorimeter: the 3x3 that is right for soils is wrong for a blue or a yellow pigment by an amount that
depends on camera and light. For cameras, lights and soils made from formulas (below; seeds fixed, so that the output is
always the same) the 3x3 best for the soils is found and applied to the chart's reflectances. The discrepancies of all
patches, in CIEDE2000 units, are reduced to their first COMPONENTS principal components about zero. README.md has the rest.
"""

import csv
import math
import pathlib
import random
import re

HERE = pathlib.Path(__file__).parent
WAVES = list(range(380, 781, 10))
CAMERAS, LIGHTS, SOILS, COMPONENTS = 60, 12, 120, 6
WHITE = (96.42, 100.0, 82.49)


def table(path, key):
    """{row name: spectrum on WAVES} of a table whose first column is the wavelength, or whose header is."""
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows = list(csv.reader(lines))
    if key == "columns":
        points = [(float(row[0]), row[1:]) for row in rows[1:]]
        return {name: [interpolate([(w, float(cells[i])) for w, cells in points], wave) for wave in WAVES]
                for i, name in enumerate(rows[0][1:])}
    waves = [float(cell) for cell in rows[0][2:]]
    return {row[1]: [interpolate(list(zip(waves, map(float, row[2:]))), wave) for wave in WAVES] for row in rows[1:]}


def interpolate(points, at):
    if at <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return points[-1][1]


OBSERVER = table(HERE / "../cie/observer-1931-2deg.csv", "columns")
ILLUMINANTS = table(HERE / "../cie/illuminants.csv", "columns")
DAYLIGHT = table(HERE / "../cie/daylight.csv", "columns")
CHART = table(HERE / "chart24-reflectance.csv", "rows")


def published_colours():
    """Lab of the chart's patches by name, by which the program knows them."""
    text = (HERE / "../cards/chart24-mean30.txt").read_text(encoding="ascii")
    rows = re.findall(r'^\d+ +"([^"]+)"(.*)$', text, re.MULTILINE)
    return {name: [float(cell) for cell in rest.split()[4:7]] for name, rest in rows}


def dot(a, b):
    return sum(x * y for x, y in zip(a, b))


def camera(rng):
    """Three skewed normal bands with a little of each in the others, cut off in the ultraviolet and the infrared. Centres and
    widths are of the size that published measurements of cameras show (Jiang et al. 2013)."""
    bands = []
    for centre, shift, left, right in ((597, 6, 28, 44), (533, 5, 36, 42), (460, 7, 26, 40)):
        peak = rng.gauss(centre, shift)
        left, right = left * math.exp(rng.gauss(0, 0.12)), right * math.exp(rng.gauss(0, 0.15))
        bands.append([math.exp(-0.5 * ((w - peak) / (left if w < peak else right)) ** 2) for w in WAVES])
    leak = [[1 if i == j else abs(rng.gauss(0, 0.05)) for j in range(3)] for i in range(3)]
    infrared, ultraviolet = rng.gauss(665, 12), rng.gauss(413, 6)
    window = [1 / (1 + math.exp((w - infrared) / 8)) / (1 + math.exp((ultraviolet - w) / 5)) for w in WAVES]
    return [[dot(row, column) * gate for column, gate in zip(zip(*bands), window)] for row in leak]


def daylight(kelvin):
    """CIE 15, 4.1.2."""
    t = 1000 / kelvin
    if kelvin <= 7000:
        x = 0.244063 + 0.09911 * t + 2.9678 * t ** 2 - 4.6070 * t ** 3
    else:
        x = 0.237040 + 0.24748 * t + 1.9018 * t ** 2 - 2.0064 * t ** 3
    y = -3 * x * x + 2.87 * x - 0.275
    m = 0.0241 + 0.2562 * x - 0.7341 * y
    m1, m2 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m, (0.03 - 31.4424 * x + 30.0717 * y) / m
    return [s0 + m1 * s1 + m2 * s2 for s0, s1, s2 in zip(*(DAYLIGHT[name] for name in ("S0", "S1", "S2")))]


def white_diode(rng):
    """A blue peak and a broad phosphor band."""
    blue, narrow = rng.gauss(452, 6), rng.uniform(8, 13)
    phosphor, broad, share = rng.uniform(550, 595), rng.uniform(48, 62), rng.uniform(0.3, 1.6)
    return [share * math.exp(-0.5 * ((w - blue) / narrow) ** 2) + math.exp(-0.5 * ((w - phosphor) / broad) ** 2)
            for w in WAVES]


def light(rng):
    return white_diode(rng) if rng.random() < 0.25 else daylight(1e6 / rng.uniform(90, 225))


def soil(rng):
    """Log reflectance: a rise towards the red, the step of iron oxides near 560 nm, their band near 485 nm, and a fall
    in the violet. Ranges give colours as published survey records have them."""
    level, step = math.log(rng.uniform(0.05, 0.32)), rng.uniform(0.03, 0.9)
    edge, width = rng.gauss(560, 9), 24 * math.exp(rng.gauss(0, 0.2))
    rise, band, violet = rng.uniform(0.1, 0.8), rng.uniform(0, 0.25) * step, rng.uniform(0, 0.25)
    centre = rng.gauss(485, 8)
    return [min(0.95, math.exp(level + step * (1 / (1 + math.exp(-(w - edge) / width)) - 0.5)
                               + rise * math.tanh((w - 580) / 200) - band * math.exp(-0.5 * ((w - centre) / 28) ** 2)
                               - violet * max(0, (480 - w) / 100))) for w in WAVES]


def weighted_observer():
    d50 = ILLUMINANTS["D50"]
    bands = [[e * o for e, o in zip(d50, OBSERVER[name])] for name in ("xbar", "ybar", "zbar")]
    return [[100 * v / sum(bands[1]) * WHITE[i] / (100 * sum(band) / sum(bands[1])) for v in band]
            for i, band in enumerate(bands)]


def to_lab(xyz):
    f = [(v / w) ** (1 / 3) if v / w > (6 / 29) ** 3 else v / w * 841 / 108 + 4 / 29 for v, w in zip(xyz, WHITE)]
    return (116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2]))


def scales(lab):
    """S_L, S_C, S_H of CIEDE2000 without its hue term."""
    chroma = math.hypot(lab[1], lab[2])
    return (1 + 0.015 * (lab[0] - 50) ** 2 / math.sqrt(20 + (lab[0] - 50) ** 2), 1 + 0.045 * chroma, 1 + 0.015 * chroma)


def in_units(lab, off):
    """A difference in Lab as (dL/S_L, dC/S_C, dH/S_H)."""
    sl, sc, sh = scales(lab)
    h = math.atan2(lab[2], lab[1])
    c, s = math.cos(h), math.sin(h)
    return (off[0] / sl, (c * off[1] + s * off[2]) / sc, (c * off[2] - s * off[1]) / sh)


def out_of_units(lab, units):
    sl, sc, sh = scales(lab)
    h = math.atan2(lab[2], lab[1])
    c, s = math.cos(h), math.sin(h)
    return (units[0] * sl, c * units[1] * sc - s * units[2] * sh, s * units[1] * sc + c * units[2] * sh)


def solve3(a, b):
    """x of a x = b (3x3, any number of right columns) by elimination with pivots."""
    rows = [list(row) + list(right) for row, right in zip(a, b)]
    for k in range(3):
        p = max(range(k, 3), key=lambda i: abs(rows[i][k]))
        rows[k], rows[p] = rows[p], rows[k]
        for i in range(3):
            if i != k:
                factor = rows[i][k] / rows[k][k]
                rows[i] = [x - factor * y for x, y in zip(rows[i], rows[k])]
    return [[x / rows[k][k] for x in rows[k][3:]] for k in range(3)]


def best_matrix(signals, targets):
    """Rows X Y Z of the 3x3 with least squares in lightness-like units: each row is weighed by Y^(-2/3); a mid grey counts
    as a tenth of the soils."""
    grey = [0.5 * v for v in WHITE]
    rows = [(s, t, t[1] ** (-4 / 3)) for s, t in zip(signals, targets)]
    rows.append(([0.5] * 3, grey, 0.1 * len(signals) * grey[1] ** (-4 / 3)))
    a = [[sum(w * s[i] * s[j] for s, _, w in rows) for j in range(3)] for i in range(3)]
    b = [[sum(w * s[i] * t[j] for s, t, w in rows) for j in range(3)] for i in range(3)]
    return list(zip(*solve3(a, b)))


def discrepancies(soils, patches, observer):
    """A row for each camera and light: discrepancies of all patches in CIEDE2000 units."""
    rng = random.Random(3)
    cameras, lights = [camera(rng) for _ in range(CAMERAS)], [light(rng) for _ in range(LIGHTS)]
    soil_targets = [[dot(r, band) for band in observer] for r in soils]
    labs = [to_lab([dot(r, band) for band in observer]) for r in patches]
    rows = []
    for sensor in cameras:
        for source in lights:
            bands = [[s * e / dot(channel, source) for s, e in zip(channel, source)] for channel in sensor]
            matrix = best_matrix([[dot(r, band) for band in bands] for r in soils], soil_targets)
            row = []
            for r, lab in zip(patches, labs):
                signal = [dot(r, band) for band in bands]
                seen = to_lab([max(dot(line, signal), 1e-4) for line in matrix])
                row += in_units(lab, [x - y for x, y in zip(seen, lab)])
            rows.append(row)
    return rows


def components(rows):
    """Leading principal axes about zero, times their standard deviation: power iteration with deflation."""
    size = len(rows[0])
    moment = [[sum(row[i] * row[j] for row in rows) / len(rows) for j in range(size)] for i in range(size)]
    found = []
    for _ in range(COMPONENTS):
        axis = [1.0 + 0.01 * i for i in range(size)]
        for _ in range(400):
            axis = [dot(line, axis) for line in moment]
            norm = math.sqrt(dot(axis, axis))
            axis = [v / norm for v in axis]
        value = dot(axis, [dot(line, axis) for line in moment])
        moment = [[m - value * x * y for m, y in zip(line, axis)] for line, x in zip(moment, axis)]
        found.append([math.sqrt(value) * v for v in axis])
    return found


def main():
    rng = random.Random(5)
    soils = [soil(rng) for _ in range(SOILS)]
    found = components(discrepancies(soils, list(CHART.values()), weighted_observer()))
    colours = published_colours()
    print("# Made by pigments.py: discrepancies of chart patches, CIELAB, one standard deviation of each component. README.md.")
    print("patch,L,a,b," + ",".join(f"{axis}{k}" for k in range(1, COMPONENTS + 1) for axis in ("dL", "da", "db")))
    for i, name in enumerate(CHART):
        lab = colours[name]
        cells = [out_of_units(lab, axis[3 * i:3 * i + 3]) for axis in found]
        print(",".join([name] + [f"{v:g}" for v in lab]) + "," + ",".join(f"{v:.3f}" for c in cells for v in c))


if __name__ == "__main__":
    main()
