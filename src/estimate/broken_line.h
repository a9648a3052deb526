// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace clockassay {

/// A place, and how much it weighs: 1/variance.
struct WeighedPoint {
  double k = 0.0;
  double y = 0.0;
  double weight = 0.0;
};

/// Points first … last, both included.
struct PointRange {
  std::size_t first = 0;
  std::size_t last = 0;
};

/// Straight lines through neighbouring ranges of points.
struct BrokenLine {
  std::vector<PointRange> ranges;  ///< in order
  double squares = 0.0;            ///< weighed, about the lines
};

/// Most lines that are looked for. Chosen: from reset to a locked multiplier
/// takes three; more are rather drift.
inline constexpr std::size_t kMostLines = 4;
/// Fewest points of a line. Chosen: one more than any two lie on.
inline constexpr std::size_t kFewestPoints = 3;

/// For each number of lines, 1 … kMostLines, the ones with the smallest
/// squares. Between two lines one point is left out: the change is in it.
/// In:     points in order of k, weights > 0
/// Out:    as many as the points allow; the first has one line
/// Cost:   O(points²): dynamic programming over where the last line begins
std::vector<BrokenLine> best_broken_lines(std::span<const WeighedPoint> points);

/// A straight line by weighed least squares.
struct PointLine {
  double k = 0.0;  ///< mean
  double y = 0.0;  ///< mean
  double slope = 0.0;
  double at(double where) const { return y + slope * (where - k); }
};
PointLine line_through(std::span<const WeighedPoint> points);

/// Smallest weighed squares about smooth curves with as many parameters as
/// `lines` lines: a polynomial of degree 2 lines - 1, and polynomials with an
/// exponential decay of any length.
double smooth_squares(std::span<const WeighedPoint> points, std::size_t lines);

}  // namespace clockassay
