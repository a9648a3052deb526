// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Chosen: as many as fit into a line of text.
inline constexpr std::size_t kMostHistogramBins = 64;

/// Periods counted by their length. Of the bins the first and the last are not
/// empty.
struct PeriodHistogram {
  Seconds first;  ///< where the first bin begins
  Seconds bin;    ///< width of each
  std::vector<std::int64_t> counts;
};

/// Periods between rising edges of consecutive numbers. A bin holds those
/// nearest to one multiple of a step, or to as many as it takes for
/// kMostHistogramBins to hold them all, so that no bin has more steps than the
/// next.
/// In:     sums of the view; step [ticks] > 0  that sampled lengths come in,
///         a tick or more; tick [s]
/// Out:    absent without a period; the same for any blocks and threads
/// Source: docs/measurement-model.md#jitter
std::optional<PeriodHistogram> count_periods(const EdgeView& view,
                                             const EdgeSums& sums,
                                             const Rational& step_ticks,
                                             double tick_s,
                                             const ParallelFor& parallel_for);

}  // namespace clockassay
