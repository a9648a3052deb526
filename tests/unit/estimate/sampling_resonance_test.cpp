// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_resonance.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

#include "clockassay/estimate/edge_line.h"

using namespace clockassay;

namespace {

constexpr double kPi = std::numbers::pi;
const std::vector<double> kStill(32, 0.0);

TEST_CASE("sampling_resonance: a locked clock is moved as far as can be") {
  // Harmonic m moves the slope by at most 2.62 of its size 1/(pi m), at 0.66
  // turns (the largest of 12 |integral of x sin(2 pi V x)|, x within 1/2); of
  // m times 0.75 turns or less the harmonics above the first take the nearest
  // they are offered, 0.375 m or 0.75 m turns: no more than 2.62 either.
  double most = 0.0;
  for (int m = 1; m <= 8; ++m) most += 2.62 / (kPi * m);
  const double moved = sampling_resonance(40.0, 1e4, kStill, 0.0);
  CHECK(moved < most);
  CHECK(moved > 2.55 / kPi);
}

TEST_CASE("sampling_resonance: at q phases the first harmonic is the q-th") {
  // P = p + 1/4: harmonics 4 and 8 alone stand still.
  const double moved = sampling_resonance(40.25, 1e4, kStill, 0.0);
  CHECK(moved < 2.62 * (1.0 / 4 + 1.0 / 8) / kPi);
  CHECK(moved > 2.3 / (4 * kPi));
}

TEST_CASE("sampling_resonance: none where phases are met evenly") {
  // The golden section is far from every simple fraction.
  CHECK(sampling_resonance(40.381966011250105, 1e4, kStill, 0.0) == 0.0);
}

TEST_CASE("sampling_resonance: jitter hides the samples") {
  // exp(-2 pi² / 4) = 0.0072 of the first harmonic, half a sample of jitter.
  CHECK(sampling_resonance(40.0, 1e4, kStill, 0.5) < 0.0073 * 2.62 / kPi);
  CHECK(sampling_resonance(40.0, 1e4, kStill, 2.0) == 0.0);
}

TEST_CASE("sampling_resonance: it bounds what sampling does to a line") {
  // A locked clock, in a time that bends: worst of many phases and bends.
  constexpr int kEdges = 1000;
  constexpr std::uint64_t kSeed = 21;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  for (const double bend : {0.3, 1.0, 3.0, 20.0}) {
    CAPTURE(bend);
    std::vector<double> path;
    for (int i = 0; i < 32; ++i) {
      const double x = (i + 0.5) / 32 - 0.5;
      path.push_back(4.0 * bend * x * x);
    }
    const double bound = sampling_resonance(40.0, kEdges, path, 0.0);
    double worst = 0.0;
    for (int trial = 0; trial < 200; ++trial) {
      const double phase = uniform(random);
      const double more = 1.5 * (uniform(random) - 0.5);
      LineSums sampled, exact;
      for (int k = 0; k < kEdges; ++k) {
        const double x = (k + 0.5) / kEdges - 0.5;
        const double at = phase + 4.0 * bend * x * x + more * x;
        // In thousandths of a sample.
        sampled.add(k, 1000 * std::llround(std::ceil(at)));
        exact.add(k, std::llround(1000 * at));
      }
      const double off = fit_line(sampled, LineSums{})->slope -
                         fit_line(exact, LineSums{})->slope;
      worst = std::max(worst, std::abs(off) * kEdges / 1000.0);
    }
    CHECK(worst <= bound);
    // Nor is it far above: the harmonics may not all be worst at once, and 200
    // trials not be the worst of any bend.
    CHECK(worst > 0.2 * bound);
  }
}

/// Parts of `edges` edges each, at phases `phase` of their sample.
std::vector<LineSums> parts_at(const std::vector<double>& phases, double sigma,
                               int edges, std::mt19937_64& random) {
  std::normal_distribution<double> normal;
  std::vector<LineSums> parts(phases.size());
  for (std::size_t i = 0; i < phases.size(); ++i) {
    for (int k = 0; k < edges; ++k) {
      parts[i].add(k,
                   std::llround(std::ceil(phases[i] + sigma * normal(random))));
    }
  }
  return parts;
}

TEST_CASE("least_jitter: no more than there is, and something of it") {
  constexpr std::uint64_t kSeed = 22;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::vector<double> phases;
  for (int i = 0; i < 32; ++i) phases.push_back((i + 0.5) / 32);
  for (const double sigma : {0.03, 0.1, 0.3, 0.5}) {
    CAPTURE(sigma);
    const double seen = least_jitter(parts_at(phases, sigma, 500, random), 1.0);
    // A part's variance is known to 6 %, the quarter of them lies below.
    CHECK(seen <= 1.06 * sigma);
    if (sigma >= 0.3) CHECK(seen > 0.4 * sigma);
  }
  CHECK(least_jitter(parts_at(phases, 0.0, 500, random), 1.0) == 0.0);
  CHECK(least_jitter({}, 1.0) == 0.0);
}

TEST_CASE("least_jitter: in units of the sampling interval") {
  std::mt19937_64 random(23);
  std::normal_distribution<double> normal;
  std::vector<LineSums> parts(32);
  for (LineSums& part : parts) {
    for (int k = 0; k < 500; ++k) {
      part.add(k, std::llround(3000 * normal(random)));
    }
  }
  // 3000 ticks; the quarter of 32 parts of 500 lies 3 % of a deviation of
  // sqrt(1/1000) below, and rounding is nothing.
  CHECK(least_jitter(parts, 10'000.0) == doctest::Approx(0.147).epsilon(0.05));
}

}  // namespace
