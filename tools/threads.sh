#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Every capture of testdata and larger ones, by several threads, as a file, a
# pipe and packed, under the thread sanitizer: no races, and the same result.
#   threads.sh [BUILD_FOLDER]      default: build-threads
set -eu
cd "$(dirname "$0")/.."
build=${1:-build-threads}
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=RelWithDebInfo \
  -DBUILD_TESTING=ON -DCLOCKASSAY_SANITIZE=thread >/dev/null
cmake --build "$build" --target clockassay same_reading make_capture
TSAN_OPTIONS="halt_on_error=1 exitcode=99" \
  ctest --test-dir "$build" --output-on-failure --no-tests=error \
  -R '^same_result$'
