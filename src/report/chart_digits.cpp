// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/chart_digits.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "report/number_format.h"

namespace clockassay {
namespace {

// Chosen: a thousandth of a chart is less than can be seen of it.
constexpr int kOfTheLargest = 4;
// Chosen: an axis of powers of ten shows no more.
constexpr int kOfPowers = 3;
// However little is left open: a double's own noise is far below.
constexpr int kMost = 9;

double largest_of(const std::vector<double>& values) {
  double most = 0.0;
  for (const double v : values) {
    if (std::isfinite(v)) most = std::max(most, std::abs(v));
  }
  return most;
}

int place_within(double largest, int digits) {
  return largest > 0.0 ? place_of_digit(largest, digits) : 0;
}

/// To the nearer neighbour that is elsewhere; 0: there is none.
double gap_at(const std::vector<double>& x, std::size_t i) {
  double gap = 0.0;
  const auto take = [&](double other) {
    const double off = std::abs(other - x[i]);
    if (off > 0.0 && (gap == 0.0 || off < gap)) gap = off;
  };
  if (i > 0) take(x[i - 1]);
  if (i + 1 < x.size()) take(x[i + 1]);
  return gap;
}

bool are_counts(const std::vector<double>& values) {
  return std::all_of(values.begin(), values.end(), [](double v) {
    return std::isfinite(v) && v == std::round(v);
  });
}

/// Half of what the value at one place leaves open; 0: not known.
double open_at(const ChartSeries& s, std::size_t i) {
  double open = 0.0;
  if (!s.open.empty()) {
    open = s.open[i];
  } else if (!s.low.empty() &&
             (s.drawn == Drawn::kPoints || s.drawn == Drawn::kSquares ||
              s.drawn == Drawn::kBox)) {
    open = 0.5 * (s.high[i] - s.low[i]);
  }
  return std::isfinite(open) ? open : 0.0;
}

/// What a figure of each place is of: the value, else the ends of a band.
const std::vector<double>& values_of(const Chart& chart, const ChartSeries& s) {
  if (chart.y.scale == AxisScale::kRows) return s.x;
  return s.y.empty() ? s.high : s.y;
}

}  // namespace

bool is_exact(const ChartSeries& s) {
  return s.drawn == Drawn::kWideSpan;
}

std::vector<int> places_of_x(const Chart& chart, const ChartSeries& s) {
  const bool is_powers = chart.x.scale == AxisScale::kLogarithmic;
  const double largest = largest_of(s.x);
  std::vector<int> places;
  for (std::size_t i = 0; i < s.x.size(); ++i) {
    const double of = is_powers ? std::abs(s.x[i]) : largest;
    int place = place_within(of, kOfTheLargest);
    const double gap = gap_at(s.x, i);
    if (gap > 0.0) place = std::min(place, place_of_uncertainty(gap));
    places.push_back(std::max(place, place_within(of, kMost)));
  }
  return places;
}

std::vector<int> places_of_values(const Chart& chart, const ChartSeries& s) {
  const bool is_powers = chart.y.scale == AxisScale::kLogarithmic;
  const std::vector<double>& values = values_of(chart, s);
  const double largest =
      std::max({largest_of(values), largest_of(s.low), largest_of(s.high)});
  const bool is_count =
      !is_powers && s.low.empty() && s.open.empty() && are_counts(values);
  std::vector<int> places;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double open = open_at(s, i);
    const double of =
        is_powers && std::isfinite(values[i]) ? std::abs(values[i]) : largest;
    int place =
        is_count ? 0 : place_within(of, is_powers ? kOfPowers : kOfTheLargest);
    if (open > 0.0) {
      place = std::max(place_of_uncertainty(open), place_within(of, kMost));
    }
    places.push_back(place);
  }
  return places;
}

std::string level_text(const ChartLevel& level) {
  if (!level.digits || level.at == 0.0) return plain_number(level.at);
  return number_to_place(level.at, place_of_digit(level.at, *level.digits));
}

}  // namespace clockassay
