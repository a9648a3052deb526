// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/shared_jitter.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "clockassay/estimate/edge_line.h"
#include "support/approx.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

enum class Shared { kNothing, kSameCycle, kNextCycle };

/// Edges with that part of the variance of their jitter in common.
SampledEdges jitter(Shared shared, double part, double sigma,
                    std::size_t cycles, std::mt19937_64& random) {
  std::normal_distribution<double> normal(0.0, sigma);
  std::vector<double> common(cycles + 2), off(2 * cycles + 2);
  for (double& c : common) c = std::sqrt(part) * normal(random);
  for (std::size_t i = 0; i < off.size(); ++i) {
    off[i] = std::sqrt(1.0 - part) * normal(random);
    if (shared == Shared::kSameCycle) off[i] += common[i / 2];
    if (shared == Shared::kNextCycle) off[i] += common[(i + 1) / 2];
  }
  return sample_edges(40.381966, 0.43, 0.0, cycles, random, off);
}

NeighbourSums sums_of(const SampledEdges& e, std::size_t block_cycles,
                      const ParallelFor& parallel_for = serial_for) {
  const TestStretch s = stretch_from_edges(e.rises, e.falls, block_cycles);
  const EdgeView view(s.stretch);
  const EdgeSums sums = sum_edges(view, parallel_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  const double rms =
      std::sqrt(line.residual_squares / static_cast<double>(line.dof));
  return sum_neighbours(view, sums,
                        {line.slope, line.rise_intercept, *line.fall_intercept},
                        PlaceScore::of_exact(rms), parallel_for);
}

}  // namespace

TEST_CASE("sum_neighbours: the same bits for any blocks and threads") {
  constexpr std::uint64_t kSeed = 71;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges e = jitter(Shared::kSameCycle, 1.0, 2.0, 3000, random);
  const NeighbourSums whole = sums_of(e, 2048);
  CHECK(whole.same_cycle.pairs == 3000);
  CHECK(whole.next_cycle.pairs == 3000);
  CHECK(whole == sums_of(e, 7));
  CHECK(whole == sums_of(e, 64, two_threads));
}

TEST_CASE(
    "sum_neighbours: of many edges a sample tells, the same for any blocks") {
  constexpr std::uint64_t kSeed = 72;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges e = jitter(Shared::kSameCycle, 1.0, 2.0, 200'000, random);
  const NeighbourSums whole = sums_of(e, 2048);
  CHECK(whole.same_cycle.pairs > 32'768);
  CHECK(whole.same_cycle.pairs < 80'000);
  CHECK(whole == sums_of(e, 1000, two_threads));
  // Both edges of a cycle have all in common: twice the variance, to three
  // standard deviations of so many products, 1/√32 768.
  CHECK(std::abs(judge_neighbours(whole).variance_factor - 2.0) < 0.02);
}

TEST_CASE("sum_neighbours: where few edges tell anything more are looked at") {
  // A high time of whole samples: both edges of a cycle tell in the same
  // cycles, one in some thousand, where the phase is near a sample.
  constexpr std::uint64_t kSeed = 73;
  constexpr double kSigma = 2e-4;  // samples
  constexpr double kPeriod = 40.381966;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal(0.0, kSigma);
  std::vector<std::int64_t> rises, falls;
  for (int c = 0; c < 600'000; ++c) {
    const auto seen = static_cast<std::int64_t>(
        std::ceil(0.3 + kPeriod * c + normal(random)));
    rises.push_back(seen);
    falls.push_back(seen + 17);
  }
  const TestStretch s = stretch_from_edges(rises, falls, 2048);
  const EdgeView view(s.stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const double frame = static_cast<double>(sums.frame.period);
  // The true line, in the frame; windows end where edges are seen.
  const double slope = kPeriod - frame;
  const double middle = static_cast<double>(sums.frame.centre.count());
  const double start =
      0.3 + kPeriod * middle - static_cast<double>(sums.frame.origin.count());
  const NeighbourSums neighbours =
      sum_neighbours(view, sums, {slope, start, start + 17.0},
                     PlaceScore::of_windows(1.0, kSigma), serial_for);
  CHECK(neighbours.same_cycle.pairs > 500'000);
  // All in common; of 600 000 cycles some 2 sigma, 240, tell by i = 1: the
  // factor's deviation is about 1/√240.
  const double factor = judge_neighbours(neighbours).variance_factor;
  CHECK(factor > 1.7);
  CHECK(factor <= 2.0);
}

TEST_CASE("judge_neighbours: the factor is one more than what they share") {
  // Three samples of jitter: sampling, 1/12, takes off 1 % of the part shared.
  // The correlation of n pairs is known to (1 - part²)/√n or better, at most
  // 1/√n; four of that, and rounding of scores, far less.
  constexpr std::uint64_t kSeed = 72;
  constexpr std::size_t kCycles = 2500;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const Shared shared : {Shared::kSameCycle, Shared::kNextCycle}) {
    for (const double part : {0.25, 0.5, 1.0}) {
      CAPTURE(part);
      const SharedJitter s = judge_neighbours(
          sums_of(jitter(shared, part, 3.0, kCycles, random), 2048));
      const double sampled = part * 9.0 / (9.0 + 1.0 / 12.0);
      CHECK(std::abs(s.variance_factor - 1.0 - sampled) <
            4.0 / std::sqrt(static_cast<double>(kCycles)));
    }
  }
}

TEST_CASE("judge_neighbours: independent jitter is left alone") {
  // Either kind is taken for shared once in twenty; of 400 captures 39 (one in
  // 20 and 20, less both), with a standard deviation of 6: 20 to 63 within 4.
  constexpr std::uint64_t kSeed = 73;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int taken = 0;
  for (int i = 0; i < 400; ++i) {
    const SharedJitter s = judge_neighbours(
        sums_of(jitter(Shared::kNothing, 0.0, 1.0, 200, random), 2048));
    taken += s.variance_factor > 1.0;
  }
  CHECK(taken > 15);
  CHECK(taken < 63);
}

TEST_CASE("shared_widening: half the edges are worth it at the most") {
  CHECK(shared_widening({1.0, false}, 10.0) == 1.0);
  // √2 and Student's factors of 10 and 20 degrees of freedom, JCGM 100:2008,
  // Table G.2: 2.23 and 2.09, each to 0.005.
  CHECK(shared_widening({2.0, false}, 20.0) ==
        testing::approx(std::sqrt(2.0) * 2.23 / 2.09).epsilon(0.005));
}
