#!/bin/sh
# SPDX-License-Identifier: MIT
# Builds the program and reads the sample photos. Leaves readings (text and JSON) and pictures in build/readings.
set -eu
cd "$(dirname "$0")/.."
. tests/needs.sh

install_missing
build build --buildtype=release
tawny=build/src/cli/tawny
out=build/readings
mkdir -p "$out"

for photo in samples/*.jpg; do
  name=$(basename "$photo" .jpg)
  set -- "$photo" --regions samples/regions.csv
  printf '\n===== %s\n\n' "$photo"
  "$tawny" read "$@" --overlay "$out/$name.png" | tee "$out/$name.txt"
  "$tawny" read "$@" --json >"$out/$name.json"
done

printf '\nReadings as text and JSON, and the photos with what was read drawn on them, are in %s:\n' "$out"
ls "$out"
printf '\nOn a photo of yours: %s read PHOTO --regions FILE\n' "$tawny"
