# SPDX-License-Identifier: MIT
"""Counts the test cases in meson's log: those that Check ran in each program, and programs without Check as one case each."""
import re
import sys

BLOCK = re.compile(r"^=+ *\d+/\d+ *=+$", re.M)
SUITE = re.compile(r"^\d+%: Checks: (\d+), Failures: (\d+), Errors: (\d+)$", re.M)


def result_of(block):
    found = re.search(r"^result: +(.*)$", block, re.M)
    return found.group(1) if found else "never ended"


def count(log):
    passed = failed = skipped = 0
    for block in BLOCK.split(log)[1:]:
        result = result_of(block)
        suites = [[int(n) for n in suite] for suite in SUITE.findall(block)]
        cases = sum(checks for checks, _, _ in suites) or 1
        bad = sum(failures + errors for _, failures, errors in suites)
        if result not in ("exit status 0", "exit status 77") and bad == 0:
            bad = 1  # died, timed out, or found a leak behind its last case
        # A case that lacks what it needs says so at the start of a line, and Check takes it for passed.
        missed = min(len(re.findall(r"^skipped", block, re.M)) or int(result == "exit status 77"), cases - min(bad, cases))
        failed += bad
        skipped += missed
        passed += max(cases - bad - missed, 0)
    return passed, failed, skipped


def main():
    try:
        with open(sys.argv[1], encoding="utf-8", errors="replace") as file:
            passed, failed, skipped = count(file.read())
    except FileNotFoundError:
        passed = failed = skipped = 0
    print(f"{passed} passed, {failed} failed" + (f", {skipped} skipped" if skipped else ""))
    return 1 if failed or not passed else 0


sys.exit(main())
