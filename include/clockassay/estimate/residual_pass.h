// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/view_extremes.h"

namespace clockassay {

/// What a second pass finds once the line is known.
struct ResidualPass {
  /// Smallest and largest y - slope * k of the rising edges [ticks].
  double lowest = 0.0;
  double highest = 0.0;
  /// Sums of the rising edges of equal parts of the view, in order.
  std::vector<LineSums> parts;
};

/// In: extremes  of the view; part_count >= 1.
/// The same bits for any number of threads.
ResidualPass pass_residuals(const EdgeView& view, const EdgeSums& sums,
                            const ViewExtremes& extremes,
                            std::size_t part_count,
                            const ParallelFor& parallel_for);

/// The parts alone.
std::vector<LineSums> sum_equal_parts(const EdgeView& view,
                                      const EdgeSums& sums,
                                      std::size_t part_count,
                                      const ParallelFor& parallel_for);

}  // namespace clockassay
