// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cstddef>
#include <optional>
#include <string>

#include "clockassay/report/chart.h"
#include "report/chart_parts.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

const char* branch_words(Sweep branch) {
  switch (branch) {
    case Sweep::kUp:
      return ", way up";
    case Sweep::kDown:
      return ", way down";
    case Sweep::kNotStated:
      break;
  }
  return "";
}

/// The band of one branch and its middle.
void add_branch(const DriftResult& r, Sweep branch, bool is_first,
                Chart& chart) {
  ChartSeries band{
      "band of the curve, " + coverage_percent(r.question.coverage),
      Drawn::kBand,
      {},
      {},
      {},
      {}};
  ChartSeries curve{std::string("curve") + branch_words(branch),
                    is_first ? Drawn::kLine : Drawn::kDashed,
                    {},
                    {},
                    {},
                    {}};
  for (const BandPlace& place : r.band) {
    if (place.branch != branch) continue;
    const double expanded = place.error.expanded;
    band.x.push_back(place.temperature_c);
    band.low.push_back(place.error.value - expanded);
    band.high.push_back(place.error.value + expanded);
    curve.x.push_back(place.temperature_c);
    curve.y.push_back(place.error.value);
  }
  if (curve.x.empty()) return;
  if (is_first) chart.series.push_back(std::move(band));
  chart.series.push_back(std::move(curve));
}

void add_points(const DriftResult& r, Chart& chart) {
  ChartSeries points{"measured", Drawn::kPoints, {}, {}, {}, {}};
  ChartSeries marked{"marked as outlier", Drawn::kSquares, {}, {}, {}, {}};
  for (std::size_t i = 0; i < r.assay->points.size(); ++i) {
    const DriftPoint& p = r.assay->points[i];
    bool is_marked = false;
    for (const Outlier& o : r.assay->outliers) is_marked |= o.point == i;
    ChartSeries& s = is_marked ? marked : points;
    s.x.push_back(p.temperature_c);
    s.y.push_back(p.error.value());
    add_bar(s, p.error.value(),
            p.u ? std::optional(2.0 * p.u->value()) : std::nullopt);
  }
  if (!points.x.empty()) chart.series.push_back(std::move(points));
  if (!marked.x.empty()) chart.series.push_back(std::move(marked));
}

void add_limits(const DriftResult& r, Chart& chart) {
  if (!r.question.tolerance) return;
  chart.levels.push_back(
      {"limit", r.question.tolerance->low_ppm.to_double(), false});
  chart.levels.push_back(
      {"limit", r.question.tolerance->high_ppm.to_double(), false});
}

}  // namespace

std::optional<Chart> drift_chart(const DriftResult& r) {
  if (!r.assay) return std::nullopt;
  Chart chart;
  chart.id = "temperature";
  chart.title = "Frequency against temperature";
  if (!r.board.empty()) chart.title += ", " + r.board;
  chart.note =
      "Points with twice their own standard uncertainty; the curve, with what "
      "it and the instrument leave open, which one more reading may exceed. "
      "Beyond the measured temperatures the "
      "curve is a guess.";
  chart.x = {"temperature / \u00B0C"};
  chart.y = {r.question.expect ? "relative to what is expected / ppm"
                               : "relative to the curve at 25 \u00B0C / ppm"};
  bool is_first = true;
  for (const Sweep branch : {Sweep::kNotStated, Sweep::kUp, Sweep::kDown}) {
    const std::size_t before = chart.series.size();
    add_branch(r, branch, is_first, chart);
    if (chart.series.size() > before) is_first = false;
  }
  add_points(r, chart);
  add_limits(r, chart);
  say_without_bars(chart);
  return chart;
}

}  // namespace clockassay
