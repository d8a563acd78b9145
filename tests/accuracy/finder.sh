#!/bin/sh
# SPDX-License-Identifier: MIT
# The card finder on real photos: sh tests/accuracy/finder.sh BUILD [FOLDER [CROPS]]
# BUILD: a release build. FOLDER: photos with truth.csv, ../shared/photos if not given. CROPS: tries of pieces a photo.
set -eu
build=${1:?"BUILD missing: a release build, as made by meson setup BUILD --buildtype=release"}
folder=${2:-$(dirname "$0")/../../../shared/photos}
if [ ! -f "$folder/truth.csv" ]; then
  echo "skipped: no photos at $folder"
  exit 0
fi
ninja -C "$build" tests/accuracy/finder_table >/dev/null
"$build/tests/accuracy/finder_table" "$folder" "${3:-50}"
