// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Parts of a view compared, and the fewest edges a part needs. Chosen.
inline constexpr std::size_t kWanderParts = 8;
inline constexpr std::size_t kWanderPartEdges = 16;

/// The largest departure of a part's slope from the whole line's, when sampling
/// and the part's own fast jitter cannot explain it; otherwise absent.
/// A part of n edges may be off by 1.5 windows / n from sampling alone, the
/// most it can be for any clock, and by five standard deviations of a line
/// through n edges with its own residual scatter.
/// In:     parts from pass_residuals; slope of the whole; window [ticks]
/// Source: docs/measurement-model.md#wander
std::optional<double> find_wander(std::span<const LineSums> parts, double slope,
                                  double window);

}  // namespace clockassay
