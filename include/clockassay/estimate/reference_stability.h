// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/parallel.h"
#include "clockassay/estimate/clock_ratio.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/stability.h"

namespace clockassay {

/// Frequency stability of a clock in the time of a reference, as far as the
/// edges of that are dense enough; at shorter tau in the capture's own time.
/// Model:  how far the reference is off its own line, at knots of one or more
///         of its edges and interpolated between them, is taken off each edge
///         of the clock; from tau of two knots on such phases count
/// In:     both of one capture; sums, and a line through the edges, of
///         views.clock; scale as for describe_stability()
/// Out:    edges before the first knot and after the last are missing;
/// reference
///         absent where it has no two rising edges
/// Cost:   twice describe_stability(), a megabyte more
/// Source: docs/stability.md#against-a-reference
Stability describe_stability_against(const CommonViews& views,
                                     const EdgeSums& sums, const LineFit& line,
                                     const PhaseScale& scale,
                                     const StabilityOptions& options,
                                     const ParallelFor& parallel_for);

}  // namespace clockassay
