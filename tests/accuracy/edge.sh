#!/bin/sh
# SPDX-License-Identifier: MIT
# Renders sections with a boundary of known place and thickness, and sections of one deposit in drifting light, reads the colour along
# the line drawn on each with the program as a user would, and prints how well boundaries are found.
#
#   sh tests/accuracy/edge.sh BUILD EDGES SECTIONS [FIRST_SEED] [measured]
#
# BUILD is a build folder (release is faster); seeds FIRST_SEED (default 100001) onward. Seeds below 100000 are for tuning; what is
# reported comes from 100001 on. With `measured`, spectra are those of ../shared/spectra. The exit status is 1 where a share is below
# its target.
set -eu
build=$1 edges=$2 sections=$3 first=${4:-100001} source=${5:-}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT INT TERM

for kind in edge section; do
  count=$edges
  [ $kind = edge ] || count=$sections
  seed=$first
  : >"$folder/$kind.jsonl"
  : >"$folder/$kind.csv"
  while [ "$seed" -lt $((first + count)) ]; do
    name=$folder/$kind-$seed
    # shellcheck disable=SC2086  # no word at all when the spectra are our own
    "$build/tests/support/render_scene" $kind "$seed" "$name" $source
    line=$(tail -n 1 "$name-edge.csv" | awk -F, '{ print $2 "," $3 " " $4 "," $5 }')
    "$build/src/cli/tawny" edge "$name.jpg" --line "$line" --json >>"$folder/$kind.jsonl" 2>>"$folder/faults" || :
    tail -n 1 "$name-edge.csv" >>"$folder/$kind.csv"
    rm -f "$name".* "$name"-*.csv
    seed=$((seed + 1))
  done
done
echo "${source:-formula-made} spectra, seeds from $first"
"$build/tests/accuracy/edge_table" "$folder/edge.csv" "$folder/edge.jsonl" "$folder/section.csv" "$folder/section.jsonl"
