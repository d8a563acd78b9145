#!/bin/sh
# SPDX-License-Identifier: MIT
# Real photos of the 24-patch chart, each patch read from the others: sh tests/accuracy/cards.sh BUILD [FOLDER]
# BUILD: a release build. FOLDER: photos with truth.csv, ../shared/photos if not given.
set -eu
build=${1:?"BUILD missing: a release build, as made by meson setup BUILD --buildtype=release"}
folder=${2:-$(dirname "$0")/../../../shared/photos}
if [ ! -f "$folder/truth.csv" ]; then
  echo "skipped: no photos at $folder"
  exit 0
fi
ninja -C "$build" src/cli/tawny tests/accuracy/cards_table >/dev/null
ls "$folder"/*.jpg "$folder"/*.png | { "$build/src/cli/tawny" check - --json 2>/dev/null || :; } |
  "$build/tests/accuracy/cards_table" "$folder"
