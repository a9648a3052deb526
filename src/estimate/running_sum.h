// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Calls visit(cycle of the frame, residual [ticks]) for every edge of the
/// view, rising and falling, in order of time.
/// In:     line  through all edges of the view, from sums
void for_each_residual(const EdgeView& view, const EdgeSums& sums,
                       const LineFit& line,
                       const std::function<void(std::int64_t, double)>& visit);

/// How far edges lie to one side of their line for long: with S the running sum
/// of n residuals and s² their variance, sum(S²)/(n² s²). Far where the phase
/// jumped once, walks, or jitters slowly, for any number of edges.
/// In:     line  through all edges of the view, from sums
/// Out:    0 where nothing is off the line
/// Source: D. Kwiatkowski, P. Phillips, P. Schmidt, Y. Shin, J. Econometrics
///         54, 1992 (about a trend, no lags); docs/measurement-model.md#scatter
double running_sum_square(const EdgeView& view, const EdgeSums& sums,
                          const LineFit& line);

/// Whether that is more than white jitter makes it once in ten: among few edges
/// reason enough to reckon with jitter that accumulates.
bool may_run_away(const EdgeView& view, const EdgeSums& sums,
                  const LineFit& line);

}  // namespace clockassay
