#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds the fuzz targets with clang and runs each from the files of testdata.
#   fuzz.sh [SECONDS]     each target that long, 60 if not given
#   fuzz.sh --runs N      each N inputs, always the same ones, 30 s at most
# FUZZ_BUILD names another build folder than build-fuzz. Inputs that found new
# ways stay in its corpus/, faults in its faults/. What to do with a fault:
# DEVELOPERS.md.
set -eu
cd "$(dirname "$0")/.."

build=${FUZZ_BUILD:-build-fuzz}
if [ "${1:-}" = --runs ]; then
  limit="-runs=${2:?number of inputs} -seed=1 -max_total_time=30 -verbosity=0"
else
  limit="-max_total_time=${1:-60}"
fi

tools/install_packages.sh
cmake -S . -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=RelWithDebInfo \
  -DCMAKE_CXX_FLAGS_RELWITHDEBINFO="-O1 -g" -DCMAKE_CXX_COMPILER=clang++ \
  -DCLOCKASSAY_FUZZ=ON -DCLOCKASSAY_SANITIZE=address,undefined >/dev/null
cmake --build "$build" --target fuzz

# fuzz NAME SEEDS [LIBFUZZER_OPTION...]
fuzz() {
  name=$1
  seeds=$2
  shift 2
  grown=$build/corpus/$name  # libFuzzer adds to the first folder only
  case $limit in
  *-seed=*)  # what an earlier run found must not count
    grown=$build/first-corpus/$name
    rm -rf "$grown"
    ;;
  esac
  mkdir -p "$grown"
  echo "fuzz.sh: $name"
  # shellcheck disable=SC2086  # lists of words, perhaps none
  "$build/tests/fuzz/${name}_fuzz" "$grown" $seeds tests/fuzz/corpus/"$name" \
    -max_len=4096 -timeout=20 -rss_limit_mb=2048 $limit \
    -artifact_prefix="$build/faults/$name-" "$@"
}

mkdir -p "$build/faults"
for format in csv vcd; do
  seeds=$build/seeds/$format
  rm -rf "$seeds"
  mkdir -p "$seeds"
  for folder in valid invalid; do
    for file in testdata/capture/"$format/$folder"/*."$format"; do
      # Eight bytes choose how the rest is read: as tests/fuzz/fuzz_input.h.
      { printf '\007\001\000\000\000\000\000\000'; cat "$file"; } \
        >"$seeds/$folder-$(basename "$file")"
    done
  done
  fuzz "$format" "$seeds" -dict=tests/fuzz/"$format".dict
done
# One capture, written as both.
fuzz formats ""
fuzz decompress ""
# Plain text: the files of testdata as they are.
fuzz series testdata/drift/invalid -dict=tests/fuzz/csv.dict
fuzz templog "" -dict=tests/fuzz/csv.dict
# What is typed or written by hand.
fuzz specification "" -dict=tests/fuzz/specification.dict
fuzz stored ""  -dict=tests/fuzz/specification.dict
fuzz quantity "" -dict=tests/fuzz/quantity.dict
