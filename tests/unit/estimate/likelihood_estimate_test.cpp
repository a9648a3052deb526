// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/likelihood_estimate.h"

#include <doctest/doctest.h>

#include <cmath>

#include "clockassay/estimate/student_t.h"
#include "estimate/likelihood_table.h"
#include "support/approx.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

struct Found {
  EdgeSums sums;
  LineFit line;
  FeasibleSet set;
  LikelihoodEstimate likely;
};

Found estimate(const SampledEdges& e, std::size_t block_cycles,
               const ParallelFor& parallel_for = serial_for) {
  const TestStretch s = stretch_from_edges(e.rises, e.falls, block_cycles);
  const EdgeView view(s.stretch);
  Found f;
  f.sums = sum_edges(view, parallel_for).value();
  f.line = fit_line(f.sums.rise, f.sums.fall).value();
  const ViewExtremes extremes =
      find_extremes(view, f.sums.frame, f.line.slope, parallel_for);
  f.set = find_feasible_set(view, f.sums.frame, extremes, kWindowUnits,
                            parallel_for);
  f.likely = estimate_by_likelihood(view, f.sums, f.line, f.set, extremes, 1.0,
                                    parallel_for);
  return f;
}

}  // namespace

TEST_CASE("estimate_by_likelihood: jitter beyond the windows is Student's") {
  // Half a window of jitter: least squares and its t interval are the
  // likelihood's to 0.6 % (the windows' information, to second order in
  // 1/12/sigma²: 1/(1 + 1/(12 sigma²)) of exact edges against the residuals'
  // variance of sigma² + 1/12, which cancels; the rest is of fourth order).
  std::mt19937_64 random(51);
  const SampledEdges e = sample_edges(40.381966, 0.43, 0.5, 1000, random);
  const Found f = estimate(e, 2048);
  REQUIRE_FALSE(f.set.mean_slope);
  const double t =
      student_t_two_sided(0.95, static_cast<double>(f.line.dof)) *
      std::sqrt(f.line.residual_squares / static_cast<double>(f.line.dof) *
                f.line.slope_variance);
  CHECK((f.likely.high - f.likely.low) / 2.0 ==
        testing::approx(t).epsilon(0.02));
  // And the estimates agree to a twentieth of that: sigma 0.5, sd ratio 1.0005
  // of least squares to the bound, so they differ by 0.03 standard deviations.
  CHECK(std::abs(f.likely.slope - f.line.slope) < 0.1 * t);
  CHECK(f.likely.sigma == testing::approx(0.5).epsilon(0.1));
}

TEST_CASE("estimate_by_likelihood: of few phases no wider than the set is") {
  // A clock of p/q samples a period meets the sampler at q phases, each many
  // times: without jitter the set is 2/q of a window wide at either end, and
  // hardly any more is likely, however long the capture is.
  constexpr unsigned kSeed = 55;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  for (const int q : {3, 5, 8, 9, 10, 13, 16, 25, 50}) {
    for (const int turns : {60, 200, 250, 260, 400, 1000}) {
      CAPTURE(q);
      CAPTURE(turns);
      const double period = 11.0 + 1.0 / q;
      const SampledEdges e = sample_edges(
          period, 0.5, 0.0, static_cast<std::size_t>(q * turns), random);
      const Found f = estimate(e, 2048);
      REQUIRE(f.set.mean_slope);
      const double set = f.set.bounds->high.value() - f.set.bounds->low.value();
      const double likely = f.likely.high - f.likely.low;
      CHECK(likely >= set);
      CHECK(likely < 1.1 * set);
    }
  }
}

TEST_CASE("estimate_by_likelihood: near a round fraction it beats the line") {
  // 5 ppm from 40 samples a period over 20000 cycles: four turns of phase.
  // Least squares follows the beat, by up to 1.5/N; the edges that jitter
  // across an end of their window are those that tell.
  std::mt19937_64 random(52);
  const double period = 40.0 * (1.0 + 5e-6);
  double line = 0.0, likely = 0.0;
  for (int i = 0; i < 10; ++i) {
    const SampledEdges e = sample_edges(period, 0.43, 0.05, 20000, random);
    const Found f = estimate(e, 2048);
    const double base = static_cast<double>(f.sums.frame.period) - period;
    line += std::pow(f.line.slope + base, 2);
    likely += std::pow(f.likely.slope + base, 2);
  }
  CHECK(likely < line / 25.0);
}

TEST_CASE("estimate_by_likelihood: a table of cells says what the edges say") {
  // 3000 cycles are tabulated, and reckoned edge by edge here.
  constexpr std::uint64_t kSeed = 53;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const double period : {40.381966, 40.0031}) {
    for (const double sigma : {0.02, 0.1, 0.4}) {
      CAPTURE(period);
      CAPTURE(sigma);
      const SampledEdges e = sample_edges(period, 0.43, sigma, 3000, random);
      const Found f = estimate(e, 2048);
      std::vector<LikelihoodCell> cells;
      const auto reach = static_cast<double>(f.sums.last_cycle);
      const auto add = [&](const std::vector<std::int64_t>& seen, bool fall,
                           std::size_t count) {
        for (std::size_t i = 0; i < count; ++i) {
          const auto k = static_cast<std::int64_t>(i) + f.sums.first_cycle;
          const double y = static_cast<double>(f.sums.frame.y(
              Cycles(f.sums.frame.centre.count() + k), Ticks(seen[i]), 0, 0));
          cells.push_back(
              {static_cast<double>(k) / reach,
               y - f.line.slope * static_cast<double>(k) -
                   (fall ? *f.line.fall_intercept : f.line.rise_intercept),
               1.0, fall});
        }
      };
      add(e.rises, false, e.rises.size());
      add(e.falls, true, e.rises.size() - 1);
      const WindowLikelihood plain(cells, 1e-6);
      const LikelihoodPeak peak = plain.peak({-0.5, -0.5, 0.0, 0.3});
      const auto variance = plain.slope_variance(peak.line);
      REQUIRE(variance);
      const double sd = std::sqrt(*variance) / reach;
      const double slope = f.line.slope + peak.line.slope / reach;
      // The climbs end within a hundredth of the peak, a seventh of a standard
      // deviation at most; cells are off by far less.
      CHECK(std::abs(f.likely.slope - slope) < 0.2 * sd);
      CHECK(f.likely.sigma == testing::approx(peak.line.sigma).epsilon(0.02));
    }
  }
}

TEST_CASE("estimate_by_likelihood: the same bits for any blocks and threads") {
  std::mt19937_64 random(54);
  for (const std::size_t cycles : {500u, 6000u}) {
    for (const double sigma : {0.0, 0.05, 0.3}) {
      const SampledEdges e = sample_edges(40.0002, 0.43, sigma, cycles, random);
      const Found a = estimate(e, 2048);
      const Found b = estimate(e, 64, two_threads);
      CAPTURE(cycles);
      CAPTURE(sigma);
      CHECK(a.set.mean_slope == b.set.mean_slope);
      CHECK(a.line.slope == b.line.slope);
      CHECK(a.likely.slope == b.likely.slope);
      CHECK(a.likely.low == b.likely.low);
      CHECK(a.likely.high == b.likely.high);
      CHECK(a.likely.sigma == b.likely.sigma);
    }
  }
}

TEST_CASE("estimate_by_likelihood: in the set the interval reaches beyond it") {
  std::mt19937_64 random(55);
  const SampledEdges e = sample_edges(40.381966, 0.43, 0.0, 500, random);
  const Found f = estimate(e, 2048);
  REQUIRE(f.set.bounds);
  CHECK(f.likely.slope == *f.set.mean_slope);
  CHECK(f.likely.low < f.set.bounds->low.value());
  CHECK(f.likely.high > f.set.bounds->high.value());
  CHECK(f.likely.sigma == 0.0);
}

TEST_CASE("estimate_by_likelihood: locked, about a window over the capture") {
  const Found f = [] {
    SampledEdges e;
    for (std::int64_t k = 0; k <= 1000; ++k) {
      e.rises.push_back(40 * k);
      e.falls.push_back(40 * k + 17);
    }
    return estimate(e, 2048);
  }();
  // The set is +-1/N, and nothing beyond is a window wider.
  CHECK(f.likely.high == testing::approx(1.0 / 1000).epsilon(0.02));
  CHECK(f.likely.low == testing::approx(-1.0 / 1000).epsilon(0.02));
}
