// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/drift/series.h"

namespace clockassay {

/// A thermometer read at one time.
struct TemperatureReading {
  double time_s = 0.0;  ///< from the first stamp of the capture on
  double temperature_c = 0.0;
  double u_temperature_c = 0.0;  ///< k = 1
};

struct TemperatureLog {
  std::vector<TemperatureReading> readings;  ///< times strictly increasing
  bool u_stated = false;
};

/// Reads a log: CSV with the columns time_s and temperature_c, and perhaps
/// u_temperature_c; two rows at least.
/// Errors: kBadData with line and column; also where times do not increase
Result<TemperatureLog> read_temperature_log(std::string_view text);

/// The temperature over a time, between readings along straight lines.
struct WindowTemperature {
  double mean_c = 0.0;    ///< over time
  double spread_c = 0.0;  ///< standard deviation over time
  double u_c = 0.0;       ///< spread and thermometer together, k = 1
  double first_c = 0.0;
  double last_c = 0.0;
};

/// In:     from_s < to_s
/// Out:    absent where the log does not cover all of it: there is no
///         extrapolation
std::optional<WindowTemperature> temperature_over(const TemperatureLog& log,
                                                  double from_s, double to_s);

/// A part of a capture that makes one point. Seconds since the first stamp.
struct TimeWindow {
  double from_s = 0.0;
  double to_s = 0.0;
};

/// Where a log says nothing: between readings more than three and a half times
/// as far apart as the middle ones of all. Chosen: two readings may be lost.
std::vector<TimeWindow> log_gaps(const TemperatureLog& log);

/// Where one or two readings seem to be lost, and a straight line stands for
/// them.
std::vector<TimeWindow> log_bridges(const TemperatureLog& log);

/// Whether two stretches of time have more than an end in common.
inline bool overlap(const TimeWindow& a, const TimeWindow& b) {
  return a.from_s < b.to_s && b.from_s < a.to_s;
}

/// Cuts what log and capture have in common. A window ends where the
/// temperature has moved by 1/24 of the span of all, but not before 1/256 of
/// the time, and after 1/16 of the time in any case.
/// Out:    empty where they have no time in common
/// Source: docs/drift.md#one-long-capture
std::vector<TimeWindow> cut_windows(const TemperatureLog& log, double from_s,
                                    double to_s);

/// The way the temperature goes in each window, if it goes clearly one way in
/// seven of eight of them and both ways at least twice; not stated of those in
/// which it turns. Else not stated of any.
std::vector<Sweep> sweeps_of(const std::vector<WindowTemperature>& windows);

}  // namespace clockassay
