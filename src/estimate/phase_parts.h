// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Neighbouring rising edges taken together, in a frame.
struct PhasePart {
  std::int64_t first_cycle = 0;  ///< k of the first and the last cycle
  std::int64_t last_cycle = 0;
  double n = 0.0;
  double k = 0.0;  ///< means
  double y = 0.0;
  double kk = 0.0;        ///< sum of squares of k about its mean
  double slope = 0.0;     ///< of the part's own line
  double variance = 0.0;  ///< of the edges about it
};

/// A view as neighbouring parts: short at its ends, an eighth of the distance
/// to the nearer one further in, so that a change soon after a reset stands
/// between parts of its own size, and 1/64 of the view at most.
struct PhaseParts {
  EdgeFrame frame;
  std::vector<PhasePart> parts;
  /// k of the first and the last rising edge of each block; first > last where
  /// it has none.
  struct Extent {
    std::int64_t first = 1;
    std::int64_t last = 0;
  };
  std::vector<Extent> blocks;
};

/// One pass over the edges; block-parallel, the same bits for any blocks and
/// threads. No parts where the edges lie too far off any line for exact sums.
/// In:     a view with two rising edges
/// Cost:   O(N)
PhaseParts make_phase_parts(const EdgeView& view,
                            const ParallelFor& parallel_for);

}  // namespace clockassay
