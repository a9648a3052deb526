// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/cycle_predictor.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "support/approx.h"

using namespace clockassay;

TEST_CASE("CyclePredictor: gives each edge the nearest cycle and its error") {
  // Rise 5 at tick 1000, period 40, high time 12.
  const CyclePredictor p(5, Ticks(1000), 40.0, 12.0, 0.0, 32);
  CHECK(p.match(true, Ticks(1043)).cycle == 6);
  CHECK(p.match(true, Ticks(1043)).error == testing::approx(3.0));
  CHECK(p.match(true, Ticks(1119)).cycle == 8);
  CHECK(p.match(true, Ticks(1119)).error == testing::approx(-1.0));
  CHECK(p.match(true, Ticks(960)).cycle == 4);
  CHECK(p.match(false, Ticks(1012)).cycle == 5);
  CHECK(p.match(false, Ticks(1050)).cycle == 6);
  CHECK(p.match(false, Ticks(1050)).error == testing::approx(-2.0));
}

TEST_CASE("CyclePredictor: tolerance is two windows, six sigma, 0.45 period") {
  CHECK(CyclePredictor(0, Ticks(0), 40.0, 20.0, 0.0, 32).tolerance(1.0) == 2.0);
  CHECK(CyclePredictor(0, Ticks(0), 40.0, 20.0, 1.0, 32).tolerance(1.0) == 6.0);
  CHECK(CyclePredictor(0, Ticks(0), 40.0, 20.0, 9.0, 32).tolerance(1.0) ==
        testing::approx(18.0));
}

TEST_CASE("CyclePredictor: follows a slow drift") {
  // The period grows by 0.001 tick a cycle, 1 tick in 1000 cycles. A line over
  // 32 edges lags by the curvature: about 0.001 * 32^2 / 4 = 0.26 ticks.
  CyclePredictor p(0, Ticks(0), 40.0, 20.0, 0.3, 32);
  double t = 0.0;
  for (int k = 1; k <= 1000; ++k) {
    t += 40.0 + 0.001 * k;
    const Ticks at(std::llround(t));
    const auto m = p.match(true, at);
    REQUIRE(m.cycle == k);
    CHECK(std::abs(m.error) < 0.5 + 0.26 + 0.5);
    p.accept(true, at, m);
  }
  CHECK(p.period() == testing::approx(41.0).epsilon(0.002));
}

TEST_CASE("bootstrap_predictor: starts at the first gaps that agree") {
  // Junk, then a clock of 40 with one glitch among the first edges.
  std::vector<std::int64_t> rise = {0, 13, 90, 101};
  std::vector<std::int64_t> fall;
  for (std::int64_t k = 0; k < 60; ++k) {
    rise.push_back(200 + 40 * k);
    if (k == 2) rise.push_back(200 + 40 * k + 8);
    fall.push_back(200 + 40 * k + 15);
  }
  const auto b = bootstrap_predictor(rise, fall, Ticks(1000), 1.0);
  REQUIRE(b);
  CHECK(b->predictor.period() == testing::approx(40.0));
  CHECK(b->predictor.high() == testing::approx(15.0));
  // Five gaps of 40 in a row begin at cycle 3.
  CHECK(rise[b->anchor] == 200 + 40 * 3);
  CHECK(b->predictor.match(true, Ticks(1000 + 200)).cycle == -3);
}

TEST_CASE("bootstrap_predictor: strong jitter and faults mislead no start") {
  // Edges of 12 % rms about a period of 100, a tenth lost, and a tenth of
  // cycles with an extra one anywhere. The period of a line through n edges has
  // the standard deviation 12 * sqrt(12 / n^3): 0.08 of 65. An extra edge is
  // off by up to 45, a quarter of the square of which is in one of ten: twice
  // the variance. Six of these.
  constexpr std::uint64_t kSeed = 17;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal(0.0, 12.0);
  for (int trial = 0; trial < 300; ++trial) {
    CAPTURE(trial);
    std::vector<std::int64_t> rise, fall;
    for (std::int64_t k = 0; k < 70; ++k) {
      const std::int64_t at = 1000 + 100 * k + std::llround(normal(random));
      if (random() % 10 != 0) rise.push_back(at);
      if (random() % 10 == 0) {
        rise.push_back(1000 + 100 * k +
                       static_cast<std::int64_t>(random() % 100));
      }
      fall.push_back(at + 40);
    }
    std::sort(rise.begin(), rise.end());
    rise.erase(std::unique(rise.begin(), rise.end()), rise.end());
    const auto b = bootstrap_predictor(rise, fall, Ticks(0), 1.0);
    if (!b) continue;  // no five gaps in a row agree
    CHECK(std::abs(b->predictor.period() - 100.0) <
          6.0 * 0.08 * std::sqrt(2.0));
    // Half a period off would number all edges wrong.
    const auto m = b->predictor.match(true, Ticks(1000 + 100 * 20));
    CHECK(std::abs(m.error) < 30.0);
  }
}

TEST_CASE("bootstrap_predictor: a silence of any length ends its look") {
  std::vector<std::int64_t> rise, fall;
  for (std::int64_t k = 0; k < 40; ++k) {
    rise.push_back(40 * k + (k < 20 ? 0 : std::int64_t{1} << 60));
    fall.push_back(rise.back() + 15);
  }
  const auto b = bootstrap_predictor(rise, fall, Ticks(0), 1.0);
  REQUIRE(b);
  CHECK(b->anchor == 0);
  CHECK(b->predictor.period() == testing::approx(40.0));
}

TEST_CASE("bootstrap_predictor: edges without a rhythm start nothing") {
  std::mt19937_64 random(3);
  std::vector<std::int64_t> rise = {0};
  // Gaps drawn over a factor of a thousand agree with their median by 25 %
  // one time in fourteen: five in a row, one in 500 000.
  std::uniform_real_distribution<double> log_gap(0.0, std::log(1000.0));
  for (int i = 0; i < 500; ++i) {
    rise.push_back(rise.back() + 1 + std::llround(std::exp(log_gap(random))));
  }
  CHECK_FALSE(bootstrap_predictor(rise, {}, Ticks(0), 1.0));
  CHECK_FALSE(
      bootstrap_predictor(std::vector<std::int64_t>{5}, {}, Ticks(0), 1.0));
}
