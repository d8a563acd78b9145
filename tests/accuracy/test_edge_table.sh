#!/bin/sh
# SPDX-License-Identifier: MIT
# What edge_table must refuse: a program that never finds a boundary, and a run that wrote no line.
#   sh tests/accuracy/test_edge_table.sh EDGE_TABLE
set -eu
table=$1
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT INT TERM

photo() {
  echo "{\"photo\": {\"file\": \"$1\"}, \"edges\": [$2]}"
}
found='{"found": true, "place": {"pixels": [200, 199, 201]}, "thickness": {"mm": [10, 8, 12]}, "at_most": false,
  "class": {"usda": "abrupt", "usda_least": "abrupt", "usda_most": "abrupt"}, "difference": {"de00": 6, "uncertainty": 1}}'
found=$(echo "$found" | tr -d '\n')
none='{"found": false}'

# Exit status $1 is due, and the words $2 somewhere.
expect() {
  status=0
  "$table" "$folder/edge.csv" "$folder/edge.jsonl" "$folder/section.csv" "$folder/section.jsonl" >"$folder/said" 2>&1 || status=$?
  if [ "$status" != "$1" ] || ! grep -q "$2" "$folder/said"; then
    echo "exit status $status, not $1 with: $2" >&2
    cat "$folder/said" >&2
    exit 1
  fi
}

printf 'a.jpg,0,0,9,9,200,1,10,10,6\nb.jpg,0,0,9,9,200,1,10,10,6\n' >"$folder/edge.csv"
printf 'c.jpg,0,0,9,9,,,,,\n' >"$folder/section.csv"
photo c.jpg "$none" >"$folder/section.jsonl"
{ photo a.jpg "$found" && photo b.jpg "$found"; } >"$folder/edge.jsonl"
expect 0 'boundary told apart .* 2 of '
{ photo a.jpg "$none" && photo b.jpg "$none"; } >"$folder/edge.jsonl"
expect 1 'boundary told apart .* 0 of '
photo b.jpg "$found" >"$folder/edge.jsonl"
expect 2 'edge.jsonl has no line about a.jpg'
photo a.jpg "$found" >"$folder/edge.jsonl"
expect 2 'edge.jsonl has no line about b.jpg'
rm "$folder/edge.jsonl"
expect 2 "edge.jsonl can't be opened"
