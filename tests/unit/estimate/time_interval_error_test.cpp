// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/time_interval_error.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/edge_line.h"
#include "support/approx.h"
#include "support/test_channel.h"
#include "support/test_stretch.h"

using namespace clockassay;

TEST_CASE("TimeIntervalErrors: eight edges by hand") {
  // Rising edges in ns 0 101 199 302 398 500 603 699 about their least-squares
  // line: -1/6 17/21 -17/14 37/21 -95/42 -2/7 113/42 -4/3, in exact rationals.
  const std::vector<std::int64_t> rises = {0,   101, 199, 302,
                                           398, 500, 603, 699};
  std::vector<std::int64_t> falls;
  for (const std::int64_t r : rises) falls.push_back(r + 50);
  const TestStretch s = stretch_from_edges(rises, falls, 3);
  const EdgeView view(s.stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const LineFit line = fit_line(sums.rise, LineSums{}).value();
  const TimeIntervalErrors errors(view, sums, line.slope, line.rise_intercept);
  REQUIRE(errors.count() == 8);
  std::vector<double> all(8);
  errors.read(0, all);
  const std::vector<double> expected = {-1.0 / 6,   17.0 / 21,  -17.0 / 14,
                                        37.0 / 21,  -95.0 / 42, -2.0 / 7,
                                        113.0 / 42, -4.0 / 3};
  for (std::size_t i = 0; i < 8; ++i) {
    // A few roundings of numbers below 1000.
    CHECK(all[i] == testing::approx(expected[i]).epsilon(1e-12));
  }
  // Any part is the same.
  for (std::size_t begin = 0; begin < 8; ++begin) {
    for (std::size_t n = 0; begin + n <= 8; ++n) {
      std::vector<double> part(n);
      errors.read(static_cast<std::int64_t>(begin), part);
      CHECK(std::equal(part.begin(), part.end(),
                       all.begin() + static_cast<std::ptrdiff_t>(begin)));
    }
  }
}

TEST_CASE(
    "TimeIntervalErrors: a lost cycle is not a number, the others count on") {
  // Period 100; cycle 5000 of 10000 is lost. Blocks are of 2048 cycles, and
  // those about the loss are written out.
  const TestChannel channel = channel_with_lost_cycle(40);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  REQUIRE(store.stretches.size() == 1);
  const EdgeView view(store.stretches.front());
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  const TimeIntervalErrors errors(view, sums, line.slope, line.rise_intercept);
  REQUIRE(errors.count() == 10000);
  std::vector<double> part(3000);
  errors.read(4000, part);
  for (std::size_t i = 0; i < part.size(); ++i) {
    if (i == 1000) {
      CHECK(std::isnan(part[i]));
    } else {
      CHECK(std::abs(part[i]) < 1e-9);
    }
  }
}
