// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// More rising edges are not looked through: where jumps are so few among so
/// many periods, each begins another stretch. Chosen, 64 kB.
inline constexpr std::int64_t kMostSteadyEdges = 8192;

/// Most periods alike, a few off them by more than sampling and jitter explain:
/// as where samples were lost, or a pulse was moved. The mean of all then is
/// that of no clock.
struct SteadyPeriods {
  std::int64_t periods = 0;  ///< between edges of consecutive numbers
  std::int64_t off = 0;      ///< of these, off the others
  Seconds mean;              ///< of the others
  Ppm difference;  ///< the frequency they give, against that of the line
};

/// A period is off where it differs from the median by more than two windows,
/// and by more than six times the scatter of the others (1.4826 times the
/// median of |differences|).
/// In:     window, of one edge, and period of the line [ticks]
/// Out:    absent where no period is off, or more than a third are, which may
///         be the clock's own pattern; with fewer than eight others; and beyond
///         kMostSteadyEdges
/// Source: docs/verdict.md#stretches-and-lost-samples
std::optional<SteadyPeriods> find_steady_periods(const EdgeView& view,
                                                 std::int64_t rising,
                                                 double window_ticks,
                                                 double period_ticks,
                                                 double tick_s);

}  // namespace clockassay
