// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <string>

#include "clockassay/analysis/assay_series.h"
#include "report/display_width.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

// Rows of the table of points. Chosen: what a person looks through; a program
// has them all.
constexpr std::size_t kMostRows = 60;

// One column of numbers: as many decimals as the smallest step that matters.
std::string fixed(double value, int decimals) {
  std::array<char, 400> buffer{};
  const auto done = std::to_chars(buffer.data(), buffer.data() + buffer.size(),
                                  value, std::chars_format::fixed, decimals);
  return {buffer.data(), done.ptr};
}

// Two digits of the smallest uncertainty.
int decimals_for(double smallest) {
  constexpr int kMost = 6;
  if (!(smallest > 0.0)) return 3;
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(smallest))), 0,
                    kMost);
}

std::string column(const std::string& text, std::size_t width) {
  const std::size_t has = display_width(text);
  return std::string(has < width ? width - has : 1, ' ') + text;
}

int point_decimals(const DriftResult& r) {
  double smallest = 0.0;
  const auto hold = [&smallest](double value) {
    if (value > 0.0 && (smallest == 0.0 || value < smallest)) smallest = value;
  };
  for (const DriftPoint& p : r.assay->points) {
    if (p.u) hold(p.u->value());
  }
  const CurveFit& fit = chosen_fit(*r.assay);
  if (smallest == 0.0 && fit.dof > 0) {
    double squares = 0.0;
    for (const double e : fit.residual) squares += e * e;
    hold(std::sqrt(squares / fit.dof));
  }
  return decimals_for(smallest);
}

std::string point_mark(const DriftResult& r, std::size_t i) {
  const auto& outliers = r.assay->outliers;
  std::string mark;
  if (std::any_of(outliers.begin(), outliers.end(),
                  [i](const Outlier& o) { return o.point == i; })) {
    mark = "  off the curve";
  }
  const PointPlace& place = r.points[i].place;
  if (place.window) {
    mark += "  " + time_to_digits(place.window->from_s, 4) + " to " +
            time_to_digits(place.window->to_s, 4);
  } else if (!place.source.empty()) {
    constexpr std::size_t kRoom = 26;  // to 80 columns
    std::string name = name_text(place.source);
    if (display_width(name) + display_width(mark) > kRoom) {
      name = "line " + std::to_string(place.line);
    }
    mark += "  " + name;
  }
  return mark;
}

}  // namespace

void put_drift_points(TextLayout& out, const DriftResult& r) {
  constexpr std::size_t kWidth = 11;
  const int decimals = point_decimals(r);
  const CurveFit& fit = chosen_fit(*r.assay);
  out.labelled("points",
               "degC, error, standard uncertainty and distance from "
               "the curve in ppm, leverage");
  std::string rows = column("degC", 9) + column("error", kWidth) +
                     column("u", kWidth) + column("residual", kWidth) +
                     column("leverage", 9) + '\n';
  for (std::size_t i = 0; i < std::min(r.points.size(), kMostRows); ++i) {
    const DriftPoint& p = r.assay->points[i];
    rows += column(fixed(p.temperature_c, 2), 9) +
            column(fixed(p.error.value(), decimals), kWidth) +
            column(p.u ? fixed(p.u->value(), decimals) : "-", kWidth) +
            column(fixed(fit.residual[i], decimals), kWidth) +
            column(fixed(fit.leverage[i], 2), 9) + point_mark(r, i) + '\n';
  }
  out.append(rows);
  if (r.points.size() > kMostRows) {
    out.item("-", "and " + std::to_string(r.points.size() - kMostRows) +
                      " more: --json has all");
  }
}

}  // namespace clockassay
