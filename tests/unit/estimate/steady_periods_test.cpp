// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/steady_periods.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>
#include <random>
#include <vector>

#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

/// Of rising edges with the given periods after one another, a window of one
/// tick and ticks of a nanosecond, in blocks of five cycles.
std::optional<SteadyPeriods> found_in(const std::vector<std::int64_t>& periods,
                                      double line_period) {
  std::vector<std::int64_t> rises = {5};
  for (const std::int64_t p : periods) rises.push_back(rises.back() + p);
  std::vector<std::int64_t> falls;
  for (const std::int64_t r : rises) falls.push_back(r + 4);
  const TestStretch s = stretch_from_edges(rises, falls, 5);
  return find_steady_periods(EdgeView(s.stretch),
                             static_cast<std::int64_t>(rises.size()), 1.0,
                             line_period, 1e-9);
}

}  // namespace

TEST_CASE("find_steady_periods: what is off the others is left out") {
  // Ten periods of 100 and 101 in turn, and two that lost 30 and 60 ticks:
  // the others mean 100.5, the line (100.5 * 10 + 70 + 40) / 12 = 92.9166….
  const std::vector<std::int64_t> periods = {100, 101, 70,  100, 101, 100,
                                             101, 40,  100, 101, 100, 101};
  const auto found = found_in(periods, 1115.0 / 12.0);
  REQUIRE(found);
  CHECK(found->periods == 12);
  CHECK(found->off == 2);
  CHECK(found->mean.value() == testing::approx(100.5e-9).epsilon(1e-12));
  // The line's period over theirs, less one: -75 456 ppm.
  CHECK(found->difference.value() ==
        testing::approx((1115.0 / 12.0 / 100.5 - 1.0) * 1e6).epsilon(1e-12));
}

TEST_CASE(
    "find_steady_periods: losses too small to stand out are allowed for") {
  // 100 and 101 in turn; 30 and 1 or 2 ticks lost here and there.
  std::vector<std::int64_t> periods;
  for (int i = 0; i < 60; ++i) periods.push_back(100 + i % 2);
  periods[9] = 70;
  periods[20] = 99;
  periods[41] = 98;
  std::int64_t all = 0;
  for (const std::int64_t p : periods) all += p;
  const double line = static_cast<double>(all) / 60.0;
  const auto short_ones = found_in(periods, line);
  REQUIRE(short_ones);
  CHECK(short_ones->off == 1);
  // The median is 100, the upper of two; 57 periods are no shorter: 29 of 100
  // and 28 of 101.
  REQUIRE(short_ones->of_no_short);
  CHECK(short_ones->of_no_short->value() ==
        testing::approx((line / ((29 * 100 + 28 * 101) / 57.0) - 1.0) * 1e6)
            .epsilon(1e-9));
  CHECK(short_ones->of_no_short->value() < short_ones->difference.value());
  // An edge moved makes a long one beside the short one.
  periods[10] = 131;
  const auto moved = found_in(periods, line);
  REQUIRE(moved);
  CHECK_FALSE(moved->of_no_short);
}

TEST_CASE("find_steady_periods: a clock's own pattern is none") {
  // n and n + 1 in turns, and two of three: none is the few.
  std::vector<std::int64_t> in_turns;
  std::vector<std::int64_t> of_five;
  for (int i = 0; i < 40; ++i) {
    in_turns.push_back(i % 2 == 0 ? 100 : 120);
    of_five.push_back(i % 5 < 2 ? 120 : 100);
  }
  CHECK_FALSE(found_in(in_turns, 110.0));
  CHECK_FALSE(found_in(of_five, 108.0));
}

TEST_CASE("find_steady_periods: jitter and sampling put no period off") {
  constexpr unsigned kSeed = 20;
  std::mt19937_64 random(kSeed);
  // 6 standard deviations by the median, in 200 times 500 periods: normal ones
  // exceed 5.4, what a median of 500 may make of 6, once in 15 million.
  std::normal_distribution<double> jitter(1000.0, 20.0);
  for (int trial = 0; trial < 200; ++trial) {
    std::vector<std::int64_t> periods;
    for (int i = 0; i < 500; ++i) {
      periods.push_back(static_cast<std::int64_t>(jitter(random)));
    }
    CAPTURE(trial);
    CHECK_FALSE(found_in(periods, 1000.0));
  }
  // Sampled without jitter: 100 and at times 101 or 99, within the window.
  std::vector<std::int64_t> sampled(100, 100);
  sampled[30] = 101;
  sampled[60] = 99;
  CHECK_FALSE(found_in(sampled, 100.0));
}

TEST_CASE("find_steady_periods: jitter of half a window puts few off") {
  // At any place between whole ticks, with jitter of a tenth to seven tenths of
  // a tick: half of the periods and more may be alike. To each side one in a
  // hundred is allowed: a few deviations of the binomial above that.
  constexpr unsigned kSeed = 22;
  std::mt19937_64 random(kSeed);
  int captures = 0;
  int off = 0;
  for (int trial = 0; trial < 4; ++trial) {
    for (const double part : {0.0, 0.1, 0.25, 0.37, 0.4167, 0.5}) {
      for (const double sigma : {0.1, 0.23, 0.35, 0.5, 0.6, 0.7}) {
        // A little off what a few periods make whole: at all places.
        const double period = 10.0 + part + 1e-4 / std::numbers::e;
        std::normal_distribution<double> edge(0.0, sigma / std::numbers::sqrt2);
        std::vector<std::int64_t> periods;
        double last = edge(random);
        for (int i = 1; i <= 20000; ++i) {
          const double next = i * period + edge(random);
          periods.push_back(std::llround(std::floor(next) - std::floor(last)));
          last = next;
        }
        ++captures;
        off += found_in(periods, period).has_value();
      }
    }
  }
  const double most = 0.02 * captures;
  CAPTURE(captures);
  CAPTURE(off);
  CHECK(off <= most + 4.0 * std::sqrt(most));
}

TEST_CASE("find_steady_periods: small losses are no jitter") {
  constexpr unsigned kSeed = 21;
  std::mt19937_64 random(kSeed);
  constexpr int kPeriods = 3000;
  for (const double period : {20.37, 40.9, 60.05}) {
    for (const double sigma : {0.0, 0.2, 0.35}) {
      for (const double share : {0.03, 0.05, 0.1}) {
        std::normal_distribution<double> edge(
            0.0, std::max(sigma, 1e-9) / std::numbers::sqrt2);
        std::bernoulli_distribution is_lost(share);
        std::vector<std::int64_t> periods;
        int lost_three = 0;
        double last = edge(random);
        for (int i = 1; i <= kPeriods; ++i) {
          const double next = i * period + edge(random);
          std::int64_t p = std::llround(std::floor(next) - std::floor(last));
          if (is_lost(random)) {
            const auto lost = static_cast<int>(1 + random() % 3);
            p -= lost;
            lost_three += lost == 3;
          }
          periods.push_back(p);
          last = next;
        }
        CAPTURE(period);
        CAPTURE(sigma);
        CAPTURE(share);
        const auto found = found_in(periods, period);
        REQUIRE(found);
        // Three less than usual are off, but for those that sampling made
        // longer, a part of a tick in so many: 0.9 at most here.
        CHECK(static_cast<double>(found->off) >=
              0.1 * lost_three - 3.0 * std::sqrt(0.1 * lost_three));
      }
    }
  }
}

TEST_CASE("find_steady_periods: too few periods say nothing of what is usual") {
  CHECK_FALSE(found_in({100, 100, 100, 100, 100, 100, 100, 50}, 94.0));
  CHECK(found_in({100, 100, 100, 100, 100, 100, 100, 100, 50}, 95.0));
}
