// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
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

/// Of a source or a timebase nothing is said of: they are that far off. Common
/// practice, no source.
inline constexpr double kUnstatedSourcePpm = 100.0;

/// How far off what is seen may be: the source within low to high, seen through
/// an instrument within ±timebase of what it says of itself.
struct PathSource {
  double low_ppm = -kUnstatedSourcePpm;
  double high_ppm = kUnstatedSourcePpm;
  bool is_assumed = true;
  double timebase_ppm = kUnstatedSourcePpm;
  bool timebase_is_assumed = true;
};

/// The set-up there was, beside the one that is planned.
struct FormerPath {
  ClockPath path;
  PathSlip unchanged;   ///< the new source behind the former settings
  PathSlip old_source;  ///< the former source behind the new settings
  /// The former settings with one whole factor changed so that the new source
  /// gives the former frequency, exactly.
  std::vector<PathSlip> keeps;
};

struct PathPlan {
  ClockPath path;
  PathSource source;
  double widest_ppm = 0.0;      ///< of the source, the larger size
  std::vector<PathSlip> slips;  ///< the nearest to the intended first
  std::vector<PathCoincidence> coincidences;
  std::optional<FormerPath> former = {};
};

/// The list to keep beside a capture: every slip, and which look alike.
/// Model:  a source within low … high, seen through ±b, shows F anywhere from
///         F (1 + low - b) to F (1 + high + b): two frequencies are told apart
///         where these do not meet
/// Errors: as parse_clock_path() and path_neighbours()
/// Source: docs/plan.md#path
Result<PathPlan> plan_path(std::string_view expression,
                           const PathSource& source);

/// What a change of the source makes of a path.
/// In:     the former path, or its source alone: then its settings are those
///         planned
/// Errors: as parse_clock_path(); kOutOfRange
Result<FormerPath> plan_former(const PathPlan& plan,
                               std::string_view expression);

}  // namespace clockassay
