# SPDX-License-Identifier: MIT
# Sourced by samples/try.sh and tests/run.sh: Debian packages that are missing, and the build.

needed="gcc meson ninja-build pkg-config python3 libjpeg62-turbo-dev libpng-dev liblcms2-dev libexif-dev nettle-dev libjansson-dev"

# More packages may be named. Nothing is touched where all are there.
install_missing() {
  missing=
  for package in $needed "$@"; do
    dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q '^install ok installed$' || missing="$missing $package"
  done
  [ -n "$missing" ] || return 0
  root=
  [ "$(id -u)" -eq 0 ] || root=sudo
  echo "Installing:$missing"
  $root env DEBIAN_FRONTEND=noninteractive apt-get -q update
  # shellcheck disable=SC2086
  $root env DEBIAN_FRONTEND=noninteractive apt-get -q -y --no-install-recommends install $missing
}

# build FOLDER OPTIONS...: sets the folder up once, and compiles.
build() {
  folder=$1
  shift
  [ -f "$folder/build.ninja" ] || meson setup "$folder" "$@"
  meson compile -C "$folder"
}
