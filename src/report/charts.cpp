// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>

#include "clockassay/report/chart.h"
#include "report/chart_parts.h"

namespace clockassay {
namespace {

constexpr const char* kUnitPpm = "ppm";

/// A row each for what the clock is asked, in ppm of what is expected.
struct LimitRows {
  std::vector<std::string> names;
  ChartSeries allowed{"allowed", Drawn::kWideSpan, {}, {}, {}, {}};
  ChartSeries accepted{
      "accepted with this U", Drawn::kNarrowSpan, {}, {}, {}, {}};
  ChartSeries seen{"clock, with U", Drawn::kPoints, {}, {}, {}, {}};

  void add(const Check& c) {
    const auto row = static_cast<double>(names.size());
    names.push_back(c.subject.empty() || c.check == "tolerance" ? c.check
                                                                : c.subject);
    add_span(allowed, row, *c.low, *c.high);
    seen.x.push_back(*c.value);
    seen.y.push_back(row);
    add_bar(seen, *c.value, c.expanded_uncertainty);
    if (!c.expanded_uncertainty) return;
    const double u = *c.expanded_uncertainty;
    if (*c.high - *c.low > 2.0 * u) {
      add_span(accepted, row, *c.low + u, *c.high - u);
      accepted.open.push_back(u);
    }
  }

  static void add_span(ChartSeries& s, double row, double low, double high) {
    s.x.push_back(0.5 * (low + high));
    s.y.push_back(row);
    s.low.push_back(low);
    s.high.push_back(high);
  }
};

bool has_limits_in_ppm(const Check& c) {
  return c.unit == kUnitPpm && c.value && c.low && c.high;
}

double widest_limit(const Check& c) {
  return std::max(std::abs(*c.low), std::abs(*c.high));
}

/// Where the clock is so far off that its limits would be a hair, a picture
/// says less than the figures.
bool fits_one_picture(const Check& c) {
  constexpr double kFurthest = 25.0;  // chosen: limits of a hand's breadth
  return std::abs(*c.value) <
         kFurthest *
             std::max(widest_limit(c), c.expanded_uncertainty.value_or(0.0));
}

}  // namespace

std::optional<Chart> limit_chart(const Verdict& v, const std::string& where) {
  double tightest = std::numeric_limits<double>::infinity();
  for (const Check& c : v.checks) {
    if (has_limits_in_ppm(c)) tightest = std::min(tightest, widest_limit(c));
  }
  // Beside far wider limits the tightest would be a hair.
  constexpr double kMostTimes = 10.0;  // chosen
  LimitRows rows;
  for (const Check& c : v.checks) {
    if (has_limits_in_ppm(c) && fits_one_picture(c) &&
        widest_limit(c) <= kMostTimes * tightest) {
      rows.add(c);
    }
  }
  if (tightest == std::numeric_limits<double>::infinity()) return std::nullopt;
  Chart chart;
  chart.id = "limits";
  chart.title = "Error against limits, " + v.clock;
  if (!where.empty()) chart.title += " in " + where;
  if (rows.names.empty()) {
    chart.nothing =
        "The clock is off by many times its limits: beside the error they "
        "would be a hair. The table of checks has both.";
    return chart;
  }
  chart.note =
      "It passes where all of its interval lies between the limits, so where "
      "the point lies within the accepted span: the limits less U at both "
      "ends. Limits more than ten times as wide are in the table of checks.";
  chart.x = {"relative to what is expected / ppm"};
  chart.y = {"", AxisScale::kRows, rows.names};
  chart.series = {rows.allowed};
  if (!rows.accepted.x.empty()) chart.series.push_back(rows.accepted);
  chart.series.push_back(rows.seen);
  say_without_bars(chart);
  return chart;
}

void add_bar(ChartSeries& s, double value, std::optional<double> width) {
  constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
  s.low.push_back(width ? value - *width : kNone);
  s.high.push_back(width ? value + *width : kNone);
}

void say_without_bars(Chart& chart) {
  for (const ChartSeries& s : chart.series) {
    if (s.drawn != Drawn::kPoints && s.drawn != Drawn::kSquares) continue;
    for (const double low : s.low) {
      if (!std::isnan(low)) continue;
      chart.note += " Of a point without a bar the uncertainty is not known.";
      return;
    }
  }
}

ChartUnit unit_for(const std::vector<double>& values, const std::string& unit) {
  double most = 0.0;
  for (const double v : values) {
    if (std::isfinite(v)) most = std::max(most, std::abs(v));
  }
  constexpr std::array kPrefixes = {"f", "p", "n", "\u00B5", "m",
                                    "",  "k", "M", "G"};
  constexpr int kNone = 5;
  int at = kNone;
  if (most > 0.0) {
    const int third = static_cast<int>(std::floor(std::log10(most) / 3.0));
    at = std::clamp(kNone + third, 0, static_cast<int>(kPrefixes.size()) - 1);
  }
  return {std::pow(10.0, 3 * (at - kNone)),
          kPrefixes[static_cast<std::size_t>(at)] + unit};
}

std::string place_of(const Record& record, const CaptureResult& capture,
                     const ChannelResult& channel) {
  if (record.captures.size() < 2) return channel.name;
  return channel.name + " in " + capture.path;
}

std::string where_of(const Record& record, const Verdict& v) {
  std::size_t of_capture = 0;
  bool has_others = false;
  for (const Verdict& other : record.verdicts) {
    has_others = has_others || other.capture != v.capture;
    if (other.capture == v.capture && other.clock == v.clock) ++of_capture;
  }
  has_others = has_others || record.captures.size() > 1 ||
               (record.summary && record.summary->captures > 1);
  const std::string path = v.capture == "-" ? "standard input" : v.capture;
  const std::string channel = of_capture > 1 ? v.channel.value_or("") : "";
  if (!has_others) return channel;
  return channel.empty() ? path : path + ", " + channel;
}

void ChartIds::number(Chart& chart) {
  const int count = ++given_[chart.id];
  if (count > 1) chart.id += '-' + std::to_string(count);
}

std::vector<Chart> charts_of(const Record& record) {
  std::vector<Chart> charts;
  ChartIds ids;
  const auto add = [&](std::optional<Chart> chart) {
    if (!chart || !chart->nothing.empty()) return;
    ids.number(*chart);
    charts.push_back(*std::move(chart));
  };
  for (std::size_t i = 0; i < record.verdicts.size(); ++i) {
    const Verdict& v = record.verdicts[i];
    const bool is_curve = i < record.drifts.size();
    add(limit_chart(v, !is_curve                  ? where_of(record, v)
                       : record.drifts.size() > 1 ? record.drifts[i].board
                                                  : std::string()));
  }
  for (const CaptureResult& capture : record.captures) {
    for (const ChannelResult& channel : capture.channels) {
      const std::string place = place_of(record, capture, channel);
      for (Chart& chart : channel_charts(channel, place)) {
        add(std::move(chart));
      }
    }
  }
  for (const DriftResult& r : record.drifts) add(drift_chart(r));
  if (record.comparison) add(shift_chart(*record.comparison));
  for (const Trend& trend : record.trends) add(trend_chart(trend));
  return charts;
}

}  // namespace clockassay
