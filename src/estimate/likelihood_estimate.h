// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/feasible_set.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "estimate/polarities.h"
#include "estimate/shared_jitter.h"
#include "estimate/window_likelihood.h"

namespace clockassay {

/// What the likelihood says of the slope of a view's edges.
struct LikelihoodEstimate {
  double slope = 0.0;  ///< of the frame
  double low = 0.0;    ///< 95 % interval of it
  double high = 0.0;
  double sigma = 0.0;  ///< rms jitter of one edge [ticks]; 0 if none shows
  EdgeJitter jitter;   ///< the same as far as it is known
  EdgeLines peak;      ///< the most likely lines, where jitter shows
  double exact_edges = 0.0;  ///< what the edges are worth, in exact ones
  /// What each polarity says of the slope, where that differs.
  std::optional<PolaritySlopes> polarities;
  /// Of place, in 32 equal parts of the view, for a test of whiteness.
  std::vector<PartScore> scores;
  /// The edges contradict one line with white normal jitter.
  bool contradicted = false;
};

/// Largest likelihood, and the slopes whose likelihood is not too far below.
/// Interval: all slopes with 2 ln(L_max/L(slope)) <= q, where L is at its
///         largest over all else. q = n ln(1 + t²/(n - p)), p parameters and
///         t of n - p degrees of freedom: with exactly seen edges and unknown
///         jitter the interval is then Student's. n is the number of exact
///         edges that the sampled ones are worth, at least p + 3, so that
///         where few edges say anything the interval is as careful as for few.
///         Where a set exists, the largest likelihood is 1 on all of it.
/// In:     window [ticks] > 0; line  from sums, where the climb begins;
///         extremes  about any line near it
LikelihoodEstimate estimate_by_likelihood(
    const EdgeView& view, const EdgeSums& sums, const LineFit& line,
    const FeasibleSet& set, const ViewExtremes& extremes, double window,
    const ParallelFor& parallel_for);

}  // namespace clockassay
