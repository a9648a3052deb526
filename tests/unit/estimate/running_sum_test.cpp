// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/running_sum.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

/// Edges on a grid of 1/1000 sample, so that sampling adds nothing.
constexpr double kFine = 1000.0;

TestStretch stretch_of(const SampledEdges& edges) {
  return stretch_from_edges(edges.rises, edges.falls, 64);
}

double statistic(const TestStretch& s) {
  const EdgeView view(s.stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  return running_sum_square(view, sums, line);
}

}  // namespace

TEST_CASE("running_sum_square: four edges by hand") {
  // Rising edges at 0, 11, 19, 30 about the line 9.8 k + 0.3: residuals -0.3,
  // 0.9, -0.9, 0.3; running sums -0.3, 0.6, -0.3, 0; s² = 1.8/2.
  const std::vector<std::int64_t> rises{0, 11, 19, 30}, falls{};
  Stretch s;
  s.first = Ticks(0);
  s.last = Ticks(30);
  s.blocks.push_back({Cycles(0), Ticks(0),
                      ExplicitEdges{{{0, 0}, {1, 11}, {2, 19}, {3, 30}}, {}}});
  const EdgeView view(s);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  CHECK(running_sum_square(view, sums, line) ==
        testing::approx(0.54 / (16.0 * 0.9)));
}

TEST_CASE("may_run_away: white jitter once in ten") {
  // The source's table is for many edges; 100 cycles have 200, and simulation
  // puts their 90 % point at 0.118.
  constexpr std::uint64_t kSeed = 71;
  constexpr int kTrials = 2000;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int alarms = 0;
  for (int i = 0; i < kTrials; ++i) {
    const TestStretch s =
        stretch_of(sample_edges(40.0 * kFine, 0.43, kFine, 100, random));
    const EdgeView view(s.stretch);
    const EdgeSums sums = sum_edges(view, serial_for).value();
    alarms += may_run_away(view, sums, fit_line(sums.rise, sums.fall).value());
  }
  // Five standard deviations of a count of one in ten.
  const double off = 5.0 * std::sqrt(0.1 * 0.9 * kTrials);
  CHECK(alarms > 0.1 * kTrials - off);
  CHECK(alarms < 0.1 * kTrials + off);
}

TEST_CASE("running_sum_square: one jump of the phase is seen at 20 cycles") {
  // A jump of four times the jitter in the middle of 40 edges: the residuals
  // about the line are a sawtooth with a mean square of a²/16, a²/s² = 8 and
  // the sum of squares of the running sum n² s² times 0.5 or so.
  constexpr std::uint64_t kSeed = 72;
  constexpr int kTrials = 500;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::vector<double> jump(42, 0.0);
  for (std::size_t i = 20; i < jump.size(); ++i) jump[i] = 4.0 * kFine;
  int seen = 0;
  for (int i = 0; i < kTrials; ++i) {
    seen += statistic(stretch_of(sample_edges(40.0 * kFine, 0.43, kFine, 20,
                                              random, jump))) > 0.119;
  }
  CHECK(seen > 0.95 * kTrials);
}
