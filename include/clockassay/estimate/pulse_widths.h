// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// High and low times of a clock against a length.
struct PulseWidths {
  std::int64_t highs = 0;
  std::int64_t long_highs = 0;  ///< longer than the length
  std::int64_t lows = 0;
  std::int64_t long_lows = 0;
};

/// Counts high times, and low times between neighbouring cycles.
/// In: ticks  the length, > 0
PulseWidths count_pulses(const EdgeView& view, double ticks,
                         const ParallelFor& parallel_for);

/// A pulse shorter than a sample is seen as one sample, or not at all: with
/// all highs, or all lows, of one sample nothing tells how many were missed.
/// One in twenty may be longer, by jitter. Chosen: pulses of 1.05 samples show
/// two samples once in twenty.
/// In: pulses  counted against 1.25 samples
bool may_be_missed(const PulseWidths& pulses);
/// Whether highs are what may have been missed, be it with lows or without.
bool highs_may_be_missed(const PulseWidths& pulses);

}  // namespace clockassay
