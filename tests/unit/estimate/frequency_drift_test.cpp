// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/frequency_drift.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

#include "support/approx.h"
#include "support/power_law_noise.h"

using namespace clockassay;

namespace {

PhaseSource source_of(const std::vector<double>& phases) {
  return {static_cast<std::int64_t>(phases.size()),
          [&](std::int64_t at, std::span<double> out) {
            std::copy_n(phases.begin() + at, out.size(), out.begin());
          }};
}

/// Phases of a clock whose relative frequency is that, at u = 0 … 1.
template <typename Frequency>
std::vector<double> phases_of(std::size_t count, double period,
                              const Frequency& frequency) {
  std::vector<double> phases(count);
  double late = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    phases[i] = late;
    late -= period * frequency((static_cast<double>(i) + 0.5) /
                               static_cast<double>(count));
  }
  return phases;
}

}  // namespace

TEST_CASE("frequency_drift: a steady one is what it is, and explains all") {
  const auto steady = [](double u) { return 3e-5 * (u - 0.2); };
  // 10 200 cycles, means of 600: the 9600 between the first and the last are 16
  // parts of 600 and 25 of 384. The sum of steps is their integral but for its
  // rounding, 1e-16 of phases of 2 ticks next to changes of 1e-3 in a part.
  const auto drift =
      frequency_drift(source_of(phases_of(10'200, 20.0, steady)), 20.0);
  REQUIRE(drift);
  CHECK(drift->change == testing::approx(3e-5).epsilon(1e-9));
  CHECK(drift->explained == testing::approx(1.0));
  // Of 10 000 the parts are 588.25 cycles, each mean up to a cycle beside its
  // place: of 2.4e-5, the most that the frequency is off.
  const auto uneven =
      frequency_drift(source_of(phases_of(10'000, 20.0, steady)), 20.0);
  REQUIRE(uneven);
  CHECK(testing::within(uneven->change, 3e-5,
                        drift_error_bound(20.0 * 2.4e-5, 10'000, 20.0)));
}

TEST_CASE("frequency_drift: what goes up and down is not explained") {
  const auto phases = phases_of(10'000, 20.0, [](double u) {
    return 1e-5 * std::cos(2.0 * std::numbers::pi * u);
  });
  const auto drift = frequency_drift(source_of(phases), 20.0);
  REQUIRE(drift);
  CHECK(drift->explained < 0.01);
  // None where nothing moves.
  const std::vector<double> still(1000, 0.0);
  CHECK(frequency_drift(source_of(still), 20.0)->explained == 0.0);
}

TEST_CASE("frequency_drift: nor what does as often as there are parts") {
  for (const double turns : {15.6, 16.4, 24.6, 25.4, 32.3}) {
    CAPTURE(turns);
    const auto phases = phases_of(50'000, 20.0, [&](double u) {
      return 1e-4 * std::sin(2.0 * std::numbers::pi * turns * u);
    });
    const auto drift = frequency_drift(source_of(phases), 20.0);
    REQUIRE(drift);
    CHECK(drift->explained < 0.9);
  }
}

TEST_CASE("frequency_drift: noise is explained less than nine tenths") {
  constexpr std::uint64_t kSeed = 41;
  constexpr int kTrials = 2000;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  // White of the phase, white and flickering of the frequency.
  for (const int alpha : {2, 0, -1}) {
    CAPTURE(alpha);
    int explained = 0;
    for (int t = 0; t < kTrials; ++t) {
      const auto phases = discrete_power_law_noise(alpha, 1000, random);
      const auto drift = frequency_drift(source_of(phases), 20.0);
      REQUIRE(drift);
      explained += drift->explained >= 0.9;
    }
    // Of a thousandth two expected, seven or more once in 200.
    CHECK(explained <= 6);
  }
}

TEST_CASE("frequency_drift: edges that are missing, and too few") {
  auto phases =
      phases_of(17'000, 20.0, [](double u) { return 1e-5 * (u - 0.5); });
  for (std::size_t i = 100; i < 900; ++i) {
    phases[i] = std::numeric_limits<double>::quiet_NaN();
  }
  // A mean of what is left of it is that of other places: of 1/17 less a tenth.
  const auto drift = frequency_drift(source_of(phases), 20.0);
  REQUIRE(drift);
  CHECK(drift->change == testing::approx(1e-5).epsilon(0.05));
  for (std::size_t i = 0; i < 1000; ++i) {
    phases[i] = std::numeric_limits<double>::quiet_NaN();
  }
  CHECK_FALSE(frequency_drift(source_of(phases), 20.0));
  const std::vector<double> few(67, 0.0);
  CHECK_FALSE(frequency_drift(source_of(few), 20.0));
}

TEST_CASE("drift_error_bound: no errors of the means move it further") {
  // The worst signs: those of the weights, by trying each at a time.
  constexpr std::size_t kCount = 17 * 8;
  const double period = 20.0, error = 0.5;
  double worst = 0.0;
  for (int i = 0; i <= kDriftParts; ++i) {
    std::vector<double> phases(kCount, 0.0);
    for (std::size_t k = 0; k < 8; ++k) {
      phases[static_cast<std::size_t>(i) * 8 + k] = error;
    }
    worst += std::abs(frequency_drift(source_of(phases), period)->change);
  }
  CHECK(drift_error_bound(error, kCount, period) == testing::approx(worst));
}
