// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_resonance.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>
#include <random>
#include <vector>

#include "clockassay/estimate/edge_line.h"
#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

constexpr double kPi = std::numbers::pi;
const std::vector<double> kStill(32, 0.0);

TEST_CASE("sampling_resonance: a locked clock is moved as far as can be") {
  // Harmonic m of size 1/(pi m) moves the slope by at most 2.62 of it, at 0.66
  // turns (the largest of 12 |integral of x sin(2 pi V x)|, x within 1/2), in
  // all by no more than 12 |integral of |x|/2| = 1.5.
  const double moved = sampling_resonance({40.0, 10'000, kStill}, 0.0);
  CHECK(moved <= 1.5);
  CHECK(moved > 2.3 / kPi);
}

TEST_CASE("sampling_resonance: at q phases it is one q-th") {
  constexpr int kCycles = 16'000;  // all edges are looked at
  const double one = sampling_resonance({40.0, kCycles, kStill}, 0.0);
  for (const int q : {2, 4, 10, 17, 34}) {
    CAPTURE(q);
    const SamplerPhases phases(40.0 + 1.0 / q, kCycles, kStill);
    CHECK(phases.few == q);
    // A turn of the phases that the view ends amid has a sum of up to q/8, and
    // moves the slope by 12/N of that.
    CHECK(testing::within(sampling_resonance(phases, 0.0), one / q,
                          1.5 * q / kCycles + 1e-3 / q));
  }
}

TEST_CASE("sampling_resonance: none where the scatter shows it") {
  // The golden section is far from every simple fraction.
  const SamplerPhases phases(40.381966011250105, 10'000, kStill);
  CHECK(sampling_resonance(phases, 0.0) < 1e-3);
  // Phases by chance: what the line does is what the scatter says.
  std::vector<double> walk{0.0};
  std::mt19937_64 random(25);
  std::normal_distribution<double> normal;
  for (int i = 1; i < 32; ++i)
    walk.push_back(walk.back() + 300 * normal(random));
  // 10 000 edges by chance move it by sqrt(12/12/10 000) = 0.01 rms.
  CHECK(sampling_resonance({40.3, 10'000, walk}, 0.0) < 0.02);
}

TEST_CASE("sampling_resonance: jitter hides the samples") {
  // exp(-2 pi² / 4) = 0.0072 of the first harmonic, half a sample of jitter.
  const double one = sampling_resonance({40.0, 10'000, kStill}, 0.5);
  CHECK(one < 0.0073 * 2.62 / kPi);
  CHECK(one > 0.0071 * 2.3 / kPi);
  CHECK(sampling_resonance({40.0, 10'000, kStill}, 2.0) == 0.0);
}

/// Edges of a clock locked to the sampler, in a time that bends, from some
/// phase and at some rate that the capture leaves open.
struct BentLine {
  double off = 0.0;      ///< what sampling did to the slope, over the view
  double scatter = 0.0;  ///< deviation of it by the means of 32 parts
};

BentLine bent_line(int edges, double bend, std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  const double phase = uniform(random);
  const double more = 1.5 * (uniform(random) - 0.5);
  LineSums all;
  std::vector<LineSums> parts(32);
  for (int k = 0; k < edges; ++k) {
    const double x = (k + 0.5) / edges - 0.5;
    const double at = phase + 4.0 * bend * x * x + more * x;
    // In thousandths of a sample.
    const std::int64_t added = std::llround(1000 * (std::ceil(at) - at));
    all.add(k, added);
    parts[static_cast<std::size_t>(32 * k / edges)].add(k, added);
  }
  const auto line = fit_line(all, LineSums{});
  double squares = 0.0;
  for (const LineSums& p : parts) {
    const double off = static_cast<double>(p.y) -
                       line->slope * static_cast<double>(p.k) -
                       static_cast<double>(p.n) * line->rise_intercept;
    squares += off * off / static_cast<double>(p.n);
  }
  const double per_view = edges / 1000.0;
  return {line->slope * per_view,
          std::sqrt(squares / 30 * line->slope_variance) * per_view};
}

TEST_CASE("sampling_resonance: with the scatter it covers what sampling does") {
  constexpr int kEdges = 1000;
  constexpr int kTrials = 400;
  constexpr std::uint64_t kSeed = 21;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  for (const double bend : {0.0, 0.3, 1.0, 3.0, 20.0}) {
    CAPTURE(bend);
    std::vector<double> path;
    for (int i = 0; i < 32; ++i) {
      const double x = (i + 0.5) / 32 - 0.5;
      path.push_back(4.0 * bend * x * x);
    }
    const double left = sampling_resonance({40.0, kEdges - 1, path}, 0.0);
    int covered = 0;
    double errors = 0.0;
    for (int trial = 0; trial < kTrials; ++trial) {
      const BentLine line = bent_line(kEdges, bend, random);
      // 2.042: 95 % of Student's distribution, 30 degrees of freedom.
      const double width = std::hypot(left, 2.042 * line.scatter);
      covered += std::abs(line.off) <= width;
      errors += line.off * line.off;
    }
    // 95 % of 400, less four deviations.
    CHECK(covered >= 363);
    // Nor is it far wider: the worst of the rates is not met in every trial.
    CHECK(left < 3 * 1.96 * std::sqrt(errors / kTrials));
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
    const double seen =
        least_jitter(parts_at(phases, sigma, 500, random), 1.0, 1);
    // A part's variance is known to 6 %, the quarter of them lies below.
    CHECK(seen <= 1.06 * sigma);
    if (sigma >= 0.3) CHECK(seen > 0.4 * sigma);
  }
  CHECK(least_jitter(parts_at(phases, 0.0, 500, random), 1.0, 1) == 0.0);
  CHECK(least_jitter({}, 1.0, 1) == 0.0);
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
  CHECK(least_jitter(parts, 10'000.0, 1) ==
        testing::approx(0.147).epsilon(0.05));
}

TEST_CASE("least_jitter: what few phases scatter is no jitter") {
  // Phases of q in turn, of edges without jitter: their variance is
  // 1/12 (1 - 1/q²), which was taken for a third of a sample of jitter.
  constexpr std::uint64_t kSeed = 24;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  for (const int q : {2, 3, 10}) {
    for (const double sigma : {0.0, 0.3}) {
      CAPTURE(q);
      CAPTURE(sigma);
      std::vector<LineSums> parts(32);
      for (std::size_t i = 0; i < parts.size(); ++i) {
        const double phase = (static_cast<double>(i) + 0.5) / 32 / q;
        for (int k = 0; k < 500; ++k) {
          const double at = phase + static_cast<double>(k % q) / q;
          // In thousandths, off the exact place.
          parts[i].add(
              k, std::llround(1000 *
                              (std::ceil(at + sigma * normal(random)) - at)));
        }
      }
      const double seen = least_jitter(parts, 1000.0, q);
      if (sigma == 0.0) {
        CHECK(seen == 0.0);
      } else {
        CHECK(seen <= sigma);
        CHECK(seen > 0.5 * sigma);
      }
    }
  }
}

/// Rising edges of that period in a time that turns once in ten of them.
TestStretch turning(double period, double sigma, double size, std::size_t block,
                    std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal;
  std::vector<std::int64_t> rises, falls;
  for (int k = 0; k <= 3000; ++k) {
    const double t = k * period + size * std::sin(2 * kPi * k / 10.0 + 0.3);
    rises.push_back(static_cast<std::int64_t>(
        std::ceil(t + 0.37 + sigma * normal(random))));
    falls.push_back(rises.back() + 5);
  }
  return stretch_from_edges(rises, falls, block);
}

std::optional<double> quick_variance_of(const TestStretch& s) {
  const EdgeView view(s.stretch);
  return quick_variance(view, frame_of(view), 1.0, serial_for);
}

TEST_CASE("quick_variance: time that turns in ten edges is no part of it") {
  for (const double size : {0.0, 50.0, 500.0}) {
    CAPTURE(size);
    // Of 500 samples rms a differences' 0.00019 is left: 0.07.
    const auto seen = quick_variance_of(turning(1000.0, 2.0, size, 512, 32));
    REQUIRE(seen);
    // 4 and 1/12 of sampling; of 3000 differences that overlap, some three of
    // which are as good as independent in eight: 1/sqrt(500), of which three.
    CHECK(*seen == testing::approx(4.0 + 1.0 / 12).epsilon(0.14));
  }
  CHECK(quick_variance_of(turning(1000.0, 0.0, 0.0, 512, 31)) == 0.0);
}

TEST_CASE("quick_variance: the same for any blocks, and none of few edges") {
  const auto whole = quick_variance_of(turning(1000.3, 0.5, 3.0, 2048, 33));
  REQUIRE(whole);
  for (const std::size_t block : {1u, 5u, 8u, 9u, 100u}) {
    CAPTURE(block);
    CHECK(quick_variance_of(turning(1000.3, 0.5, 3.0, block, 33)) == whole);
  }
  std::vector<std::int64_t> few, falls;
  for (int k = 0; k < 40; ++k) {
    few.push_back(10 * k);
    falls.push_back(10 * k + 5);
  }
  CHECK(quick_variance_of(stretch_from_edges(few, falls, 8)) == 0.0);
  // 39 edges have 31 differences.
  few.pop_back();
  falls.pop_back();
  CHECK_FALSE(quick_variance_of(stretch_from_edges(few, falls, 8)));
}

TEST_CASE("certain_jitter: what sampling or time may have done is none") {
  const SamplerPhases locked(1000.0, 3000, kStill);
  const SamplerPhases golden(40.381966011250105, 3000, kStill);
  const auto seen = [](double sigma) {
    return quick_variance_of(turning(1000.0, sigma, 50.0, 512, 34)).value();
  };
  // Time turns: jitter is known but for 1.27 of variance, by sampling half a
  // sample to either side in turn; a sample of jitter is not.
  CHECK(certain_jitter(locked, 9.0, seen(2.0)) ==
        testing::approx(std::sqrt(4.0 + 1.0 / 12 - 1.273)).epsilon(0.1));
  CHECK(certain_jitter(locked, 9.0, seen(1.0)) < 0.3);
  CHECK(certain_jitter(locked, 9.0, seen(0.3)) == 0.0);
  // It does not: jitter within the parts is the same.
  CHECK(certain_jitter(locked, 0.3, 0.09 + 1.0 / 12) ==
        testing::approx(0.3).epsilon(1e-9));
  CHECK(certain_jitter(locked, 0.25, 0.09 + 1.0 / 12) == 0.25);
  // Nor is sampling at evenly met phases jitter.
  std::mt19937_64 random(35);
  const SampledEdges e = sample_edges(golden.period, 0.5, 0.0, 3000, random);
  const double sampled =
      quick_variance_of(stretch_from_edges(e.rises, e.falls, 512)).value();
  CHECK(sampled > 1.0 / 12);
  CHECK(certain_jitter(golden, 0.2, sampled) < 0.05);
}

}  // namespace
