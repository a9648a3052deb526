// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/temperature_log.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <limits>
#include <string>
#include <utility>

#include "base/median.h"
#include "capture/shown_text.h"
#include "drift/named_table.h"
#include "drift/temperature_cell.h"

namespace clockassay {
namespace {

constexpr std::string_view kNames[] = {"time_s", "temperature_c",
                                       "u_temperature_c"};

constexpr TableKind kLog{"a temperature log", kNames, "time_s,temperature_c",
                         "times count in seconds from the first stamp of the "
                         "capture"};

// Chosen: a step of the temperature that bends a curve little against what all
// of it does, and enough points for a cubic and to test it.
constexpr double kStepsOfSpan = 24.0;
// Chosen: windows no shorter, so that each has edges enough, and none longer,
// so that a plateau has points enough to show their scatter.
constexpr double kShortest = 1.0 / 256.0;
constexpr double kLongest = 1.0 / 16.0;

double between(const TemperatureReading& a, const TemperatureReading& b,
               double time_s) {
  const double share = (time_s - a.time_s) / (b.time_s - a.time_s);
  return a.temperature_c + share * (b.temperature_c - a.temperature_c);
}

// The first reading after a time that is not the first of all.
std::size_t reading_after(const TemperatureLog& log, double time_s) {
  const auto at = std::upper_bound(
      log.readings.begin() + 1, log.readings.end() - 1, time_s,
      [](double t, const TemperatureReading& r) { return t < r.time_s; });
  return static_cast<std::size_t>(at - log.readings.begin());
}

double temperature_at(const TemperatureLog& log, double time_s) {
  const std::size_t i = reading_after(log, time_s);
  return between(log.readings[i - 1], log.readings[i], time_s);
}

// Times at which the course of the temperature bends, with both ends.
std::vector<double> bends(const TemperatureLog& log, double from_s,
                          double to_s) {
  std::vector<double> times = {from_s};
  for (std::size_t i = reading_after(log, from_s);
       i < log.readings.size() && log.readings[i].time_s < to_s; ++i) {
    times.push_back(log.readings[i].time_s);
  }
  times.push_back(to_s);
  return times;
}

struct Extent {
  double low = 0.0;
  double high = 0.0;
  double width() const { return high - low; }
  void hold(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  }
};

Extent extent(const TemperatureLog& log, double from_s, double to_s) {
  const double first = temperature_at(log, from_s);
  Extent all{first, first};
  for (const double t : bends(log, from_s, to_s)) {
    all.hold(temperature_at(log, t));
  }
  return all;
}

}  // namespace

Result<TemperatureLog> read_temperature_log(std::string_view text) {
  const auto table = read_named_table(text, kLog);
  if (!table) return tl::unexpected<Error>(table.error());
  TemperatureLog log;
  log.u_stated = table->has[column_of(*table, "u_temperature_c")];
  for (const TableRow& row : table->rows) {
    const auto time = number_in(*table, row, "time_s", "a time in seconds");
    if (!time) return tl::unexpected<Error>(time.error());
    if (!*time) {
      return refuse_cell(row, "time_s", "nothing", "a time in seconds",
                         "delete the row where it is not known");
    }
    const auto at = temperature_in(*table, row);
    if (!at) return tl::unexpected<Error>(at.error());
    if (!log.readings.empty() && !(**time > log.readings.back().time_s)) {
      return refuse_cell(row, "time_s",
                         shown_text(row.cells[column_of(*table, "time_s")]),
                         "a time after that of the row before",
                         "sort the rows by time, each time once");
    }
    log.readings.push_back({**time, at->celsius, at->u.value_or(0.0)});
  }
  if (log.readings.size() < 2) {
    return refuse_cell(table->rows.front(), "time_s", "one row", "two at least",
                       "the temperature is taken between readings, never "
                       "beyond them");
  }
  return log;
}

std::optional<WindowTemperature> temperature_over(const TemperatureLog& log,
                                                  double from_s, double to_s) {
  assert(from_s < to_s && log.readings.size() >= 2);
  if (from_s < log.readings.front().time_s ||
      to_s > log.readings.back().time_s) {
    return std::nullopt;
  }
  const std::vector<double> times = bends(log, from_s, to_s);
  WindowTemperature window;
  window.first_c = temperature_at(log, from_s);
  window.last_c = temperature_at(log, to_s);
  // About the first value, so that squares do not cancel.
  double sum = 0.0;
  double squares = 0.0;
  for (std::size_t i = 1; i < times.size(); ++i) {
    const double a = temperature_at(log, times[i - 1]) - window.first_c;
    const double b = temperature_at(log, times[i]) - window.first_c;
    const double share = (times[i] - times[i - 1]) / (to_s - from_s);
    sum += share * 0.5 * (a + b);
    squares += share * (a * a + a * b + b * b) / 3.0;
  }
  window.mean_c = window.first_c + sum;
  window.spread_c = std::sqrt(std::max(0.0, squares - sum * sum));
  double thermometer = 0.0;
  const std::size_t begin = reading_after(log, from_s) - 1;
  const std::size_t end = reading_after(log, to_s);
  for (std::size_t i = begin; i <= end; ++i) {
    thermometer = std::max(thermometer, log.readings[i].u_temperature_c);
  }
  window.u_c = std::hypot(window.spread_c, thermometer);
  return window;
}

namespace {

// Of the middle distance of readings: one is lost from 1.5 on, three from 3.5.
constexpr double kOneLost = 1.5;
constexpr double kThreeLost = 3.5;

std::vector<TimeWindow> apart_by(const TemperatureLog& log, double more,
                                 double most) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < log.readings.size(); ++i) {
    steps.push_back(log.readings[i].time_s - log.readings[i - 1].time_s);
  }
  const double usual = median(steps);
  std::vector<TimeWindow> apart;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    if (!(steps[i] > more * usual) || steps[i] > most * usual) continue;
    apart.push_back({log.readings[i].time_s, log.readings[i + 1].time_s});
  }
  return apart;
}

}  // namespace

std::vector<TimeWindow> log_gaps(const TemperatureLog& log) {
  return apart_by(log, kThreeLost, std::numeric_limits<double>::infinity());
}

std::vector<TimeWindow> log_bridges(const TemperatureLog& log) {
  return apart_by(log, kOneLost, kThreeLost);
}

std::vector<TimeWindow> cut_windows(const TemperatureLog& log, double from_s,
                                    double to_s) {
  from_s = std::max(from_s, log.readings.front().time_s);
  to_s = std::min(to_s, log.readings.back().time_s);
  std::vector<TimeWindow> windows;
  if (!(from_s < to_s)) return windows;
  const double step = extent(log, from_s, to_s).width() / kStepsOfSpan;
  const double shortest = kShortest * (to_s - from_s);
  const double longest = kLongest * (to_s - from_s);
  constexpr int kParts = 4096;  // ends fall on this grid: chosen, fine enough
  double begin = from_s;
  Extent seen = extent(log, begin, begin);
  double before = begin;
  for (int i = 1; i <= kParts; ++i) {
    const double t = from_s + (to_s - from_s) * i / kParts;
    const Extent part = extent(log, before, t);
    seen.hold(part.low);
    seen.hold(part.high);
    before = t;
    // Half a step of the grid: that of the last window must not be lost to
    // rounding.
    const double length = t - begin + 0.5 * (to_s - from_s) / kParts;
    const bool moved = step > 0.0 && seen.width() >= step;
    if (!(length >= longest || (moved && length >= shortest))) continue;
    windows.push_back({begin, t});
    begin = t;
    seen = extent(log, t, t);
  }
  if (begin < to_s && !windows.empty()) windows.back().to_s = to_s;
  return windows;
}

std::vector<Sweep> sweeps_of(const std::vector<WindowTemperature>& windows) {
  std::vector<Sweep> sweeps;
  std::size_t up = 0;
  for (const WindowTemperature& w : windows) {
    const double moved = w.last_c - w.first_c;
    // Of a straight way the standard deviation is its length over sqrt(12).
    // Chosen: half of that is no way any more.
    const bool clear =
        std::abs(moved) > 0.5 * std::sqrt(12.0) * w.spread_c && moved != 0.0;
    sweeps.push_back(!clear        ? Sweep::kNotStated
                     : moved > 0.0 ? Sweep::kUp
                                   : Sweep::kDown);
    up += sweeps.back() == Sweep::kUp;
  }
  const auto unclear =
      std::count(sweeps.begin(), sweeps.end(), Sweep::kNotStated);
  const auto down = std::count(sweeps.begin(), sweeps.end(), Sweep::kDown);
  constexpr std::size_t kShare = 8;  // chosen: turns, but no plateaus
  if (static_cast<std::size_t>(unclear) * kShare > sweeps.size() || up < 2 ||
      down < 2) {
    sweeps.assign(sweeps.size(), Sweep::kNotStated);
  }
  return sweeps;
}

}  // namespace clockassay
