// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <boost/math/distributions/binomial.hpp>
#include <cmath>
#include <random>

#include "support/coverage_trial.h"

using namespace clockassay;

namespace {

constexpr double kDuty = 0.43;

/// The fewest of so many trials that are covered but once in a million where
/// 95 % are.
int fewest_covered(int trials) {
  const boost::math::binomial covered(trials, 0.95);
  int least = 0;
  while (cdf(covered, least) < 1e-6) ++least;
  return least;
}

}  // namespace

// tools/bench/coverage in small: docs/coverage.md has its table.
TEST_CASE("estimate_clock: 95 % is 95 %, near and far from round fractions") {
  constexpr std::uint64_t kSeed = 61;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int jittered = 0, jittered_covered = 0;
  for (const PeriodKind& kind : kPeriodKinds) {
    for (const std::size_t cycles : {10u, 100u, 1000u}) {
      const int trials = cycles < 1000 ? 60 : 30;
      for (const double sigma : {0.0, 0.03, 0.1, 0.3, 1.0}) {
        int covered = 0;
        for (int i = 0; i < trials; ++i) {
          const CoverageTrial t =
              coverage_trial(kind, cycles, kDuty, sigma, random);
          covered += std::abs(t.error) <= t.half_width;
          // Without jitter the truth is in the set, always.
          if (sigma == 0.0) {
            CHECK(t.has_set);
            CHECK_FALSE(t.outside);
          }
        }
        CAPTURE(kind.name);
        CAPTURE(cycles);
        CAPTURE(sigma);
        CHECK(covered >= fewest_covered(trials));
        if (sigma > 0.0) {
          jittered += trials;
          jittered_covered += covered;
        }
      }
    }
  }
  // Nor is it wide: of all jittered captures no more than 99 % are covered,
  // within five standard deviations.
  const double share = static_cast<double>(jittered_covered) / jittered;
  CHECK(share <= 0.99 + 5.0 * std::sqrt(0.99 * 0.01 / jittered));
  CHECK(share >= 0.95 - 5.0 * std::sqrt(0.95 * 0.05 / jittered));
}

TEST_CASE("estimate_clock: the error is as small as the windows allow") {
  // Without jitter a clock far from round fractions is known to 1/n² of a
  // sample: the feasible set's width is 11/n² at the median (measured). With
  // jitter of a sample least squares are best: 12 s²/n³ is the variance of the
  // slope of n edges, s² = σ² + 1/12, and half of that with both polarities.
  constexpr std::uint64_t kSeed = 62;
  constexpr int kTrials = 200;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const double n = 1000.0;
  double set = 0.0, line = 0.0;
  for (int i = 0; i < kTrials; ++i) {
    const double e =
        coverage_trial(kPeriodKinds[0], 1000, kDuty, 0.0, random).error;
    set += e * e;
    const double j =
        coverage_trial(kPeriodKinds[0], 1000, kDuty, 1.0, random).error;
    line += j * j;
  }
  CHECK(std::sqrt(set / kTrials) < 11.0 / (n * n));
  const double least = 6.0 * (1.0 + 1.0 / 12.0) / (n * n * n);
  // A mean square of 200 normal errors is within 5 sqrt(2/200) of itself.
  CHECK(line / kTrials < least * (1.0 + 5.0 * std::sqrt(2.0 / kTrials)));
  CHECK(line / kTrials > least * (1.0 - 5.0 * std::sqrt(2.0 / kTrials)));
}
