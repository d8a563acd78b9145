#!/bin/sh
# SPDX-License-Identifier: MIT
# Builds the program and reads the sample photos. Leaves readings (text and JSON) and drawn photos in build/readings.
set -eu
cd "$(dirname "$0")/.."
. tests/needs.sh

# shellcheck disable=SC2119  # no packages beyond those of the build
install_missing
build build --buildtype=release
tawny=build/src/cli/tawny
out=build/readings
mkdir -p "$out"

for photo in samples/*.jpg; do
  name=$(basename "$photo" .jpg)
  printf '\n===== %s\n\n' "$photo"
  "$tawny" read "$photo" --regions samples/regions.csv --overlay "$out/$name.png" >"$out/$name.txt"
  cat "$out/$name.txt"
done
"$tawny" read samples/*.jpg --regions samples/regions.csv --json >"$out/readings.jsonl"
printf '\n===== the section dry and moist\n\n'
"$tawny" compare samples/section-dry.jpg samples/section-moist.jpg --regions samples/regions.csv \
  --picture "$out/pairs.svg" >"$out/pairs.txt"
cat "$out/pairs.txt"
printf '\n===== a line across a boundary of the section\n\n'
"$tawny" edge samples/section-moist.jpg --line "450,150 450,400" --picture "$out/edge.svg" >"$out/edge.txt"
cat "$out/edge.txt"
printf '\n===== the section divided by colour\n\n'
"$tawny" propose samples/section-moist.jpg --outlines "$out/proposed.json" --overlay "$out/proposed.png" >"$out/proposed.txt"
cat "$out/proposed.txt"

printf '\nReadings as text and JSON, and the photos with what was read drawn on them, are in %s:\n' "$out"
ls "$out"
printf '\nOn a photo of yours: %s read PHOTO --regions FILE\n' "$tawny"
