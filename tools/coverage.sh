#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Which lines of the program the tests run: builds for it, runs them, and prints
# the share of each stage and the files least run (gcovr).
#   coverage.sh [BUILD_FOLDER [CTEST_OPTION...]]      default: build-coverage
set -eu
cd "$(dirname "$0")/.."
build=${1:-build-coverage}
[ $# -eq 0 ] || shift
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=Debug \
  -DCMAKE_CXX_FLAGS_DEBUG="-O1 --coverage -fprofile-update=atomic" \
  -DBUILD_TESTING=ON
cmake --build "$build"
# A test that counts instructions or memory may fail in such a build.
ctest --test-dir "$build" "$@" || true
gcovr --root . --object-directory "$build" --filter 'src/' --filter 'include/' \
  --exclude-throw-branches --json-summary "$build/coverage.json" >/dev/null
/usr/bin/python3 - "$build/coverage.json" <<'PY'
import collections
import json
import sys

stages = collections.defaultdict(lambda: [0, 0])
files = []
for entry in json.load(open(sys.argv[1]))["files"]:
    parts = entry["filename"].split("/")
    stage = parts[1] if parts[0] == "src" else parts[2]
    for name in (stage, "all"):
        stages[name][0] += entry["line_covered"]
        stages[name][1] += entry["line_total"]
    left = entry["line_total"] - entry["line_covered"]
    files.append((left, entry["line_total"], entry["filename"]))
for name, (covered, total) in sorted(stages.items()):
    print(f"{name:12} {100 * covered / max(total, 1):5.1f} % of {total} lines")
print("not run:")
for left, total, name in sorted(files, reverse=True)[:12]:
    print(f"{left:5} of {total:4}  {name}")
PY
