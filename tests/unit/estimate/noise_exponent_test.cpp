// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/noise_exponent.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <random>
#include <vector>

using namespace clockassay;

namespace {

/// The 1000-point set of NIST SP 1065, section 12.4, in means of m.
std::vector<double> thousand_points(int m) {
  std::vector<double> y;
  std::uint64_t n = 1234567890;
  for (int i = 0; i < 1000 / m; ++i) {
    double sum = 0.0;
    for (int j = 0; j < m; ++j) {
      sum += static_cast<double>(n) / 2147483647.0;
      n = 16807 * n % 2147483647;
    }
    y.push_back(sum / m);
  }
  return y;
}

/// Fractional differences of white noise, whose spectrum is that power of f: by
/// the recursion of N. J. Kasdin and T. Walter (1992), begun long before.
std::vector<double> simulated(NoiseKind kind, std::size_t n,
                              std::mt19937_64& random) {
  const double exponent = alpha_of(kind) - 2.0;  // of the phases
  const std::size_t all = 2 * n;
  std::vector<double> weight(all, 1.0);
  for (std::size_t k = 1; k < all; ++k) {
    weight[k] = weight[k - 1] *
                (static_cast<double>(k) - 1.0 - 0.5 * exponent) /
                static_cast<double>(k);
  }
  std::normal_distribution<double> normal;
  std::vector<double> steps(all), x(n);
  for (double& v : steps) v = normal(random);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k <= n + i; ++k)
      x[i] += weight[k] * steps[n + i - k];
  }
  return x;
}

}  // namespace

TEST_CASE("lag1_exponent: the 1000-point set of NIST SP 1065") {
  // Its linear trend taken off, r1 and alpha worked out apart from this code,
  // nine and six decimals. White noise of the frequency: alpha about 0.
  const auto one = lag1_exponent(thousand_points(1), 1);
  REQUIRE(one);
  CHECK(one->differences == 0);
  CHECK(std::abs(one->r1 - -0.026695701) <= 0.5e-9);
  CHECK(std::abs(one->exponent - 0.054856) <= 0.5e-6);
  const auto ten = lag1_exponent(thousand_points(10), 1);
  REQUIRE(ten);
  CHECK(std::abs(ten->r1 - -0.152713249) <= 0.5e-9);
  CHECK(std::abs(ten->exponent - 0.360476) <= 0.5e-6);
}

TEST_CASE("noise_of_phases: each kind is found in 2048 of its phases") {
  constexpr std::uint64_t kSeed = 411;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const NoiseKind kind :
       {NoiseKind::kWhitePhase, NoiseKind::kFlickerPhase,
        NoiseKind::kWhiteFrequency, NoiseKind::kFlickerFrequency,
        NoiseKind::kWalkFrequency}) {
    for (int i = 0; i < 10; ++i) {
      const auto x = simulated(kind, 2048, random);
      CAPTURE(alpha_of(kind));
      // The exponent is spread by about 2/sqrt(2048) = 0.04, and taken by as
      // much lower; half a step is 0.5.
      const auto found = noise_of_phases(x);
      REQUIRE(found);
      CHECK(alpha_of(*found) == alpha_of(kind));
    }
  }
}

TEST_CASE("noise_of_phases: a trend of the frequency is no noise") {
  constexpr std::uint64_t kSeed = 412;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  auto x = simulated(NoiseKind::kWhitePhase, 1000, random);
  for (std::size_t i = 0; i < x.size(); ++i) {
    const auto k = static_cast<double>(i);
    x[i] += 7.0 + 3.0 * k + 0.5 * k * k;
  }
  CHECK(noise_of_phases(x) == NoiseKind::kWhitePhase);
}

TEST_CASE("noise_of_phases: gaps, few phases and such as do not vary") {
  constexpr std::uint64_t kSeed = 413;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();
  for (const NoiseKind kind :
       {NoiseKind::kWhitePhase, NoiseKind::kWhiteFrequency}) {
    auto x = simulated(kind, 2048, random);
    for (std::size_t i = 0; i < x.size(); i += 7) x[i] = kMissing;
    CHECK(noise_of_phases(x) == kind);
  }
  const auto x = simulated(NoiseKind::kWhitePhase, 50, random);
  CHECK(noise_of_phases(x));
  CHECK_FALSE(noise_of_phases(std::span(x).first(49)));
  CHECK_FALSE(noise_of_phases(std::vector<double>(100, 0.0)));
  CHECK_FALSE(noise_of_phases(std::vector<double>(100, kMissing)));
  CHECK_FALSE(noise_of_phases({}));
}
