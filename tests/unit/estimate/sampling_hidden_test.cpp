// SPDX-License-Identifier: GPL-3.0-or-later
// The bound against the means of simulated errors of sampling.
#include "estimate/sampling_hidden.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <random>

using namespace clockassay;

namespace {

/// How far the mean error of `cycles` edges from phase u on is off 1/2.
double mean_error(double samples, double u, std::int64_t cycles) {
  double sum = 0.0;
  for (std::int64_t k = 0; k < cycles; ++k) {
    const double at = u + static_cast<double>(k) * samples;
    sum += std::ceil(at) - at;
  }
  return std::abs(sum / static_cast<double>(cycles) - 0.5);
}

}  // namespace

TEST_CASE("mean_error_bound: no mean of errors is beyond it") {
  constexpr std::uint64_t kSeed = 31;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform;
  constexpr double kRounding = 1e-9;  // 5000 phases of 1e-13
  int far_below = 0;
  constexpr int kTrials = 300;
  for (int t = 0; t < kTrials; ++t) {
    // Any, and near whole numbers, halves, thirds and quarters.
    double samples = 3.0 + 30.0 * uniform(random);
    if (t % 2 == 0) {
      const int q = 1 + t / 2 % 4;
      samples = std::round(samples * q) / q +
                std::pow(10.0, -2.0 - 4.0 * uniform(random));
    }
    const auto cycles =
        static_cast<std::int64_t>(1.0 + 5000.0 * uniform(random));
    const double off = 1e-4 * uniform(random);
    const double bound = mean_error_bound({samples, off}, cycles);
    CAPTURE(samples);
    CAPTURE(cycles);
    CHECK(bound <= 0.5);
    far_below += bound < 0.05;
    for (int i = 0; i < 4; ++i) {
      const double is = samples + off * (2.0 * uniform(random) - 1.0);
      CHECK(mean_error(is, uniform(random), cycles) <= bound + kRounding);
    }
  }
  // It says something: of clocks at no round fraction for thousands of cycles.
  CHECK(far_below > kTrials / 4);
}

TEST_CASE("mean_error_bound: a clock that stands still is hidden by half") {
  CHECK(mean_error_bound({10.0, 0.0}, 100'000) == 0.5);
  CHECK(mean_error_bound({10.0 + 1e-7, 0.0}, 1000) == 0.5);
  // At two phases it is hidden by a quarter; more than that, with H finite.
  const double two = mean_error_bound({10.5, 0.0}, 100'000);
  CHECK(two >= 0.25);
  CHECK(two < 0.5);
  // Off a round fraction by more than is known.
  CHECK(mean_error_bound({10.001, 0.002}, 100'000) == 0.5);
  // The golden ratio sweeps as evenly as any.
  CHECK(mean_error_bound({1.6180339887498949, 0.0}, 10'000) < 0.002);
}
