# SPDX-License-Identifier: MIT
"""Reads the #include lines of src: a file includes headers of its own floor and of lower ones only, a library stays in the floors that
wrap it, and every header compiles alone.

    floors.py SOURCE_ROOT COMPILER OPTION...
"""
import os
import re
import subprocess
import sys

# The number is the floor; image and colour stand on one floor and know nothing of each other.
FLOOR = {"base": 0, "colour": 1, "image": 1, "munsell": 2, "card": 3, "profile": 4, "light": 5, "region": 6, "measure": 7,
         "compare": 8, "report": 10, "cli": 12}
# Folders that may include a header of each library.
LIBRARY = {
    "lcms2": {"image/encoding", "card", "profile"},
    "jpeglib": {"image"},
    "jerror": {"image"},
    "png": {"image"},
    "libexif/": {"image"},
    "jansson": {"region", "compare", "report"},
    "nettle/": {"base"},
}
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]')


def fault_of_own(folder, name):
    other = name.split("/")[0]
    if other not in FLOOR or "/" not in name:
        return "write the path from src, as in base/text.h"
    if other != folder and FLOOR[other] >= FLOOR[folder]:
        return f"{folder} stands on floor {FLOOR[folder]}, {other} on {FLOOR[other]}"
    return None


def fault_of_library(place, name):
    for library, allowed in LIBRARY.items():
        if name.startswith(library) and not any(place == a or place.startswith(a + "/") for a in allowed):
            return f"only {', '.join(sorted(allowed))} may use this library"
    return None


def sources(root):
    for folder, _, names in sorted(os.walk(os.path.join(root, "src"))):
        for name in sorted(names):
            if name.endswith((".c", ".h")):
                yield os.path.relpath(os.path.join(folder, name), os.path.join(root, "src"))


def faults_of_file(root, path):
    folder, place = path.split("/")[0], path.rsplit(".", 1)[0]
    if folder not in FLOOR:
        yield f"src/{path}: {folder} is no floor; add it to this test"
        return
    with open(os.path.join(root, "src", path), encoding="utf-8") as file:
        for number, line in enumerate(file, 1):
            found = INCLUDE.match(line)
            if found:
                own = found.group(1) == '"'
                fault = fault_of_own(folder, found.group(2)) if own else fault_of_library(place, found.group(2))
                if fault:
                    yield f"src/{path}:{number}: {found.group(2)}: {fault}"


def fault_of_header(root, path, compiler):
    command = compiler + ["-fsyntax-only", "-x", "c", "-I", os.path.join(root, "src"), "-include", path, os.devnull]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return f"src/{path} does not compile alone:\n{done.stderr}" if done.returncode else None


def check_self():
    """The rules find what they are for."""
    assert fault_of_own("card", "profile/profile.h") and fault_of_own("image", "colour/space.h")
    assert fault_of_own("card", "pose.h") and not fault_of_own("card", "card/pose.h") and not fault_of_own("card", "base/text.h")
    assert fault_of_library("light/light", "lcms2.h") and fault_of_library("image/jpeg", "lcms2.h")
    assert not fault_of_library("image/encoding", "lcms2.h") and not fault_of_library("card/cgats", "lcms2.h")
    assert fault_of_library("cli/read", "jansson.h") and not fault_of_library("region/file_json", "jansson.h")


def main():
    root, compiler = sys.argv[1], sys.argv[2:]
    check_self()
    failed = passed = 0
    for path in sources(root):
        faults = list(faults_of_file(root, path))
        if path.endswith(".h"):
            faults += filter(None, [fault_of_header(root, path, compiler)])
        for fault in faults:
            print(fault)
        failed += bool(faults)
        passed += not faults
    total = passed + failed
    # One case a file, in the form in which the other tests report.
    print(f"{100 * passed // max(total, 1)}%: Checks: {total}, Failures: {failed}, Errors: 0")
    return 1 if failed or not passed else 0


sys.exit(main())
