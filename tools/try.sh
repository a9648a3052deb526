#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Shows the main job: installs what is missing, builds, and judges the bundled
# capture of a field data logger's clock output. Exits as clockassay does.
set -eu
cd "$(dirname "$0")/.."

build=build-release
specification=testdata/demo/logger.json
capture=testdata/demo/good-board.vcd
timebase=2ppm

log=$(mktemp)
trap 'rm -f "$log"' EXIT
# What goes right is not worth reading; what goes wrong is shown whole.
quietly() {
  "$@" >"$log" 2>&1 || {
    cat "$log" >&2
    echo "try.sh: this went wrong: $*" >&2
    exit 1
  }
}

echo "Installing what is missing and building; this takes a few minutes." >&2
quietly tools/install_packages.sh
quietly cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Release \
  -DBUILD_TESTING=OFF
quietly cmake --build "$build"

set -- "$build/src/app/clockassay" verify --spec "$specification" \
  --timebase "$timebase" "$capture"
echo "$*" >&2
echo >&2
"$@"
