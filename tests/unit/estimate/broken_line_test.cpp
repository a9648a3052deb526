// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/broken_line.h"

#include <doctest/doctest.h>

#include <cmath>
#include <functional>

#include "support/approx.h"

using namespace clockassay;

namespace {

std::vector<WeighedPoint> points_on(const std::function<double(double)>& y) {
  std::vector<WeighedPoint> points;
  for (int i = 0; i < 40; ++i) {
    const double k = i * (1.0 + 0.05 * i);  // unevenly spaced
    points.push_back({k, y(k), 1.0 + i % 3});
  }
  return points;
}

}  // namespace

TEST_CASE("best_broken_lines: lines are found as they were laid") {
  // Three lines, through points 0 … 9, 11 … 24 and 26 … 39. What lies between
  // is on none of them.
  auto points = points_on([](double) { return 0.0; });
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double k = points[i].k;
    points[i].y = i < 10 ? 1e9 + 3.0 * k : i < 25 ? 1e9 - k : 7.0 * k;
  }
  points[10].y = 5e8;
  points[25].y = -5e8;
  const auto found = best_broken_lines(points);
  REQUIRE(found.size() == kMostLines);
  CHECK(found[1].squares > 1.0);
  // 1e9 is held to 1e-7.
  CHECK(found[2].squares < 1e-9);
  REQUIRE(found[2].ranges.size() == 3);
  CHECK(found[2].ranges[0].first == 0);
  CHECK(found[2].ranges[0].last == 9);
  CHECK(found[2].ranges[1].first == 11);
  CHECK(found[2].ranges[1].last == 24);
  CHECK(found[2].ranges[2].first == 26);
  CHECK(found[2].ranges[2].last == 39);
  const PointLine line = line_through(std::span(points).subspan(26, 14));
  CHECK(line.slope == testing::approx(7.0));
  CHECK(line.at(10.0) == testing::approx(70.0));
}

TEST_CASE("best_broken_lines: the squares of one line are least squares") {
  // 0, 0, 3 of weights 1: the line -1/2 + 3/2 k leaves 1/2, -1, 1/2.
  const std::vector<WeighedPoint> points = {
      {0.0, 0.0, 1.0}, {1.0, 0.0, 1.0}, {2.0, 3.0, 1.0}};
  const auto found = best_broken_lines(points);
  REQUIRE(found.size() == 1);
  CHECK(found[0].squares == testing::approx(1.5));
}

TEST_CASE("smooth_squares: curves that have no steps are fitted") {
  const auto cubic = [](double k) {
    return 5.0 + k - 0.1 * k * k + 1e-3 * k * k * k;
  };
  CHECK(smooth_squares(points_on(cubic), 2) < 1e-9);
  // A decay on a line, where its length is one of those tried: the span,
  // 39 (1 + 0.05 * 39) = 115.05, over a power of the root of two.
  const auto decay = [](double k) {
    return 3.0 * k + std::exp(-k / (115.05 / 8.0));
  };
  CHECK(smooth_squares(points_on(decay), 2) < 1e-9);
  // A corner of 1 in slope is no smooth curve.
  const auto corner = [](double k) { return std::abs(k - 50.0); };
  CHECK(smooth_squares(points_on(corner), 2) > 1.0);
}
