#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The unit tests of the stages that read and write, and the program itself on
# every valid capture of testdata, under valgrind's memcheck: what the address
# sanitizer does not see is memory that was never written. Some ten minutes.
# Left out is what reads one text at each of its cuts, very many names, or very
# many random boards: the same code as the rest, some hundred times as often.
#   valgrind.sh [BUILD_FOLDER]      a folder that was built, default: build
set -eu
cd "$(dirname "$0")/.."
build=${1:-build}
# Valgrind knows no AVX-512.
export CLOCKASSAY_KERNELS=avx2
log=$(mktemp)
trap 'rm -f "$log"' EXIT
check="valgrind --quiet --error-exitcode=9 --leak-check=full --errors-for-leak-kinds=definite"

# Patterns of names of test cases, parted by commas.
large='*random*,*every cut*,*whatever the cuts*,*every byte*,*is found out*'
large="$large,*any level*,*thousands of*,*that a name may mean too*"
large="$large,*any cut,*as often as U*,*whatever the limits*"
large="$large,*do what is predicted of them,*a simulation covers*,*covers the true*"
for stage in base edges oscillator uncertainty capture verdict; do
  echo "unit tests of $stage"
  $check "$build/tests/unit/$stage/${stage}_test" --minimal \
    --test-case-exclude="$large"
done
for capture in testdata/capture/vcd/valid/* testdata/capture/csv/valid/*; do
  case $capture in *.options|*.json|*.md) continue ;; esac
  options=$(cat "${capture%.*}.options" 2>/dev/null || true)
  status=0
  eval "$check $build/src/app/clockassay measure --json /dev/null --quiet $options $capture" >/dev/null 2>"$log" || status=$?
  if [ "$status" = 9 ] || [ "$status" -gt 127 ]; then
    cat "$log"
    echo "$capture: exit code $status"
    exit 1
  fi
done
echo "valgrind: nothing found"
