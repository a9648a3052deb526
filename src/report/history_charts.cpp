// SPDX-License-Identifier: GPL-3.0-or-later
#include <optional>
#include <string>
#include <vector>

#include "clockassay/report/chart.h"
#include "report/chart_parts.h"

namespace clockassay {
std::string trend_title(const Trend& trend) {
  std::string title = "History of " + trend.clock;
  for (const Tag& tag : trend.of) title += ", " + tag.key + " " + tag.value;
  return title;
}

std::optional<Chart> shift_chart(const ComparisonResult& comparison) {
  Chart chart;
  chart.id = "shifts";
  chart.title = "Shift of each clock";
  chart.note =
      "After against before, with U; a clock whose interval does not reach "
      "zero moved, as far as one clock by itself tells.";
  chart.x = {"after against before / ppm"};
  chart.y.scale = AxisScale::kRows;
  ChartSeries allowed{"allowed", Drawn::kWideSpan, {}, {}, {}, {}};
  ChartSeries seen{"shift, with U", Drawn::kPoints, {}, {}, {}, {}};
  for (const ClockShift& s : comparison.shifts) {
    if (s.presence != Presence::kInBoth) continue;
    const auto row = static_cast<double>(chart.y.rows.size());
    chart.y.rows.push_back(s.channel);
    if (const auto& limit = comparison.options.limit) {
      allowed.x.push_back(0.0);
      allowed.y.push_back(row);
      allowed.low.push_back(limit->low_ppm.to_double());
      allowed.high.push_back(limit->high_ppm.to_double());
    }
    seen.x.push_back(s.shift.value());
    seen.y.push_back(row);
    seen.low.push_back(s.shift.value() - s.expanded.value());
    seen.high.push_back(s.shift.value() + s.expanded.value());
  }
  if (seen.x.empty()) {
    chart.note.clear();
    chart.nothing =
        "There is no shift to show: no clock is in both captures under one "
        "name.";
    return chart;
  }
  if (!allowed.x.empty()) chart.series.push_back(std::move(allowed));
  chart.series.push_back(std::move(seen));
  chart.levels.push_back({"", 0.0, true});
  return chart;
}

std::optional<Chart> trend_chart(const Trend& trend) {
  Chart chart;
  chart.id = "history";
  chart.title = trend_title(trend);
  chart.note =
      "Each capture by the time it was taken, with U. Upright lines are steps "
      "found; the limits are of single values of the last level.";
  chart.x = {"time (UTC)", AxisScale::kDate};
  chart.y = {trend.is_relative ? "relative to the median / ppm"
                               : "relative to what is expected / ppm"};
  ChartSeries within{"captures", Drawn::kPoints, {}, {}, {}, {}};
  ChartSeries beyond{
      "beyond the control limits", Drawn::kSquares, {}, {}, {}, {}};
  for (const TrendPoint& p : trend.points) {
    if (!p.ppm) continue;
    ChartSeries& s = p.beyond_limits ? beyond : within;
    s.x.push_back(p.taken_s);
    s.y.push_back(*p.ppm);
    add_bar(s, *p.ppm, p.expanded);
  }
  if (within.x.size() + beyond.x.size() < 2) {
    chart.note.clear();
    chart.nothing =
        "There is no course to show: a history begins with two captures that "
        "have this clock.";
    return chart;
  }
  if (!within.x.empty()) chart.series.push_back(std::move(within));
  if (!beyond.x.empty()) chart.series.push_back(std::move(beyond));
  if (trend.limits) {
    // Of the last level, so from its beginning on.
    const std::size_t first =
        trend.shifts.empty() ? 0 : trend.shifts.back().first;
    const std::vector<double> x = {trend.points[first].taken_s,
                                   trend.points.back().taken_s};
    const double high = trend.limits->high, low = trend.limits->low;
    // As the text has them: to what the scatter leaves open.
    const std::vector<double> open(2, 2.0 * trend.limits->sigma);
    chart.series.push_back({"control limits",
                            Drawn::kDashed,
                            x,
                            {high, high},
                            {},
                            {},
                            open,
                            "upper control limit"});
    chart.series.push_back({"",
                            Drawn::kDashed,
                            x,
                            {low, low},
                            {},
                            {},
                            open,
                            "lower control limit"});
  }
  for (const LevelShift& shift : trend.shifts) {
    chart.levels.push_back({"step", trend.points[shift.first].taken_s, true});
  }
  say_without_bars(chart);
  return chart;
}

}  // namespace clockassay
