// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/oscillator/path_neighbours.h"

namespace clockassay {

/// What a clock path would show with one slip in it.
struct PathSlip {
  PathNeighbour neighbour;
  double difference_ppm = 0.0;  ///< against the intended
  /// Within what the source may be off: no measurement tells it from the
  /// intended one.
  bool like_intended = false;
};

/// Two slips, neighbours in frequency, that a measurement hardly tells apart.
struct PathCoincidence {
  std::size_t first = 0;  ///< numbers into PathPlan::slips
  std::size_t second = 0;
  double apart_ppm = 0.0;  ///< 0: the same frequency, exactly
};

struct PathPlan {
  ClockPath path;
  double tolerance_ppm = 0.0;   ///< of the source, either way
  std::vector<PathSlip> slips;  ///< the nearest to the intended first
  std::vector<PathCoincidence> coincidences;
};

/// Of a source nothing is said of: a crystal's load and a timebase that is not
/// stated are that far off. Common practice, no source.
inline constexpr double kUnstatedSourcePpm = 100.0;

/// The list to keep beside a capture: every slip, and which look alike.
/// Model:  a source within ±a shows F (1 ± a): two frequencies are told apart
///         where they differ by more than a of both
/// Errors: as parse_clock_path() and path_neighbours()
/// Source: docs/plan.md#path
Result<PathPlan> plan_path(std::string_view expression, double tolerance_ppm);

}  // namespace clockassay
