// SPDX-License-Identifier: GPL-3.0-or-later
// What is said of an edge's own jitter, of simulated clocks whose jitter is
// known. tools/bench/edge_jitter counts more of them.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include "support/coverage_trial.h"

using namespace clockassay;

namespace {

constexpr std::uint64_t kSeed = 11;
constexpr int kTrials = 200;

struct Counts {
  int told = 0;
  int within = 0;   // two standard uncertainties
  int bounded = 0;  // the limit is not below the truth
};

Counts count(const PeriodKind& kind, std::size_t cycles, double sigma) {
  Counts counts;
  std::mt19937_64 random(kSeed);
  for (int t = 0; t < kTrials; ++t) {
    const EdgeJitter j =
        coverage_trial(kind, cycles, 0.43, sigma, random).jitter;
    if (j.upper_limit && *j.upper_limit >= sigma) ++counts.bounded;
    if (!j.rms) continue;
    ++counts.told;
    if (std::abs(*j.rms - sigma) <= 2.0 * j.standard_uncertainty) {
      ++counts.within;
    }
  }
  return counts;
}

// Of 200 that are true 95 times of 100 fewer are 1 time in 1000: 190 - 3.1
// sqrt(200 * 0.95 * 0.05).
constexpr int kFewest = 180;

}  // namespace

TEST_CASE("edge jitter: told with its uncertainty where windows show it") {
  INFO("seed ", kSeed);
  for (const double sigma : {0.03, 0.3, 1.0}) {
    CAPTURE(sigma);
    const Counts c = count(kPeriodKinds[0], 500, sigma);
    CHECK(c.told == kTrials);
    CHECK(c.within >= kFewest);
    CHECK(c.within < kTrials);
    CHECK(c.bounded >= kFewest);
  }
}

TEST_CASE("edge jitter: told with its uncertainty where edges share it") {
  // Both edges of a cycle move alike, as behind a divider. Taken for
  // independent the uncertainty is 1/√2 of what it is, and 166 of 200 within.
  INFO("seed ", kSeed);
  for (const double sigma : {0.3, 2.0}) {
    CAPTURE(sigma);
    std::mt19937_64 random(kSeed);
    std::normal_distribution<double> normal(0.0, sigma);
    std::vector<double> moved(2 * 200 + 2);
    Counts c;
    for (int t = 0; t < kTrials; ++t) {
      for (std::size_t i = 0; i < moved.size(); i += 2) {
        moved[i] = normal(random);
        moved[i + 1] = moved[i];
      }
      const EdgeJitter j =
          coverage_trial(kPeriodKinds[1], 200, 0.43, 0.0, random, moved).jitter;
      c.bounded += j.upper_limit && *j.upper_limit >= sigma;
      c.within +=
          j.rms && std::abs(*j.rms - sigma) <= 2.0 * j.standard_uncertainty;
    }
    CHECK(c.within >= kFewest);
    CHECK(c.bounded >= kFewest);
  }
}

TEST_CASE("edge jitter: too little is bounded, not told") {
  INFO("seed ", kSeed);
  // A tenth of a sample over the cycles: hardly any edge leaves its window.
  for (const std::size_t cycles : {30u, 1000u}) {
    const double sigma = 0.1 / static_cast<double>(cycles);
    const Counts c = count(kPeriodKinds[0], cycles, sigma);
    CHECK(c.told == 0);
    CHECK(c.bounded == kTrials);
  }
}

TEST_CASE("edge jitter: where slope and jitter are one it is not told") {
  INFO("seed ", kSeed);
  // 5 ppm from 40 samples: 1000 cycles move by a fifth of a sample, so that
  // each polarity meets an end of its windows once at most.
  for (const double sigma : {0.003, 0.01}) {
    CAPTURE(sigma);
    const Counts c = count(kPeriodKinds[3], 1000, sigma);
    CHECK(c.told - c.within <= kTrials - kFewest);
    CHECK(c.told < kTrials / 10);
    CHECK(c.bounded >= kFewest);
  }
}
