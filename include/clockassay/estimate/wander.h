// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Parts a view is cut into. Windows of four neighbours and of twice as many,
/// up to half of all, each overlapping the next by half, are looked at, so that
/// a jump anywhere falls into the middle half of one. Chosen.
inline constexpr std::size_t kWanderParts = 32;
/// The fewest edges of a part. Chosen: sixteen edges in a window make a line.
inline constexpr std::size_t kWanderPartEdges = 4;

/// The largest departure of a window's slope from the whole line's, when
/// sampling and the window's own fast jitter cannot explain it; else absent.
/// A window of n edges may be off by 1.5 windows / n from sampling alone, the
/// most it can be for any clock, and by what the scatter about its own line
/// makes once in a million.
/// In:     parts from pass_residuals; slope of the whole; window [ticks]
/// Source: docs/measurement-model.md#wander
std::optional<double> find_wander(std::span<const LineSums> parts, double slope,
                                  double window);

}  // namespace clockassay
