// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/feasible_set.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/residual_pass.h"
#include "estimate/polarities.h"

namespace clockassay {

/// Below this many rising edges only the interval means anything.
inline constexpr std::int64_t kFewEdges = 5;

/// A period by its edges, as a slope of their frame.
struct PeriodEstimate {
  double slope = 0.0;
  double half_width = 0.0;        ///< at 95 % [ticks]
  std::optional<double> scatter;  ///< half-width by the parts' scatter [ticks]
  /// Furthest slope of a part from the whole's, where that is more than
  /// sampling and jitter explain [ticks].
  std::optional<double> wander;
  /// What each polarity says, where that differs.
  std::optional<PolaritySlopes> polarities;
  /// The edges contradict one line with white normal jitter.
  bool contradicted = false;
  EdgeJitter jitter;
  EstimateMethod method = EstimateMethod::kLeastSquares;
};

/// The most likely slope of a view's edges and its 95 % interval.
/// In: all of the view; extremes  about the line; residuals  in kWanderParts
/// parts or fewer; window of an
///     edge [ticks] > 0; is_exact  it is the sampling interval and no more:
///     with one that is longer by what the text may have rounded, a line
///     between two samples passes through all windows where there is none such,
///     and the half-width has to be that of any line one window off
/// Source: docs/measurement-model.md#half-width
PeriodEstimate estimate_period(const EdgeView& view, const EdgeSums& sums,
                               const LineFit& line, const FeasibleSet& set,
                               const ViewExtremes& extremes,
                               const ResidualPass& residuals, double window,
                               bool is_exact, const ParallelFor& parallel_for);

}  // namespace clockassay
