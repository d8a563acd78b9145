#!/bin/sh
# SPDX-License-Identifier: MIT
# Builds with sanitizers, runs every test, and ends on a line "N passed, N failed, N skipped" that counts single cases. The exit
# status is not 0 when any failed, or none ran.
set -eu
cd "$(dirname "$0")/.."
. tests/needs.sh

install_missing check chromium liblcms2-utils
build build-test -Db_sanitize=address,undefined

export ASAN_OPTIONS=detect_leaks=1 UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1
log=build-test/meson-logs/testlog.txt
rm -f "$log"
meson test -C build-test --print-errorlogs --timeout-multiplier 5 "$@" || true
python3 tests/count.py "$log"
