#!/bin/sh
# SPDX-License-Identifier: MIT
# Renders scenes with known colours, reads them with the program as a user would, and prints the accuracy tables.
#
#   sh tests/accuracy/run.sh BUILD SCENES [FIRST_SEED] [measured]
#
# BUILD is a build folder (release is faster); SCENES a tier; seeds FIRST_SEED (default 100001) onward. Seeds below 100000 are for
# tuning; what is reported comes from 100001 on. With `measured`, spectra are those of ../shared/spectra.
set -eu
build=$1 scenes=$2 first=${3:-100001} source=${4:-}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT INT TERM

for tier in clean field hard; do
  seed=$first
  head= readings=$folder/$tier.jsonl truth=$folder/$tier.csv
  : >"$readings"
  while [ "$seed" -lt $((first + scenes)) ]; do
    name=$folder/$tier-$seed
    # shellcheck disable=SC2086  # no word at all when the spectra are our own
    "$build/tests/support/render_scene" $tier "$seed" "$name" $source
    photo=$(ls "$name".*)
    "$build/src/cli/tawny" read "$photo" --regions "$name-regions.csv" --json >>"$readings" 2>>"$folder/faults" || :
    [ -n "$head" ] || head -n 1 "$name-truth.csv" >"$truth"
    head=done
    tail -n +2 "$name-truth.csv" >>"$truth"
    rm -f "$photo" "$name"-*.csv
    seed=$((seed + 1))
  done
  "$build/tests/accuracy/accuracy_table" "$tier, ${source:-formula-made} spectra, seeds $first to $((first + scenes - 1))" \
    "$truth" <"$readings"
done
