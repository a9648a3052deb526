// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

enum class AxisScale {
  kLinear,
  kLogarithmic,
  kDate,  ///< seconds since 1970 UTC
  kRows   ///< of `y` only: one row each, 0 at the top
};

struct ChartAxis {
  std::string label;  ///< with the unit the values are in
  AxisScale scale = AxisScale::kLinear;
  std::vector<std::string> rows = {};  ///< names, from 0 on
};

enum class Drawn {
  kLine,
  kDashed,
  kGuess,      ///< dotted, as are low and high: what was not measured
  kSteps,      ///< y holds until the next x
  kPoints,     ///< with a bar from low to high where there are such
  kSquares,    ///< the same, of another shape
  kBand,       ///< from low to high, filled
  kBox,        ///< of two x: its outline, from low to high
  kWideSpan,   ///< on rows, from low to high
  kNarrowSpan  ///< the same, less wide
};

/// Values in the units of their axes; NaN is a gap. Where y has rows, low and
/// high are along x.
struct ChartSeries {
  std::string name;
  Drawn drawn = Drawn::kLine;
  std::vector<double> x;
  std::vector<double> y;     ///< empty: a band
  std::vector<double> low;   ///< empty, or as many as x
  std::vector<double> high;  ///< the same
  /// Half of the interval of each value, which says how many of its digits
  /// mean something; NaN: not known. Empty: where points have bars it is
  /// theirs.
  std::vector<double> open = {};
  std::string about = {};  ///< what its table is called; empty: `name`
};

/// A value that others are held against.
struct ChartLevel {
  std::string name;
  double at = 0.0;
  bool is_upright = false;         ///< of x, else of y
  std::optional<int> digits = {};  ///< that it is known to; absent: it is exact
};

/// One picture, for any renderer. Texts may come from a capture: whoever draws
/// them makes them safe.
struct Chart {
  std::string id;     ///< lower-case words with hyphens, unique in one list
  std::string title;  ///< what is shown, and of what
  std::string note;   ///< how to read it, in a sentence or two
  /// Why there is nothing to draw, in a sentence; empty: there is something.
  std::string nothing = {};
  ChartAxis x;
  ChartAxis y;
  std::vector<ChartSeries> series;
  std::vector<ChartLevel> levels;
};

/// Every chart that the record has the values for, none with `nothing`: error
/// against limits, time-interval error, course, periods, deviations, spectrum
/// of each channel with `pictures`; curves against temperature; comparisons;
/// trends.
std::vector<Chart> charts_of(const Record& record);

/// A comment at the beginning of every picture, by which it is known as one of
/// ours; nothing from a capture can write it.
inline constexpr const char* kPictureMark = " a chart by clockassay ";

/// The same as a still picture, SVG 1.1, with mark, title and description.
/// Assumes nothing else in the process draws by PLplot meanwhile: that library
///         has one state for all of it. Calls of this take turns, from whatever
///         threads; each begins and ends a picture of its own.
/// Errors: kCannotCreate when the plotting library cannot be loaded
Result<std::string> svg_chart(const Chart& chart);

}  // namespace clockassay
