#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what is missing, builds with warnings as errors, runs every test.
#   check.sh [BUILD_FOLDER [CMAKE_OPTION...]]
set -eu
cd "$(dirname "$0")/.."

build=${1:-build}
[ $# -eq 0 ] || shift

tools/install_packages.sh
# Optimised, but with the asserts: tests are for finding our own bugs too.
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=RelWithDebInfo \
  -DCMAKE_CXX_FLAGS_RELWITHDEBINFO="-O2 -g" \
  -DBUILD_TESTING=ON -DCLOCKASSAY_WERROR=ON "$@"
cmake --build "$build"
ctest --test-dir "$build" --output-on-failure --no-tests=error \
  --parallel "$(nproc)"
