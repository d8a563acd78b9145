#!/bin/sh
# SPDX-License-Identifier: MIT
# browser.sh SOURCE_ROOT TAWNY BROWSER_APART: --corrected pictures of the samples, shown by Chromium with the profile in them, against
# the readings. 77 where there is no Chromium.
set -eu
root=$1 tawny=$2 apart=$3
chromium=$(command -v chromium || command -v chromium-browser) || { echo 'skipped: no chromium here'; exit 77; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# show PAGE: what the page says once its script has run.
show() {
  timeout 120 "$chromium" --headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking \
    --disable-component-update --disable-sync --force-color-profile=srgb --allow-file-access-from-files \
    --user-data-dir="$work/profile" --virtual-time-budget=60000 --dump-dom "file://$1" 2>"$work/browser.txt" ||
    { cat "$work/browser.txt" >&2; return 1; }
}

page() {
  printf '<!doctype html><meta charset="utf-8"><title>regions</title><body></body><script>const picture = "%s";\nconst read = ' "$1"
  cat "$work/read.json"
  printf ';\nconst regions = `'
  cat "$root/samples/regions.csv"
  printf '`;\n'
  cat "$root/tests/outside/browser.js"
  printf '</script>\n'
}

failed=0
for photo in "$root"/samples/*.jpg; do
  for ending in png jpg; do
    name=$(basename "$photo" .jpg).$ending
    "$tawny" read "$photo" --regions "$root/samples/regions.csv" --json --corrected "$work/$name" >"$work/read.json"
    page "$name" >"$work/page.html"
    show "$work/page.html" >"$work/shown.txt"
    printf '%s\n' "$name"
    "$apart" <"$work/shown.txt" || failed=1
  done
done
exit $failed
