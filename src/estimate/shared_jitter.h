// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/parallel.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"
#include "estimate/place_score.h"

namespace clockassay {

/// Lines through the edges of either polarity, in a frame [ticks].
struct EdgeLines {
  double slope = 0.0;
  double rise = 0.0;  ///< at k = 0
  double fall = 0.0;
};

/// Products of the scores of neighbouring edges, exact.
struct NeighbourProducts {
  std::int64_t pairs = 0;
  std::int64_t scores = 0;       ///< sum [1/kScoreUnits²]
  std::int64_t information = 0;  ///< the same: variance of that by chance
  friend bool operator==(const NeighbourProducts&,
                         const NeighbourProducts&) = default;
};
struct NeighbourSums {
  NeighbourProducts same_cycle;  ///< a rising edge and the falling one after it
  NeighbourProducts next_cycle;  ///< a falling edge and the rising one after it
  std::int64_t information = 0;  ///< of all edges [1/kScoreUnits]
  friend bool operator==(const NeighbourSums&, const NeighbourSums&) = default;
};

/// One pass over the edges, of many over a sample of them; block-parallel, the
/// same bits for any threads and blocks.
/// In: sums of the view
NeighbourSums sum_neighbours(const EdgeView& view, const EdgeSums& sums,
                             const EdgeLines& lines, const PlaceScore& score,
                             const ParallelFor& parallel_for);

/// What the jitter that neighbouring edges share does to the common slope.
struct SharedJitter {
  /// Its variance over that with independent edges: 1, or more where neighbours
  /// have more in common than chance gives them once in twenty.
  double variance_factor = 1.0;
  /// Both kinds of neighbours have: it is noise that lasts, of which the next
  /// edge does not tell all.
  bool lasts = false;
};

/// Source: docs/measurement-model.md#jitter-that-neighbours-share
SharedJitter judge_neighbours(const NeighbourSums& sums);

/// Factor of a half-width at 95 % worked out with so many exact edges, by
/// Student's factor for the degrees of freedom that are left.
double shared_widening(const SharedJitter& shared, double dof);

}  // namespace clockassay
