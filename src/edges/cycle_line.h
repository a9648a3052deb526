// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// A line through numbered edges, one slope, an intercept per polarity, in
/// ordinary floating point: good for predicting neighbours, not for results.
///   t = intercept + period * cycle    [ticks, relative to the block]
struct CycleLine {
  double period = 0.0;
  double rise_intercept = 0.0;
  double fall_intercept = 0.0;
  double scatter = 0.0;  ///< rms of the residuals [ticks]
};

/// Least squares. In: rise.size() >= 2 with at least two different cycles;
/// fall may be empty (then fall_intercept is rise_intercept).
CycleLine fit_cycle_line(std::span<const NumberedEdge> rise,
                         std::span<const NumberedEdge> fall);

/// Removes edges further from their common line than
/// max(6 * 1.4826 * median |residual|, 1.5 * window) and returns their ticks.
/// 1.4826: median absolute deviation to standard deviation of a normal.
/// Where the residuals fill a window evenly, no further than 0.55 windows and
/// six times the jitter that the share of edges outside the window shows.
std::vector<std::int64_t> clip_outliers(std::vector<NumberedEdge>& rise,
                                        std::vector<NumberedEdge>& fall,
                                        double window);

/// The same for suspects (their ticks, increasing) only, and closer by: further
/// than max(1.5 * 1.4826 * median |residual|, 0.5 * window). Among real edges
/// one in eight goes; what is no edge of the clock and stays does no harm.
std::vector<std::int64_t> clip_suspects(
    std::vector<NumberedEdge>& rise, std::vector<NumberedEdge>& fall,
    const std::vector<std::int64_t>& suspects, double window);

}  // namespace clockassay
