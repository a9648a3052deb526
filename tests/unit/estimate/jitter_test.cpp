// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/jitter.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <optional>
#include <random>
#include <vector>

#include "clockassay/base/parallel.h"
#include "support/approx.h"

using namespace clockassay;

namespace {

Stretch rising_stretch(const std::vector<std::int64_t>& ticks) {
  ExplicitEdges edges;
  for (std::size_t i = 0; i < ticks.size(); ++i) {
    edges.rise.push_back({static_cast<std::int64_t>(i), ticks[i]});
  }
  Stretch s;
  s.blocks.push_back({Cycles(0), Ticks(0), edges});
  s.first = Ticks(ticks.front());
  s.last = Ticks(ticks.back());
  return s;
}

/// Of the edges by their scatter, unless it is given.
Jitter jitter_of(const std::vector<std::int64_t>& ticks, double window,
                 const std::optional<EdgeJitter>& edge = std::nullopt) {
  const Stretch s = rising_stretch(ticks);
  const EdgeView view(s);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const auto line = fit_line(sums.rise, sums.fall);
  REQUIRE(line);
  const ResidualPass r = pass_residuals(
      view, sums, find_extremes(view, sums.frame, line->slope, serial_for), 1,
      serial_for);
  return describe_jitter(
      sums, *line, r, edge.value_or(jitter_about(*line, window)), window, 1e-9);
}

}  // namespace

TEST_CASE("describe_jitter: a worked example of eight edges") {
  // Edges in ns. Periods 101 98 103 96 102 103 96, mean 699/7, sum of squared
  // deviations 206/21 * 6; differences of neighbours -3 5 -7 6 1 -7: squares
  // 169 over 6, largest 7. Least-squares line: period 4201/42, intercept 1/6,
  // residuals -1/6 17/21 -17/14 37/21 -95/42 -2/7 113/42 -4/3: sum of squares
  // 409/21, range 104/21. All exact fractions, by hand.
  const Jitter j = jitter_of({0, 101, 199, 302, 398, 500, 603, 699}, 1.0);
  const double ns = 1e-9;
  CHECK(j.cycles == 7);
  CHECK(j.pairs == 6);
  CHECK(j.period_rms->value() ==
        testing::approx(std::sqrt(206.0 / 21.0) * ns).epsilon(1e-13));
  CHECK(j.period_peak_to_peak->value() ==
        testing::approx(7 * ns).epsilon(1e-13));
  CHECK(j.cycle_to_cycle_rms->value() ==
        testing::approx(std::sqrt(169.0 / 6.0) * ns).epsilon(1e-13));
  CHECK(j.cycle_to_cycle_peak->value() ==
        testing::approx(7 * ns).epsilon(1e-13));
  CHECK(j.tie_rms->value() ==
        testing::approx(std::sqrt(409.0 / 21.0 / 8.0) * ns).epsilon(1e-13));
  CHECK(j.tie_peak_to_peak->value() ==
        testing::approx(104.0 / 21.0 * ns).epsilon(1e-13));
  CHECK_FALSE(j.resolution_limited);
}

TEST_CASE("describe_jitter: the range of normal periods is that of the table") {
  // Periods that are normal, each by itself, of 1000 ticks rms, so that whole
  // ticks (1/sqrt(6) rms of a period) are below 1e-6 of the variance. The range
  // of n is d2 sigma on average, with a standard deviation of d3 sigma: factors
  // of control charts, of many books, here by quadrature over the distribution
  // of the range.
  struct Factors {
    std::size_t n;
    double d2, d3;
    int trials;
  };
  constexpr double kSigma = 1000.0;
  constexpr std::uint64_t kSeed = 31;
  for (const Factors& f : {Factors{10, 3.077505, 0.7971, 4000},
                           Factors{25, 3.930629, 0.7085, 2000},
                           Factors{100, 5.015187, 0.6052, 1000},
                           Factors{1000, 6.482872, 0.4968, 200}}) {
    INFO("seed ", kSeed, ", n ", f.n);
    std::mt19937_64 random(kSeed + f.n);
    std::normal_distribution<double> period(1e6, kSigma);
    double sum = 0.0;
    for (int trial = 0; trial < f.trials; ++trial) {
      std::vector<std::int64_t> ticks = {0};
      while (ticks.size() <= f.n) {
        ticks.push_back(ticks.back() + std::llround(period(random)));
      }
      sum += jitter_of(ticks, 1.0).period_peak_to_peak->value() * 1e9;
    }
    // Four standard deviations of the mean of the trials: all four hold but
    // once in 4000 seeds.
    CHECK(std::abs(sum / f.trials - f.d2 * kSigma) <
          4.0 * f.d3 * kSigma / std::sqrt(f.trials));
  }
}

TEST_CASE("jitter_about: normal residuals, sampling taken off") {
  // 30 degrees of freedom with a mean square of 1 1/12 in windows of 1: sigma
  // is 1, its standard uncertainty s²/(sigma sqrt(60)), and 18.493 is the 5 %
  // point of chi-square at 30 (NIST/SEMATECH e-Handbook 1.3.6.7.4, from memory
  // of the table; the quantile is Boost's), so the limit squared is 32.5
  // / 18.4927 - 1/12.
  LineFit line;
  line.dof = 30;
  line.residual_squares = 30.0 * (1.0 + 1.0 / 12.0);
  const EdgeJitter j = jitter_about(line, 1.0);
  REQUIRE(j.rms);
  CHECK(*j.rms == testing::approx(1.0).epsilon(1e-14));
  CHECK(j.standard_uncertainty ==
        testing::approx(13.0 / 12.0 / std::sqrt(60.0)).epsilon(1e-14));
  CHECK(*j.upper_limit ==
        testing::approx(std::sqrt(32.5 / 18.4927 - 1.0 / 12.0)).epsilon(1e-5));
  // Below 0.6 windows rms the scatter alone says no more than a limit.
  line.residual_squares = 30.0 * 0.35;
  CHECK_FALSE(jitter_about(line, 1.0).rms);
  CHECK(jitter_about(line, 1.0).upper_limit);
}

TEST_CASE("take_off_input: variances subtract, and little left is not told") {
  // 5² - 3² = 4²; the variance's uncertainty 2 * 5 * 0.2 is 2 * 4 * 0.25.
  Jitter j;
  j.edge_rms = Seconds(5e-9);
  j.edge_rms_uncertainty = Seconds(0.2e-9);
  j.upper_limit = Seconds(5.2e-9);
  j.parts = {{"seen", Seconds(5e-9)}};
  Jitter hidden = j;
  take_off_input(Seconds(3e-9), j);
  REQUIRE(j.edge_rms);
  CHECK(j.edge_rms->value() == testing::approx(4e-9));
  CHECK(j.edge_rms_uncertainty->value() == testing::approx(0.25e-9));
  CHECK(j.upper_limit->value() == 5.2e-9);
  REQUIRE(j.parts.size() == 2);
  CHECK(j.parts[1].rms.value() == 3e-9);
  // sqrt(25 - 24.1) = 0.95 of 5 with U of 0.2 * 5 / 0.95 = 1.05: not told.
  take_off_input(Seconds(std::sqrt(24.1) * 1e-9), hidden);
  CHECK_FALSE(hidden.edge_rms);
  CHECK(hidden.upper_limit->value() == 5.2e-9);
}

TEST_CASE("describe_jitter: what sampling hides is bounded, not zero") {
  // Every period 40 ticks: nothing seen. Each edge lies within half a window,
  // so that the limit is 0 + 1/2 tick where nothing else is known.
  const Jitter j = jitter_of({0, 40, 80, 120, 160}, 1.0, EdgeJitter{});
  CHECK(j.period_rms->value() == 0.0);
  CHECK(j.resolution_limited);
  CHECK(j.upper_limit->value() == testing::approx(0.5e-9));
  // By the scatter alone it is no less than what sampling has.
  const Jitter least = jitter_of({0, 40, 80, 120, 160}, 1.0);
  CHECK(least.upper_limit->value() == testing::approx(1e-9 / std::sqrt(12.0)));
}

TEST_CASE("describe_jitter: what cannot be formed is absent") {
  const Jitter j = jitter_of({0, 40}, 1.0);
  CHECK(j.cycles == 1);
  CHECK_FALSE(j.period_rms.has_value());
  CHECK_FALSE(j.cycle_to_cycle_rms.has_value());
  CHECK_FALSE(j.tie_rms.has_value());
}
