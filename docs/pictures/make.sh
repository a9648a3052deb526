#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the pictures of the documents anew:
#   make.sh CLOCKASSAY DEMO OUT_DIRECTORY
# DEMO is testdata/demo. Each picture is one the program writes with --plots,
# under a name of its own.
set -eu
tool=$1
demo=$2
out=$3
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# keep CHART NAME EXIT_CODE COMMAND...: runs it and keeps one of its charts.
keep() {
  chart=$1 name=$2 expected=$3
  shift 3
  code=0
  "$tool" "$@" --quiet --plots "$work/plots" > "$work/text" || code=$?
  if [ "$code" != "$expected" ]; then
    echo "make.sh: $* returns $code, expected $expected" >&2
    cat "$work/text" >&2
    exit 1
  fi
  mv "$work/plots/$chart.svg" "$out/$name.svg"
  rm -r "$work/plots"
}

known='--timebase=-0.6ppm±1.5ppm'

# The board that passes, the one with the wrong load, and the first one again
# with nothing said about the analyzer's timebase.
keep limits limits-pass 0 verify --spec "$demo/logger.json" "$known" \
  "$demo/good-board.vcd"
keep limits limits-fail 1 verify --spec "$demo/logger.json" "$known" \
  "$demo/wrong-load.vcd"
keep limits limits-undecided 2 verify --spec "$demo/logger.json" \
  "$demo/good-board.vcd"

# The board in the chamber.
keep temperature temperature 0 drift "$demo/chamber.csv" "$known" \
  --thermometer 0.5K --expect '24MHz / 2 / 16' --range -40..85 --tolerance 50ppm

# What sampling at 10 ns shows of 300 ps of jitter, and of 20 ns.
keep allan-deviation allan-deviation 0 measure --stability "$known" \
  "$demo/good-board.vcd"
keep periods periods-sampling 0 measure --stability "$known" \
  "$demo/good-board.vcd"
"$tool" simulate --frequency 750kHz --ppm 9 --sample-rate 100MHz \
  --duration 10ms --jitter 20ns --channel clk_out --seed 21 --out "$work/jittery.vcd"
keep periods periods-jitter 0 measure --stability "$known" "$work/jittery.vcd"

# Ten builds, a day each; the sixth moves the clock by 3 ppm.
build=51
for ppm in 8.9 9.2 9.0 8.7 9.3 12.1 12.0 12.4 11.9 12.2; do
  "$tool" simulate --frequency 750kHz --ppm $ppm --sample-rate 100MHz \
    --duration 2ms --jitter 300ps --channel clk_out --seed $build \
    --out "$work/build-$build.vcd"
  "$tool" verify --spec "$demo/logger.json" "$known" --quiet \
    --store "$work/results.db" --tag build=$build \
    --tag "taken_at=2026-01-$((build - 46))T10:00:00Z" \
    "$work/build-$build.vcd" > "$work/text"
  build=$((build + 1))
done
keep history history 0 trend --store "$work/results.db"
