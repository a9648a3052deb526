// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

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

bool is_measured(const DriftResult& r, const BandPlace& place) {
  return place.temperature_c >= r.assay->measured.low_c &&
         place.temperature_c <= r.assay->measured.high_c;
}

/// The curve beyond what was measured at one side, and the place next to it;
/// with what it leaves open, where that is drawn of the branch.
void add_guess(const DriftResult& r, Sweep branch, bool is_colder,
               bool is_first, Chart& chart) {
  const Span& measured = r.assay->measured;
  std::vector<BandPlace> places;
  for (const BandPlace& place : r.band) {
    if (place.branch == branch) places.push_back(place);
  }
  // From the outermost on, inwards.
  if (!is_colder) std::reverse(places.begin(), places.end());
  const auto inner =
      std::find_if(places.begin(), places.end(), [&](const BandPlace& place) {
        return is_colder ? place.temperature_c >= measured.low_c
                         : place.temperature_c <= measured.high_c;
      });
  if (inner == places.begin()) return;
  places.erase(inner == places.end() ? inner : inner + 1, places.end());
  if (!is_colder) std::reverse(places.begin(), places.end());
  ChartSeries guess{std::string("extrapolated, ") +
                        (is_colder ? "colder" : "warmer") +
                        branch_words(branch),
                    Drawn::kGuess,
                    {},
                    {},
                    {},
                    {}};
  for (const BandPlace& place : places) {
    guess.x.push_back(place.temperature_c);
    guess.y.push_back(place.error.value);
    guess.open.push_back(place.error.expanded);
    if (is_first) add_bar(guess, place.error.value, place.error.expanded);
  }
  chart.series.push_back(std::move(guess));
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
    if (place.branch != branch || !is_measured(r, place)) continue;
    const double expanded = place.error.expanded;
    band.x.push_back(place.temperature_c);
    band.low.push_back(place.error.value - expanded);
    band.high.push_back(place.error.value + expanded);
    band.open.push_back(expanded);
    curve.open.push_back(expanded);
    curve.x.push_back(place.temperature_c);
    curve.y.push_back(place.error.value);
  }
  if (!curve.x.empty()) {
    if (is_first) chart.series.push_back(std::move(band));
    chart.series.push_back(std::move(curve));
  }
  add_guess(r, branch, true, is_first, chart);
  add_guess(r, branch, false, is_first, chart);
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
      "curve is a guess, dotted.";
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
