#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# clang-tidy over the sources of the program, by .clang-tidy: a quarter of an
# hour of two cores.
#   tidy.sh [BUILD_FOLDER]      a folder that was configured, default: build
set -eu
cd "$(dirname "$0")/.."
build=${1:-build}
cmake -S . -B "$build" -DCMAKE_EXPORT_COMPILE_COMMANDS=ON >/dev/null
find src -name '*.cpp' | sort |
  xargs -P "$(nproc)" -n 8 clang-tidy -p "$build" --quiet
