// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdint>
#include <functional>
#include <limits>
#include <optional>
#include <set>
#include <span>

#include "clockassay/base/parallel.h"
#include "clockassay/capture/channel_stream.h"

namespace clockassay {

/// What is asked of the intervals, in ticks.
struct IntervalQuestion {
  std::optional<double> sample;  ///< the stated sampling interval
  std::int64_t text = 1;         ///< step the stamps were written in
  /// Whether the text can write every sample; then nothing is rounded.
  bool exact = false;
};

/// What the intervals between neighbouring edges have in common, in ticks.
struct IntervalScan {
  std::int64_t count = 0;
  std::int64_t gcd = 0;  ///< 0: there is no interval
  std::int64_t shortest = std::numeric_limits<std::int64_t>::max();
  std::set<std::int64_t> lengths;  ///< different ones; some of them, if many
  std::int64_t first = std::numeric_limits<std::int64_t>::max();  ///< edge
  std::int64_t last = std::numeric_limits<std::int64_t>::min();

  // Only where a sampling interval is stated:
  double grid_error = 0.0;  ///< largest distance from a multiple of it
  /// Greatest common divisor of all intervals in whole sampling intervals,
  /// rounding undone; formed where the text is fine enough to undo it.
  std::int64_t samples_gcd = 0;
  void merge(const IntervalScan& other);
};

/// Whether stamps so written still show which sample they mean: an interval is
/// off by less than one text step, and must stay nearer to its own count of
/// samples than to the next.
inline bool samples_show(const IntervalQuestion& q) {
  constexpr double kMargin = 2.0;  // chosen: twice what it takes
  return q.sample && *q.sample >= 2.0 * kMargin * static_cast<double>(q.text);
}

/// Whether intervals can be counted in samples.
inline bool counts_samples(const IntervalQuestion& q) {
  return q.sample && (q.exact || samples_show(q));
}

/// How the lengths of intervals change from one to the next; only where a
/// sampling interval is stated.
struct ChangeScan {
  /// How often a high time, a low time or a period of a steady clock is at
  /// least a sample longer than the one before it after it was shorter, or the
  /// other way round.
  std::int64_t changes = 0;
  /// How often the change is more than rounding, and the least such change.
  std::int64_t visible_changes = 0;
  std::int64_t least_change = std::numeric_limits<std::int64_t>::max();

  void merge(const ChangeScan& other);
};

/// Looks at every interval between neighbouring edges of every channel whose
/// edges are not interpolated.
/// Out:    the same whatever the number of threads
/// Cost:   O(edges), block-parallel
IntervalScan scan_intervals(std::span<const ChannelRecord> channels,
                            const IntervalQuestion& question,
                            const ParallelFor& parallel_for);

/// Whether no more changes need to be looked at.
using ChangesEnough = std::function<bool(const ChangeScan&)>;

/// The same for changes, of each channel until they are enough.
/// In:     question.sample stated
ChangeScan scan_changes(std::span<const ChannelRecord> channels,
                        const IntervalQuestion& question,
                        const ChangesEnough& are_enough,
                        const ParallelFor& parallel_for);

}  // namespace clockassay
