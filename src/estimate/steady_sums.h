// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "clockassay/capture/offset_sums.h"
#include "clockassay/estimate/edge_sums.h"
#include "estimate/frame_block.h"

namespace clockassay {

/// Sums of the points (i, y[i]), i below count.
LineSums line_sums(const OffsetSums& sums, std::size_t count);
/// Of `count` consecutive edges, the steps between which add up to `all`.
PeriodSums period_sums(const StepSums& steps, std::int64_t all,
                       std::size_t count);

/// Smallest and largest of some residuals about a line [ticks].
struct OffsetRange {
  double low;
  double high;
};
/// Of offset[i] - i * slope. The same bits at every level.
/// In: one offset or more, at most kMaxBlockCycles, each below kNarrowResidual
OffsetRange offset_range(std::span<const std::int32_t> offset, double slope);

/// Of y - k * slope. In: one edge or more
OffsetRange range_along(const SteadyEdges& edges, double slope);
OffsetRange range_along(const AnyEdges& edges, double slope);

/// y - k * slope.
inline double along(std::int64_t k, std::int64_t y, double slope) {
  return static_cast<double>(y) - static_cast<double>(k) * slope;
}

/// Adds the i in order whose offset[i] - i * slope is at least the limit, or at
/// most where not `above`.
void offsets_beyond(std::span<const std::int32_t> offset, double slope,
                    bool above, double limit,
                    std::vector<std::uint32_t>& found);

}  // namespace clockassay
