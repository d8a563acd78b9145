#!/bin/sh
# SPDX-License-Identifier: MIT
# Renders scenes, lets the program propose deposits as a user would, and holds the outlines against the true layout.
#
#   sh tests/accuracy/division.sh BUILD SCENES [FIRST_SEED] [measured]
#
# Kinds: the three tiers; `section`, one deposit in field light; `near`, two deposits 2.0 CIEDE2000 apart; `things`, a face with a
# board, a string and a scale bar on it. Seeds below 100000 are for tuning; what is reported comes from 100001 on. KINDS in the
# environment names fewer. On hard scenes the card may not be found; those are counted as failed.
set -eu
build=$1 scenes=$2 first=${3:-100001} source=${4:-}
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT INT TERM

# Field $1 of the figures, its quantile $2.
quantile() {
  sort -n -k "$1,$1" "$folder/figures" | awk -v f="$1" -v q="$2" '{v[NR] = $f} END {print v[int(q * (NR - 1) + 0.5) + 1]}'
}

for kind in ${KINDS:-clean field hard section near things}; do
  seed=$first failed=0
  : >"$folder/figures"
  while [ "$seed" -lt $((first + scenes)) ]; do
    name=$folder/$kind-$seed
    # shellcheck disable=SC2086  # no word at all when the spectra are our own
    "$build/tests/support/render_scene" $kind "$seed" "$name" $source
    photo=$(ls "$name".*g)
    if "$build/src/cli/tawny" propose "$photo" --outlines "$name.json" >/dev/null 2>&1; then
      # shellcheck disable=SC2086
      "$build/tests/accuracy/division_table" $kind "$seed" "$name.json" $source >>"$folder/figures"
    else
      failed=$((failed + 1))
    fi
    rm -f "$name"*
    seed=$((seed + 1))
  done
  [ -z "${FIGURES:-}" ] || cp "$folder/figures" "$FIGURES-$kind"
  echo "$kind, ${source:-formula-made} spectra, seeds $first to $((first + scenes - 1)); card not found in $failed"
  echo "  share of the face right: median $(quantile 3 0.5), 10th percentile $(quantile 3 0.1)"
  echo "  true boundary to the nearest proposed, pixels: median $(quantile 5 0.5) (of scenes' medians), $(quantile 6 0.5) (of their 95th percentiles)"
  awk '{one += $1 == 1; two += $1 >= 2; right += $1 == $2} END {
    printf "  scenes of %d with one letter %d, with two or more %d, with as many as there are deposits %d\n", NR, one, two, right}' "$folder/figures"
  awk '{if ($7 > c) c = $7; if ($8 > t) t = $8; s += $8} END {
    printf "  inside outlines: of the card at most %.4f; of things %.4f on average, at most %.4f\n", c, s / (NR ? NR : 1), t}' "$folder/figures"
  # With CHECK set, a bad figure is a failure: most sections are one, some near deposits two, faces mostly right, no card inside.
  [ -z "${CHECK:-}" ] || awk -v kind="$kind" '{one += $1 == 1; two += $1 >= 2; right += $3; if ($7 > 0.01) card++} END {
    exit !(NR > 0 && !card && (kind != "section" || one >= 0.75 * NR) && (kind != "near" || two >= 0.5 * NR) &&
           (kind == "near" || right / NR >= 0.85))}' "$folder/figures" || { echo "$kind: out of bounds" >&2; exit 1; }
done
