// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/base/parallel.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Half-period jitter: how far high and low times are off half the mean period.
/// A duty off one half is in it. As sampled; nothing is taken off.
struct HalfPeriodJitter {
  Seconds rms;
  Seconds peak;  ///< largest magnitude
  std::int64_t count = 0;
  /// What the instrument may move one polarity against the other, where that
  /// is stated: it is in every half period, in high and low times the other
  /// way, so that rms and peak may be off by as much.
  std::optional<Seconds> edge_skew = {};
};

/// A high time is from a rising edge to the falling one of the same cycle, a
/// low time from there to the rising edge of the next.
/// In:     sums   of the view
///         slope  of the line, in their frame [ticks a cycle]
/// Out:    absent without falling edges; the same bits for any blocks and
///         threads
/// Source: JEDEC JESD65B, from memory; docs/measurement-model.md#jitter
std::optional<HalfPeriodJitter> describe_half_periods(
    const EdgeView& view, const EdgeSums& sums, double slope, double tick_s,
    const ParallelFor& parallel_for);

}  // namespace clockassay
