// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/chart_extent.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "report/chart_digits.h"

namespace clockassay {
namespace {

struct Range {
  double low = std::numeric_limits<double>::infinity();
  double high = -std::numeric_limits<double>::infinity();

  void take(double value) {
    if (!std::isfinite(value)) return;
    low = std::min(low, value);
    high = std::max(high, value);
  }
  void take(const std::vector<double>& values, AxisScale scale) {
    for (const double value : values) take(on_scale(value, scale));
  }
  /// Some room at the ends. In: around  where there is one value
  void widen(double around) {
    if (low > high) *this = {0.0, 1.0};
    constexpr double kRoom = 0.05;
    const double room = high > low ? kRoom * (high - low) : around;
    low -= room;
    high += room;
  }
};

/// Around values that are all one, in steps of the axis: twice what they leave
/// open, else ten of the last place that means something.
double around_values(const Chart& chart) {
  if (chart.y.scale == AxisScale::kLogarithmic) return 0.5;  // of a decade
  double open = 0.0;
  double step = 0.0;
  for (const ChartSeries& s : chart.series) {
    for (const double v : s.open) {
      if (std::isfinite(v)) open = std::max(open, 2.0 * v);
    }
    for (const int place : places_of_values(chart, s)) {
      step = std::max(step, std::pow(10.0, place + 1));
    }
  }
  return open > 0.0 ? open : step > 0.0 ? step : 1.0;
}

double around_place(const ChartAxis& axis, double at) {
  if (axis.scale == AxisScale::kLogarithmic) return 0.5;  // of a decade
  if (axis.scale == AxisScale::kDate) return 86400.0;     // a day
  return at == 0.0 ? 1.0 : 0.05 * std::abs(at);           // chosen
}

}  // namespace

double on_scale(double value, AxisScale scale) {
  switch (scale) {
    case AxisScale::kLogarithmic:
      return value > 0.0 ? std::log10(value)
                         : std::numeric_limits<double>::quiet_NaN();
    case AxisScale::kRows:
      return -value;
    case AxisScale::kLinear:
    case AxisScale::kDate:
      break;
  }
  return value;
}

ChartExtent extent_of(const Chart& chart) {
  const bool is_rows = chart.y.scale == AxisScale::kRows;
  Range x, y;
  for (const ChartSeries& s : chart.series) {
    x.take(s.x, chart.x.scale);
    y.take(s.y, chart.y.scale);
    Range& bars = is_rows ? x : y;
    bars.take(s.low, is_rows ? chart.x.scale : chart.y.scale);
    bars.take(s.high, is_rows ? chart.x.scale : chart.y.scale);
  }
  for (const ChartLevel& level : chart.levels) {
    (level.is_upright ? x : y)
        .take(on_scale(level.at,
                       level.is_upright ? chart.x.scale : chart.y.scale));
  }
  x.widen(is_rows ? around_values(chart) : around_place(chart.x, x.high));
  y.widen(is_rows ? 1.0 : around_values(chart));
  const bool has_names = std::any_of(
      chart.levels.begin(), chart.levels.end(), [](const ChartLevel& level) {
        return level.is_upright && !level.name.empty();
      });
  // Room for them above what is drawn. Chosen: a line of text.
  if (has_names) y.high += 0.07 * (y.high - y.low);
  if (is_rows) y = {0.5 - static_cast<double>(chart.y.rows.size()), 0.5};
  return {x.low, x.high, y.low, y.high};
}

}  // namespace clockassay
