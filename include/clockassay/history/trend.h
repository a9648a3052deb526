// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/history/control_limits.h"
#include "clockassay/history/level_shifts.h"
#include "clockassay/history/stored_row.h"

namespace clockassay {

/// One capture in the history of a clock.
struct TrendPoint {
  double taken_s = 0.0;
  std::string label;  ///< its build, where it has that tag
  std::string capture;
  /// Against what is expected, or the median; absent: no clock was there.
  std::optional<double> ppm;
  std::optional<double> expanded;  ///< U of it
  std::optional<double> period_jitter_s;
  std::optional<std::string> decision;
  std::optional<Timebase> timebase;  ///< absent: not kept with the result
  bool beyond_limits = false;        ///< of its own level
};

/// The history of one clock of one board.
struct Trend {
  std::string clock;
  std::vector<Tag> of;             ///< what tells it from others of that name
  bool is_relative = false;        ///< nothing is expected: ppm of the median
  std::vector<TrendPoint> points;  ///< in order of time
  std::size_t silent = 0;          ///< points without a clock
  std::size_t same_time = 0;       ///< points of the time of the one before
  std::vector<LevelShift> shifts;  ///< of ppm; `first` is of points
  /// Of fewer points with a clock no step can be told.
  std::size_t fewest_for_a_shift = 0;
  std::vector<LevelShift>
      jitter_shifts;                    ///< of the period jitter [s]; as above
  std::optional<ControlLimits> limits;  ///< of the last level
};

struct TrendOptions {
  std::optional<std::string> clock;         ///< only this one
  std::vector<Tag> only;                    ///< rows that have all of these
  std::vector<std::string> by = {"board"};  ///< tags that tell clocks apart
  ShiftOptions shifts;
};

/// Histories by name of clock and the tags it is told apart by.
/// In:     rows in any order
/// Source: docs/history.md#trends
std::vector<Trend> make_trends(const std::vector<StoredRow>& rows,
                               const TrendOptions& options);

}  // namespace clockassay
