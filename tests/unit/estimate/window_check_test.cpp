// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/window_check.h"

#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include "support/approx.h"

using namespace clockassay;

namespace {

/// Edges of both polarities, cycles 0 … n-1 at k = -1 … 1, in windows.
/// In: place  of an edge's line at k [windows]
std::vector<LikelihoodCell> edges(int n, double sigma,
                                  const std::function<double(double)>& place,
                                  std::mt19937_64& random) {
  std::normal_distribution<double> jitter;
  std::vector<LikelihoodCell> cells;
  for (int i = 0; i < n; ++i) {
    const double k = 2.0 * i / (n - 1.0) - 1.0;
    for (const bool fall : {false, true}) {
      cells.push_back(
          {k, std::ceil(place(k) + sigma * jitter(random)), 1.0, fall});
    }
  }
  return cells;
}

bool contradicts(const std::vector<LikelihoodCell>& cells, double start_slope) {
  const WindowLikelihood likely(cells, 1e-4);
  const LikelihoodPeak peak = likely.peak({0.0, 0.0, start_slope, 0.3});
  return contradict_line(likely.terms(peak.line));
}

}  // namespace

TEST_CASE("contradict_line: a line with white normal jitter, few phases") {
  // Two tests, one of two halves, once in 1000 each: 3 in 1000 at most, by five
  // standard deviations.
  constexpr std::uint64_t kSeed = 77;
  constexpr int kTrials = 600;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> phase;
  int alarms = 0;
  for (int i = 0; i < kTrials; ++i) {
    const double sigma = i % 3 == 0 ? 0.03 : (i % 3 == 1 ? 0.1 : 0.3);
    const double moves =
        i % 4 == 0 ? 0.0 : (i % 4 == 1 ? 0.4 : (i % 4 == 2 ? 1.3 : 17.3));
    const double at = phase(random);
    const auto cells = edges(
        400, sigma, [&](double k) { return at + 0.5 * moves * k; }, random);
    alarms += contradicts(cells, 0.5 * moves);
  }
  const double most = 0.003 * kTrials;
  CHECK(alarms <= most + 5.0 * std::sqrt(most));
}

TEST_CASE("contradict_line: a course that turns back, through one phase") {
  // Out of the window and in again: a line has one change, this has two.
  constexpr std::uint64_t kSeed = 78;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (int i = 0; i < 20; ++i) {
    const auto cells = edges(
        400, 0.05, [](double k) { return 0.3 - 0.6 * k * k; }, random);
    CHECK(contradicts(cells, 0.0));
  }
}

TEST_CASE("NeighbourScores: alternating edges, and independent ones") {
  // 100 products of -1: -100/sqrt(100). A gap in the cycles makes no product.
  NeighbourScores alternate;
  for (int k = 0; k <= 100; ++k) alternate.add(k, false, k % 2 ? 1.0 : -1.0);
  CHECK(alternate.statistic() == testing::approx(-10.0));
  CHECK(alternate.are_dependent());
  NeighbourScores apart;
  for (int k = 0; k <= 100; ++k) apart.add(2 * k, false, 1.0);
  CHECK(apart.statistic() == 0.0);
  // Of 2000 tests beyond four deviations 0.13 are expected.
  constexpr std::uint64_t kSeed = 79;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  int alarms = 0;
  for (int i = 0; i < 2000; ++i) {
    NeighbourScores white;
    for (int k = 0; k < 100; ++k) {
      white.add(k, false, normal(random));
      white.add(k, true, normal(random));
    }
    alarms += white.are_dependent();
  }
  CHECK(alarms <= 2);
}
