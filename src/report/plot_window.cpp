// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plot_window.h"

#include <plplot/plplot.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <string>

#include "clockassay/base/printable.h"
#include "report/level_names.h"

namespace clockassay {
namespace {

/// Runs without a gap, with the place each begins.
template <class Use>
void each_run(std::size_t count, const auto& is_known, const Use& use) {
  for (std::size_t i = 0; i < count;) {
    std::size_t end = i;
    while (end < count && is_known(end)) ++end;
    if (end > i) use(i, end);
    i = std::max(end, i) + 1;
  }
}

/// A line of one point has no length.
void draw_lone(const PlotWindow& w, double x, double y) {
  draw_mark(Drawn::kPoints, x, y, w.across(2.0), w.upwards(2.0));
}

/// Where U is not known there is none.
bool has_bar(const ChartSeries& s, std::size_t i) {
  return !s.low.empty() && std::isfinite(s.low[i]) && std::isfinite(s.high[i]);
}

// Parts of a band that are wider have an outline [points]. Chosen.
constexpr double kPointsOfAPart = 4.0;

void draw_band(const PlotWindow& w, const ChartSeries& s) {
  const auto is_known = [&](std::size_t i) {
    return std::isfinite(w.at_x(s.x[i])) && std::isfinite(w.at_y(s.low[i])) &&
           std::isfinite(w.at_y(s.high[i]));
  };
  each_run(s.x.size(), is_known, [&](std::size_t from, std::size_t to) {
    std::vector<double> x, y;
    for (std::size_t i = from; i < to; ++i) {
      x.push_back(w.at_x(s.x[i]));
      y.push_back(w.at_y(s.high[i]));
    }
    for (std::size_t i = to; i-- > from;) {
      x.push_back(w.at_x(s.x[i]));
      y.push_back(w.at_y(s.low[i]));
    }
    // Many parts and nothing else in the chart: an outline would be all there
    // is to see, so it is one dark area.
    const bool is_dense =
        w.chart.series.size() == 1 &&
        static_cast<double>(to - from) * kPointsOfAPart > w.wide;
    // One place alone has no area, and may have no height.
    if (to - from > 1) {
      fill(is_dense ? kFirst : kFirstPale, x, y);
    } else {
      draw_lone(w, x[0], y[0]);
    }
    if ((s.x.size() > 2 && !is_dense) || to - from == 1) {
      stroke(Drawn::kLine, x, y);
    }
  });
}

/// Of a band as many parts as the plot is points wide, each from its least to
/// its greatest; what is drawn is the same.
ChartSeries as_wide_as_the_plot(const PlotWindow& w, const ChartSeries& s) {
  const auto most = static_cast<std::size_t>(w.wide);
  const std::size_t each = (s.x.size() + most - 1) / most;
  const bool has_gaps = std::any_of(s.low.begin(), s.low.end(),
                                    [](double v) { return std::isnan(v); });
  if (each < 2 || has_gaps) return s;
  ChartSeries some{s.name, s.drawn, {}, {}, {}, {}};
  for (std::size_t i = 0; i < s.x.size(); i += each) {
    const auto from = static_cast<std::ptrdiff_t>(i);
    const auto to = static_cast<std::ptrdiff_t>(std::min(i + each, s.x.size()));
    some.x.push_back(s.x[i]);
    some.low.push_back(
        *std::min_element(s.low.begin() + from, s.low.begin() + to));
    some.high.push_back(
        *std::max_element(s.high.begin() + from, s.high.begin() + to));
  }
  // The last part reaches to the end.
  some.x.push_back(s.x.back());
  some.low.push_back(some.low.back());
  some.high.push_back(some.high.back());
  return some;
}

void draw_spans(const PlotWindow& w, const ChartSeries& s) {
  const bool is_wide = s.drawn == Drawn::kWideSpan;
  const double half = w.upwards(is_wide ? 9.0 : 5.0);
  for (std::size_t i = 0; i < s.x.size(); ++i) {
    const double y = w.at_y(s.y[i]);
    fill(is_wide ? kFirstPale : kSecondPale,
         {s.low[i], s.high[i], s.high[i], s.low[i]},
         {y - half, y - half, y + half, y + half});
  }
}

void draw_box(const PlotWindow& w, const ChartSeries& s) {
  const double left = w.at_x(s.x[0]), right = w.at_x(s.x[1]);
  const double low = w.at_y(s.low[0]), high = w.at_y(s.high[0]);
  stroke(Drawn::kDashed, {left, right, right, left, left},
         {low, low, high, high, low});
}

void draw_line(const PlotWindow& w, const ChartSeries& s) {
  const auto is_known = [&](std::size_t i) {
    return std::isfinite(w.at_x(s.x[i])) && std::isfinite(w.at_y(s.y[i]));
  };
  each_run(s.x.size(), is_known, [&](std::size_t from, std::size_t to) {
    std::vector<double> x, y;
    for (std::size_t i = from; i < to; ++i) {
      if (s.drawn == Drawn::kSteps && i > from) {
        x.push_back(w.at_x(s.x[i]));
        y.push_back(w.at_y(s.y[i - 1]));
      }
      x.push_back(w.at_x(s.x[i]));
      y.push_back(w.at_y(s.y[i]));
    }
    if (x.size() == 1) return draw_lone(w, x[0], y[0]);
    stroke(s.drawn, x, y);
  });
}

/// A line, and the ends of what it leaves open where there are such.
void draw_guess(const PlotWindow& w, const ChartSeries& s) {
  for (const std::vector<double>* y : {&s.y, &s.low, &s.high}) {
    if (!y->empty()) draw_line(w, {"", Drawn::kGuess, s.x, *y, {}, {}});
  }
}

void draw_bar(const PlotWindow& w, const ChartSeries& s, std::size_t i,
              double x, double y) {
  plcol0(kInk);
  const auto line = [](double x1, double y1, double x2, double y2) {
    const std::array<double, 2> xs = {x1, x2}, ys = {y1, y2};
    plline(2, xs.data(), ys.data());
  };
  if (w.has_rows()) {
    const double cap = w.upwards(4.0);
    line(s.low[i], y, s.high[i], y);
    line(s.low[i], y - cap, s.low[i], y + cap);
    line(s.high[i], y - cap, s.high[i], y + cap);
    return;
  }
  const double low = std::max(w.extent.y_low, w.at_y(s.low[i]));
  const double high = w.at_y(s.high[i]);
  const double cap = w.across(4.0);
  line(x, low, x, high);
  line(x - cap, low, x + cap, low);
  line(x - cap, high, x + cap, high);
}

void draw_points(const PlotWindow& w, const ChartSeries& s) {
  for (std::size_t i = 0; i < s.x.size(); ++i) {
    const double x = w.at_x(s.x[i]), y = w.at_y(s.y[i]);
    if (!std::isfinite(x) || !std::isfinite(y)) continue;
    if (has_bar(s, i)) draw_bar(w, s, i, x, y);
    draw_mark(s.drawn, x, y, w.across(3.5), w.upwards(3.5));
  }
}

}  // namespace

std::string plot_text(const std::string& text) {
  // The library writes a number sign before what it is to do.
  // Its buffer of a text is of a thousand characters, and is not watched.
  constexpr std::size_t kMost = 160;
  std::string safe;
  for (const char c : printable_beginning(text, kMost)) {
    safe += c;
    if (c == '#') safe += '#';
  }
  return safe;
}

void fill(ColourAt colour, const std::vector<double>& x,
          const std::vector<double>& y) {
  plcol0(colour);
  plfill(static_cast<PLINT>(x.size()), x.data(), y.data());
}

void stroke(Drawn drawn, const std::vector<double>& x,
            const std::vector<double>& y) {
  constexpr std::array<PLINT, 1> kDash = {1500};  // micrometres
  constexpr std::array<PLINT, 1> kDot = {500};
  constexpr std::array<PLINT, 1> kGap = {1000};
  const bool is_dashed = drawn == Drawn::kDashed;
  const bool is_guess = drawn == Drawn::kGuess;
  if (is_dashed || is_guess) {
    plstyl(1, is_guess ? kDot.data() : kDash.data(), kGap.data());
  }
  plcol0(is_dashed ? kSecond : kFirst);
  plwidth(1.4);
  plline(static_cast<PLINT>(x.size()), x.data(), y.data());
  plwidth(1.0);
  if (is_dashed || is_guess) plstyl(0, kDash.data(), kGap.data());
}

/// A disc, or a square, with half its size in steps of the axes.
void draw_mark(Drawn drawn, double x, double y, double wide, double high) {
  if (drawn == Drawn::kSquares) {
    return fill(kSecond, {x - wide, x + wide, x + wide, x - wide},
                {y - high, y - high, y + high, y + high});
  }
  constexpr int kCorners = 16;
  std::vector<double> xs, ys;
  for (int i = 0; i < kCorners; ++i) {
    const double angle = 2.0 * std::numbers::pi * i / kCorners;
    xs.push_back(x + wide * std::cos(angle));
    ys.push_back(y + high * std::sin(angle));
  }
  fill(kFirst, xs, ys);
}

void draw_filled(const PlotWindow& w, const ChartSeries& s) {
  if (s.drawn == Drawn::kWideSpan || s.drawn == Drawn::kNarrowSpan) {
    return draw_spans(w, s);
  }
  if (s.drawn == Drawn::kBand) draw_band(w, as_wide_as_the_plot(w, s));
}

void draw_lines(const PlotWindow& w, const ChartSeries& s) {
  switch (s.drawn) {
    case Drawn::kPoints:
    case Drawn::kSquares:
      return draw_points(w, s);
    case Drawn::kLine:
    case Drawn::kDashed:
    case Drawn::kSteps:
      return draw_line(w, s);
    case Drawn::kGuess:
      return draw_guess(w, s);
    case Drawn::kBox:
      return draw_box(w, s);
    case Drawn::kBand:
    case Drawn::kWideSpan:
    case Drawn::kNarrowSpan:
      break;
  }
}

void draw_level_line(const PlotWindow& w, const ChartLevel& level) {
  const double at = level.is_upright ? w.at_x(level.at) : w.at_y(level.at);
  if (!std::isfinite(at)) return;
  const std::vector<double> whole =
      level.is_upright ? std::vector<double>{w.extent.y_low, w.extent.y_high}
                       : std::vector<double>{w.extent.x_low, w.extent.x_high};
  stroke(Drawn::kDashed, level.is_upright ? std::vector<double>{at, at} : whole,
         level.is_upright ? whole : std::vector<double>{at, at});
}

void draw_levels(const PlotWindow& w) {
  for (const ChartLevel& level : w.chart.levels) draw_level_line(w, level);
  plcol0(kInk);
  const std::vector<NamePlace> places = name_places(w);
  for (std::size_t i = 0; i < places.size(); ++i) {
    const ChartLevel& level = w.chart.levels[i];
    const double at = level.is_upright ? w.at_x(level.at) : w.at_y(level.at);
    if (level.name.empty() || !std::isfinite(at)) continue;
    plptex(places[i].x, places[i].y, 1.0, 0.0, places[i].is_right ? 1.0 : 0.0,
           plot_text(level.name).c_str());
  }
}

}  // namespace clockassay
