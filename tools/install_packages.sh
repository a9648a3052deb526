#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs the Debian packages the project is built and tested with. This list
# is the only one. Does nothing when all are there, so it works offline then.
set -eu

packages="
  ca-certificates
  chromium
  clang
  clang-format
  cmake
  dpkg-dev
  fakeroot
  fish
  g++
  ghdl
  groff
  iverilog
  libboost-dev
  libclang-rt-14-dev
  libcli11-dev
  libeigen3-dev
  libexpected-dev
  libfftw3-dev
  libisal-dev
  libplplot-dev
  libplplot17
  libpq-dev
  libpugixml-dev
  libsoci-dev
  libsqlite3-dev
  libzstd-dev
  man-db
  ninja-build
  pkg-config
  postgresql
  nlohmann-json3-dev
  doctest-dev
  python3
  python3-jsonschema
  python3-junitparser
  python3-pytest
  python3-scipy
  verilator
  zsh
"

if ! command -v dpkg-query >/dev/null; then
  echo "install_packages.sh: this is not Debian; please install what these" \
    "packages hold: $(echo $packages)" >&2
  exit 1
fi

missing=""
for package in $packages; do
  # shellcheck disable=SC2016  # the format is dpkg-query's own
  status=$(dpkg-query -W -f '${db:Status-Abbrev}' "$package" 2>/dev/null || true)
  case $status in
    ii*) ;;
    *) missing="$missing $package" ;;
  esac
done
# Any npm does; Debian's comes with much beside it.
command -v npm >/dev/null || missing="$missing npm"
[ -n "$missing" ] || exit 0

if [ "$(id -u)" -ne 0 ]; then
  echo "install_packages.sh: these packages are missing; please install them" \
    "as root:" >&2
  echo "  apt-get install$missing" >&2
  exit 1
fi
export DEBIAN_FRONTEND=noninteractive
apt-get update
# shellcheck disable=SC2086  # a list of words
apt-get install -y --no-install-recommends $missing
