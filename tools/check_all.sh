#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Everything a change must pass before review: format, tests, tests again with
# the address and undefined-behaviour sanitizers.
set -eu
cd "$(dirname "$0")/.."

tools/install_packages.sh
git ls-files '*.h' '*.cpp' | xargs clang-format --dry-run --Werror
tools/check.sh build
tools/check.sh build-sanitize -DCLOCKASSAY_SANITIZE=address,undefined
