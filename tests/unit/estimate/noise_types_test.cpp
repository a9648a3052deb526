// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/noise_types.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "support/approx.h"

using namespace clockassay;

namespace {

constexpr std::size_t kPlaces = 32;
constexpr std::size_t kPerPlace = 8;
constexpr std::size_t kView = kPlaces * kPerPlace;

/// Noise whose power goes as f^-exponent, by the filter of N. J. Kasdin,
/// "Discrete simulation of colored noise and stochastic processes and 1/f^a
/// power law noise generation", Proc. IEEE 83(5), 1995 (formula from memory):
/// h(k) = h(k-1) (exponent/2 + k - 1)/k, over the given number of steps before.
std::vector<double> power_law(double exponent, std::size_t before,
                              std::mt19937_64& random) {
  std::normal_distribution<double> normal;
  std::vector<double> h(before + 1), w(before + kView), x(kView);
  h[0] = 1.0;
  for (std::size_t k = 1; k < h.size(); ++k) {
    const auto n = static_cast<double>(k);
    h[k] = h[k - 1] * (0.5 * exponent + n - 1.0) / n;
  }
  for (double& v : w) v = normal(random);
  for (std::size_t i = 0; i < kView; ++i) {
    for (std::size_t k = 0; k <= before; ++k) x[i] += h[k] * w[before + i - k];
  }
  return x;
}

void accumulate(std::vector<double>& x) {
  double sum = 0.0;
  for (double& v : x) v = sum += v;
}

std::vector<double> noise(Noise kind, std::mt19937_64& random) {
  const bool flicker =
      kind == Noise::kFlickerPhase || kind == Noise::kFlickerFrequency;
  std::vector<double> x =
      power_law(flicker ? 1.0 : 0.0, flicker ? 3 * kView : 0, random);
  if (kind != Noise::kFlickerPhase && kind != Noise::kShortMemory) {
    accumulate(x);
  }
  if (kind == Noise::kWalkFrequency) accumulate(x);
  return x;
}

/// Means of the noise about their own line, and that line's slope per view.
struct Sample {
  std::vector<EdgePlace> places;
  double slope = 0.0;
};

Sample sample(const std::vector<double>& x, double jitter,
              std::mt19937_64& random) {
  std::normal_distribution<double> normal(0.0, jitter);
  Sample s;
  double sum = 0.0, moment = 0.0, spread = 0.0;
  for (std::size_t i = 0; i < kPlaces; ++i) {
    EdgePlace p;
    p.time = (static_cast<double>(i) + 0.5) / kPlaces;
    for (std::size_t k = 0; k < kPerPlace; ++k) {
      p.place += x[i * kPerPlace + k] / kPerPlace;
    }
    p.place += normal(random);
    p.weight = 1.0 / (jitter * jitter);
    sum += p.place;
    moment += p.place * (p.time - 0.5);
    spread += (p.time - 0.5) * (p.time - 0.5);
    s.places.push_back(p);
  }
  s.slope = moment / spread;
  for (EdgePlace& p : s.places) {
    p.place -= sum / kPlaces + s.slope * (p.time - 0.5);
  }
  return s;
}

}  // namespace

TEST_CASE("noise_half_width: the slope is covered whatever the noise") {
  // The true slope is 0 at the beginning of the view, and of the long term
  // where that exists. In 200 views 95 % are covered; fewer than 176 have
  // probability 2e-5 (binomial). And not by being wide: the median is below
  // 2.5 times what 95 % of normal errors of that size would want (a part of it
  // is for the other kinds that it might be).
  constexpr std::uint64_t kSeed = 51;
  constexpr int kTrials = 200;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const Noise kind : kAllNoise) {
    int covered = 0;
    double squares = 0.0;
    std::vector<double> widths;
    for (int trial = 0; trial < kTrials; ++trial) {
      const Sample s = sample(noise(kind, random), 0.1, random);
      const auto width = noise_half_width(s.places, 1.0 / kPlaces,
                                          {1000.0, 1000.0}, kAllNoise);
      REQUIRE(width);
      covered += std::abs(s.slope) <= *width;
      squares += s.slope * s.slope;
      widths.push_back(*width);
    }
    std::nth_element(widths.begin(), widths.begin() + kTrials / 2,
                     widths.end());
    CAPTURE(static_cast<int>(kind));
    CHECK(covered >= 176);
    CHECK(widths[kTrials / 2] < 2.5 * 1.96 * std::sqrt(squares / kTrials));
  }
}

TEST_CASE("noise_half_width: white jitter alone has the line's own interval") {
  // 1/weight is the variance, so that the slope's is that of the weighted line,
  // 12/(32 (1 - 1/32²)) of it per view: no less than 1.96 of its root, and no
  // more than the factor for other kinds allows beside jitter that is seen.
  constexpr std::uint64_t kSeed = 52;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const double deviation =
      std::sqrt(12.0 / (kPlaces * (1.0 - 1.0 / (kPlaces * kPlaces))));
  for (int trial = 0; trial < 50; ++trial) {
    const Sample s = sample(std::vector<double>(kView), 1.0, random);
    const std::vector<Noise> white = {Noise::kShortMemory};
    const auto width =
        noise_half_width(s.places, 1.0 / kPlaces, {1e6, 1e6}, white);
    REQUIRE(width);
    CHECK(*width > 1.96 * deviation);
    // Places' own scatter, of 30 degrees of freedom, is five times its
    // deviation off at most: factor sqrt(1 + 5 sqrt(2/30)) < 1.6, margin 1.1.
    CHECK(*width < 1.6 * 1.1 * 1.97 * deviation);
  }
}

TEST_CASE("noise_half_width: ten times the places, ten times the half-width") {
  std::mt19937_64 random(53);
  Sample s = sample(noise(Noise::kWhiteFrequency, random), 0.1, random);
  const auto one = noise_half_width(s.places, 0.03, {20.0, 20.0}, kAllNoise);
  for (EdgePlace& p : s.places) p.place *= 10.0;
  const auto ten = noise_half_width(s.places, 0.03, {2000.0, 20.0}, kAllNoise);
  REQUIRE(one);
  REQUIRE(ten);
  CHECK(*ten == testing::approx(10.0 * *one).epsilon(1e-5));
}

TEST_CASE("noise_half_width: too few places, or none that is off the line") {
  std::vector<EdgePlace> places;
  for (int i = 0; i < 4; ++i) places.push_back({0.2 * i, false, 0.1 * i, 1.0});
  CHECK_FALSE(noise_half_width(places, 0.1, {}, kAllNoise));
  places.push_back({0.9, false, 0.3, 1.0});
  CHECK(noise_half_width(places, 0.1, {}, kAllNoise));
  for (EdgePlace& p : places) p.weight = 0.0;
  CHECK_FALSE(noise_half_width(places, 0.1, {1.0, 1.0}, kAllNoise));
  for (EdgePlace& p : places) p = {p.time, false, 0.0, 1.0};
  CHECK_FALSE(noise_half_width(places, 0.1, {}, kAllNoise));
}

TEST_CASE("noise_half_width: each polarity has an intercept of its own") {
  std::mt19937_64 random(54);
  Sample s = sample(noise(Noise::kWhiteFrequency, random), 0.1, random);
  for (std::size_t i = 0; i < kPlaces; i += 2) s.places[i].fall = true;
  const auto as_is = noise_half_width(s.places, 0.03, {}, kAllNoise);
  for (std::size_t i = 0; i < kPlaces; i += 2) s.places[i].place += 100.0;
  const auto moved = noise_half_width(s.places, 0.03, {}, kAllNoise);
  REQUIRE(as_is);
  REQUIRE(moved);
  CHECK(*moved == testing::approx(*as_is).epsilon(1e-6));
}
