#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Makes the demo captures anew: make.sh CLOCKASSAY OUT_DIRECTORY
# All of it is invented; each capture's truth stands beside it.
set -eu
tool=$1
out=$2

# 24 MHz / 2 / 16 = 750 kHz, 9 ppm fast, as a good crystal may be.
"$tool" simulate --frequency 750kHz --ppm 9 --sample-rate 100MHz \
  --duration 10ms --jitter 300ps --channel clk_out --seed 1 \
  --out "$out/good-board.vcd" --truth "$out/good-board.truth.json"

# The former 16 MHz crystal still clocks the board: 16 MHz / 2 / 16.
"$tool" simulate --frequency 500kHz --ppm -12 --sample-rate 100MHz \
  --duration 10ms --jitter 300ps --channel clk_out --seed 2 \
  --out "$out/old-crystal.csv" --truth "$out/old-crystal.truth.json"

# Load capacitors too small for the new crystal: 60 ppm fast.
"$tool" simulate --frequency 750kHz --ppm 60 --sample-rate 100MHz \
  --duration 10ms --jitter 300ps --channel clk_out --seed 3 \
  --out "$out/wrong-load.vcd" --truth "$out/wrong-load.truth.json"

# The good board through a bad ground: 1 % of the pulses lost, 1 % extra.
"$tool" simulate --frequency 750kHz --ppm 9 --sample-rate 100MHz \
  --duration 10ms --jitter 300ps --drop 0.01 --glitch 0.01 --channel clk_out \
  --seed 4 --out "$out/damaged.csv" --truth "$out/damaged.truth.json"

# A status light that blinks once a second, ten edges, sampled at 1 MHz.
"$tool" simulate --frequency 1Hz --ppm 9 --sample-rate 1MHz --duration 5s \
  --channel led --seed 5 \
  --out "$out/led.csv" --truth "$out/led.truth.json"

# The good board in a chamber: an AT cut 2 minutes off its zero angle, by the
# law of docs/drift.md; readings scatter by 0.03 ppm, out of a generator that is
# the same everywhere.
awk 'function uniform() { seed = (seed * 16807) % 2147483647
                          return seed / 2147483647 }
     BEGIN {
       seed = 7
       print "temperature_c,u_temperature_c,frequency_hz,u_hz"
       for (t = -40; t <= 90; t += 10) {
         at = t < 90 ? t : 85
         x = at - 25
         ppm = 9 - 5.08 / 60 * 2 * x - 0.45e-3 * x * x + 108.6e-6 * x * x * x
         ppm += 0.03 * sqrt(6) * (uniform() + uniform() - 1)
         printf "%d,0.2,%.4f,0.0225\n", at, 750000 * (1 + ppm * 1e-6)
       }
     }' > "$out/chamber.csv"
