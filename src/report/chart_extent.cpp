// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/chart_extent.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

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
  /// Some room at the ends; something to see where there is one value.
  void widen() {
    if (low > high) *this = {0.0, 1.0};
    constexpr double kRoom = 0.05;
    const double room = high > low ? kRoom * (high - low)
                                   : std::max(std::abs(high) * kRoom, 1e-12);
    low -= room;
    high += room;
  }
};

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
  x.widen();
  y.widen();
  if (is_rows) y = {0.5 - static_cast<double>(chart.y.rows.size()), 0.5};
  return {x.low, x.high, y.low, y.high};
}

}  // namespace clockassay
