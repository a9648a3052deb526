// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/level_names.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

#include "report/display_width.h"

namespace clockassay {
namespace {

// Points of the page, as the letters of a picture are.
constexpr double kLetter = 5.6;
constexpr double kLine = 12.0;
constexpr double kBeside = 4.0;

struct Box {
  double left, right, low, high;

  bool meets(const Box& b) const {
    return left < b.right && b.left < right && low < b.high && b.low < high;
  }
};

Box box_of(const PlotWindow& w, const NamePlace& place,
           const std::string& name) {
  const double wide =
      w.across(kLetter * static_cast<double>(display_width(name)));
  const double half = w.upwards(0.5 * kLine);
  const double left = place.is_right ? place.x - wide : place.x;
  return {left, left + wide, place.y - half, place.y + half};
}

/// How much of a line of values lies in it: parts of the way from each to the
/// next.
std::size_t values_in(const PlotWindow& w, const ChartSeries& s,
                      const std::vector<double>& y, const Box& box) {
  constexpr int kParts = 16;  // chosen: a letter is wider
  std::size_t count = 0;
  for (std::size_t i = 0; i < y.size(); ++i) {
    const double x0 = w.at_x(s.x[i]), y0 = w.at_y(y[i]);
    const bool is_last = i + 1 == y.size();
    const double x1 = is_last ? x0 : w.at_x(s.x[i + 1]);
    const double y1 = is_last ? y0 : w.at_y(y[i + 1]);
    if (std::max(x0, x1) < box.left || std::min(x0, x1) > box.right) continue;
    for (int part = 0; part < kParts; ++part) {
      const double at = static_cast<double>(part) / kParts;
      const double px = x0 + at * (x1 - x0), py = y0 + at * (y1 - y0);
      if (px >= box.left && px <= box.right && py >= box.low &&
          py <= box.high) {
        ++count;
      }
    }
  }
  return count;
}

/// Intervals that reach over it, too.
std::size_t intervals_over(const PlotWindow& w, const ChartSeries& s,
                           const Box& box) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < s.low.size(); ++i) {
    const double x = w.at_x(s.x[i]);
    if (x >= box.left && x <= box.right && w.at_y(s.low[i]) < box.high &&
        w.at_y(s.high[i]) > box.low) {
      ++count;
    }
  }
  return count;
}

std::size_t data_in(const PlotWindow& w, const Box& box) {
  std::size_t count = 0;
  for (const ChartSeries& s : w.chart.series) {
    for (const std::vector<double>* y : {&s.y, &s.low, &s.high}) {
      count += values_in(w, s, *y, box);
    }
    count += intervals_over(w, s, box);
  }
  return count;
}

NamePlace beside_level(const PlotWindow& w, const ChartLevel& level) {
  const double at = w.at_y(level.at);
  const double off = w.upwards(7.0);
  const double left = w.extent.x_low + w.across(kBeside);
  const double right = w.extent.x_high - w.across(kBeside);
  const std::array<NamePlace, 4> places = {{{right, at + off, true},
                                            {right, at - off, true},
                                            {left, at + off, false},
                                            {left, at - off, false}}};
  NamePlace best = places[0];
  std::size_t least = static_cast<std::size_t>(-1);
  for (const NamePlace& place : places) {
    const Box box = box_of(w, place, level.name);
    if (box.high > w.extent.y_high || box.low < w.extent.y_low) continue;
    const std::size_t count = data_in(w, box);
    if (count < least) {
      least = count;
      best = place;
    }
  }
  return best;
}

NamePlace at_the_top(const PlotWindow& w, const ChartLevel& level,
                     const std::vector<Box>& others) {
  constexpr int kMostLines = 4;  // chosen
  const double at = w.at_x(level.at);
  NamePlace place{at + w.across(3.0), 0.0, false};
  for (int line = 0; line < kMostLines; ++line) {
    place.y = w.extent.y_high - w.upwards(9.0 + kLine * line);
    const Box box = box_of(w, place, level.name);
    if (box.right > w.extent.x_high) {
      place.x = at - w.across(3.0);
      place.is_right = true;
    }
    const Box there = box_of(w, place, level.name);
    if (std::none_of(others.begin(), others.end(),
                     [&](const Box& b) { return b.meets(there); })) {
      break;
    }
  }
  return place;
}

}  // namespace

std::vector<NamePlace> name_places(const PlotWindow& w) {
  std::vector<NamePlace> places;
  std::vector<Box> taken;
  for (const ChartLevel& level : w.chart.levels) {
    if (level.name.empty()) {
      places.emplace_back();
      continue;
    }
    places.push_back(level.is_upright ? at_the_top(w, level, taken)
                                      : beside_level(w, level));
    taken.push_back(box_of(w, places.back(), level.name));
  }
  return places;
}

}  // namespace clockassay
