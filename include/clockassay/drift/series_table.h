// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/drift/series.h"

namespace clockassay {

/// One row of a series as written: a capture or a frequency, at a temperature.
struct SeriesRow {
  std::int64_t line = 0;
  std::optional<std::string> capture;  ///< a path; else frequency_hz is there
  std::optional<double> frequency_hz;
  double resolution_hz = 0.0;  ///< the step of its last written digit
  std::optional<double> u_hz;  ///< k = 1, of the point alone
  double temperature_c = 0.0;
  std::optional<double> u_temperature_c;
  std::optional<double> time_s;
  std::string board;
  Sweep sweep = Sweep::kNotStated;
};

/// Temperatures beyond are refused: such a number is in another unit, kelvin or
/// fahrenheit, or a slip. Chosen: no clock of these kinds runs there.
inline constexpr double kLowestTemperature = -200.0;
inline constexpr double kHighestTemperature = 200.0;

/// Chosen: far more points than a chamber gives; the cost goes by the square.
inline constexpr std::size_t kMostPoints = 2000;

/// Reads a series: CSV, a header row with any of
///   capture, frequency_hz, u_hz, temperature_c, u_temperature_c, time_s,
///   board, sweep (up or down)
/// Errors: kBadData with line and column, found, expected; also for u_hz of
///         some frequencies of a board only, and one capture named twice
/// Source: docs/drift.md#a-series
Result<std::vector<SeriesRow>> read_series(std::string_view text);

}  // namespace clockassay
