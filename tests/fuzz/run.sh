#!/bin/sh
# SPDX-License-Identifier: MIT
# Searches for input that breaks a fuzz target, with clang's libFuzzer and sanitizers (Debian: clang, libclang-rt-14-dev).
# Usage: tests/fuzz/run.sh TARGET SECONDS [WORK-FOLDER]
# New input that reaches new code gathers in WORK-FOLDER/corpus; what breaks the target in WORK-FOLDER itself.
set -eu

target=${1:?name a target, e.g. image}
seconds=${2:?say for how many seconds}
root=$(cd "$(dirname "$0")/../.." && pwd)
work=${3:-$(mktemp -d)}
mkdir -p "$work/corpus"

case $target in
convert)
  made="src/colour/cie_tables.c src/munsell/munsell_renotation.c src/munsell/munsell_chips.c
    src/munsell/munsell_names.c src/munsell/munsell_limits.c"
  [ -d "$work/build" ] || meson setup "$work/build" "$root" >"$work/build.log"
  # shellcheck disable=SC2086
  ninja -C "$work/build" $made >>"$work/build.log"
  sources="$root/src/cli/convert_line.c $root/src/munsell/*.c $root/src/colour/*.c $root/src/base/*.c
    $work/build/src/colour/*.c $work/build/src/munsell/*.c"
  libraries="nettle"
  seeds="$root/tests/fuzz/corpus/convert"
  ;;
image)
  sources="$root/tests/fuzz/mutate_png.c $root/src/base/*.c $root/src/image/*.c"
  libraries="libjpeg libpng lcms2 libexif nettle"
  seeds="$root/tests/fuzz/corpus/image $root/tests/refused/image"
  ;;
regions)
  # only what the target calls: reading and checking outlines needs no photo
  sources="$root/src/base/*.c"
  for file in file file_csv file_json list outline region svg; do
    sources="$sources $root/src/region/$file.c"
  done
  libraries="jansson nettle lcms2 libpng"
  seeds="$root/tests/fuzz/corpus/regions"
  ;;
saved)
  [ -d "$work/build" ] || meson setup "$work/build" "$root" >"$work/build.log"
  # the cards are embedded by a step that building the program takes
  ninja -C "$work/build" src/cli/tawny >>"$work/build.log"
  sources="-DTAWNY_VERSION=\"0\" $(ls "$root"/src/*/*.c | grep -v /cli/) $(ls "$work"/build/src/*/*.c)"
  libraries="jansson nettle lcms2 libpng libjpeg libexif"
  seeds="$root/tests/fuzz/corpus/saved"
  ;;
*)
  echo "no such target: $target" >&2
  exit 2
  ;;
esac

# shellcheck disable=SC2046,SC2086 # lists of words
clang -g -O1 -std=gnu11 -D_GNU_SOURCE -fsanitize=fuzzer,address,undefined -fno-sanitize-recover=undefined \
  -I"$root/src" $(pkg-config --cflags $libraries) "$root/tests/fuzz/fuzz_$target.c" $sources \
  $(pkg-config --libs $libraries) -lm -o "$work/fuzz_$target"
cd "$work"
# shellcheck disable=SC2086
exec ./fuzz_"$target" -max_total_time="$seconds" -max_len=6000 -timeout=20 -rss_limit_mb=4096 corpus $seeds
