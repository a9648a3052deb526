// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Of more rising edges the last so many are looked through. Chosen: a
/// millisecond's work.
inline constexpr std::int64_t kMostSteadyEdges = 65536;

/// Most periods alike, a few off them by more than sampling and jitter explain:
/// as where samples were lost, or a pulse was moved. The mean of all then is
/// that of no clock.
struct SteadyPeriods {
  std::int64_t periods = 0;  ///< between edges of consecutive numbers
  std::int64_t off = 0;      ///< of these, off the others
  Seconds mean;              ///< of the others
  Ppm difference;  ///< the frequency they give, against that of the line
  /// Where all that are off are short, as where samples were lost and what
  /// follows closed up: short ones that are not off may be made so too. The
  /// frequency of those no shorter than the median, against that of the line:
  /// the clock is no slower than that.
  std::optional<Ppm> of_no_short = {};
};

/// A period is off where it differs from the median by more than two windows,
/// and by more than six times the scatter of the others (1.4826 times the
/// median of |differences|).
/// In:     window, of one edge, and period of the line [ticks]
/// Out:    absent where no period is off, or more than a third are, which may
///         be the clock's own pattern; where jitter may have made all of them;
///         and with fewer than eight others
/// Source: docs/verdict.md#stretches-and-lost-samples
std::optional<SteadyPeriods> find_steady_periods(const EdgeView& view,
                                                 std::int64_t rising,
                                                 double window_ticks,
                                                 double period_ticks,
                                                 double tick_s);

}  // namespace clockassay
