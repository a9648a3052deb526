// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/scatter.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <random>

using namespace clockassay;

namespace {

/// Places about their own line, as scores of equal information.
std::array<PartScore, kScatterParts> scores_of(
    std::array<double, kScatterParts> x, double information) {
  double s = 0.0, sk = 0.0, skk = 0.0;
  const double middle = 0.5 * (kScatterParts - 1);
  for (std::size_t i = 0; i < kScatterParts; ++i) {
    const double k = static_cast<double>(i) - middle;
    s += x[i];
    sk += k * x[i];
    skk += k * k;
  }
  std::array<PartScore, kScatterParts> scores;
  for (std::size_t i = 0; i < kScatterParts; ++i) {
    const double k = static_cast<double>(i) - middle;
    const double off = x[i] - s / kScatterParts - k * sk / skk;
    scores[i] = {off * information, information};
  }
  return scores;
}

}  // namespace

TEST_CASE("is_scattered: white jitter is found scattered twice in 100") {
  constexpr std::uint64_t kSeed = 41;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  int alarms = 0;
  for (int trial = 0; trial < 2000; ++trial) {
    std::array<double, kScatterParts> x{};
    for (double& v : x) v = 0.1 * normal(random);
    alarms += is_scattered(scores_of(x, 100.0));
  }
  // Either of two tests, each once in a hundred: at most 40 +- 6.3 of 2000;
  // five of these beyond.
  CHECK(alarms > 0);
  CHECK(alarms < 74);
}

TEST_CASE("scatter_half_width: a walking phase has the mean of its steps") {
  // Steps of 1 a part: over 32 parts the mean step is sure to 1/sqrt(32), so
  // that per view the slope is sure to sqrt(32) at one standard deviation. At
  // 95 % that is contained; with three degrees of freedom and the other noises
  // it might be the half-width is up to a few times as much.
  constexpr std::uint64_t kSeed = 42;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  int found = 0, covered = 0;
  constexpr int kTrials = 1000;
  for (int trial = 0; trial < kTrials; ++trial) {
    std::array<double, kScatterParts> x{};
    double at = 0.0;
    for (double& v : x) v = at += normal(random);
    double sk = 0.0, skk = 0.0;
    for (std::size_t i = 0; i < kScatterParts; ++i) {
      const double k = static_cast<double>(i) - 0.5 * (kScatterParts - 1);
      sk += k * x[i];
      skk += k * k;
    }
    const auto scores = scores_of(x, 100.0);
    found += is_scattered(scores);
    const auto width = scatter_half_width(scores, 1000.0, 0.0);
    REQUIRE(width);
    // The true slope is 0, the line's what was taken off.
    covered += std::abs(sk / skk * kScatterParts) <= *width;
  }
  CHECK(found == kTrials);
  CHECK(covered >= 0.90 * kTrials);
}

TEST_CASE("scatter: parts without information say nothing") {
  std::array<PartScore, kScatterParts> scores{};
  CHECK(effective_parts(scores) == 0.0);
  CHECK_FALSE(is_scattered(scores));
  CHECK_FALSE(scatter_half_width(scores, 1.0, 0.0));
  scores[3] = {5.0, 1.0};
  CHECK(effective_parts(scores) == 1.0);
  CHECK_FALSE(scatter_half_width(scores, 1.0, 0.0));
}
