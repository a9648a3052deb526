// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/warning.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/capture/time_grid.h"

namespace clockassay {

/// The time within which one edge is known to have happened: one sampling
/// interval, to which the text's own steps add where they do not fall on the
/// samples.
struct SamplingWindow {
  Rational window_ticks = Rational(1);  ///< > 0
  /// Absent when the sampling interval is not visible.
  std::optional<Rational> sample_interval_s;
  SampleIntervalSource source = SampleIntervalSource::kUnknown;
  std::vector<Warning> warnings;
};

/// Finds the window of a capture's edges.
/// Stated interval T (option, header, rows): the window is T where all
/// intervals between edges are multiples of T, else T plus the text
/// resolution. Intervals that T cannot explain: sampling_contradicted.
/// Nothing stated: the greatest common divisor g of all intervals of all
/// channels, as an upper bound of T, widened by two text steps, which is how
/// far a hidden fractional T can exceed it; sampling_inferred. When g is one
/// text step it says nothing: then two edges are at least one sample apart,
/// and the shortest interval seen is the window; sampling_not_visible.
/// In:     at least one interval between edges, else the tick is the window
/// Cost:   O(edges), block-parallel
/// Source: docs/measurement-model.md#window
SamplingWindow sampling_window(std::span<const ChannelRecord> channels,
                               const TimeGrid& grid,
                               const ParallelFor& parallel_for);

}  // namespace clockassay
