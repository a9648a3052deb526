// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "clockassay/estimate/edge_sums.h"
#include "estimate/frame_block.h"

namespace clockassay {

/// Sums of the points (i, offset[i]) [ticks].
struct OffsetSums {
  LineSums line;
  std::int32_t low = 0;  ///< smallest and largest
  std::int32_t high = 0;
};
/// In: one offset or more, at most kMaxBlockCycles, each below kNarrowResidual
OffsetSums sum_offsets(std::span<const std::int32_t> offset);

/// Differences of neighbouring offsets, and of neighbouring differences, as
/// edges of consecutive cycles make them. In: as above.
PeriodSums sum_steps(std::span<const std::int32_t> offset);

/// Smallest and largest of some residuals about a line [ticks].
struct OffsetRange {
  double low;
  double high;
};
/// Of offset[i] - i * slope. In: as above. The same bits at every level.
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
