// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/feasible_set.h"
#include "clockassay/estimate/residual_pass.h"
#include "clockassay/estimate/view_extremes.h"
#include "estimate/period_estimate.h"

namespace clockassay {

/// The window of an edge.
struct EdgeWindow {
  double ticks = 1.0;
  std::int64_t units = kWindowUnits;  ///< the same, rounded up
  bool is_exact = true;               ///< see estimate_period
};

/// A view's slope, and what it was worked out from.
struct ViewEstimate {
  EdgeSums sums;
  LineFit line;
  ViewExtremes extremes;  ///< about that line
  FeasibleSet set;
  ResidualPass residuals;
  PeriodEstimate period;
};

/// Where the two polarities say different slopes, the interval is that which
/// contains both, each with its own half-width.
/// In:     a view with two rising edges
/// Source: docs/measurement-model.md#rising-and-falling-edges
Result<ViewEstimate> estimate_view(const EdgeView& view,
                                   const EdgeWindow& window,
                                   const ParallelFor& parallel_for);

}  // namespace clockassay
