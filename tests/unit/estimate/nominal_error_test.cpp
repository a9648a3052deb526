// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/nominal_error.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/estimate/edge_line.h"
#include "support/approx.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

NominalError error_of(const EdgeView& view, double period,
                      const ParallelFor& parallel_for = serial_for) {
  const EdgeSums sums = sum_edges(view, parallel_for).value();
  const auto line = fit_line(sums.rise, sums.fall);
  REQUIRE(line);
  const ViewExtremes extremes =
      find_extremes(view, sums.frame, line->slope, parallel_for);
  return find_nominal_error(view, sums, extremes,
                            period - static_cast<double>(sums.frame.period),
                            parallel_for);
}

/// By the definition, edge by edge.
NominalError by_definition(const std::vector<std::int64_t>& rises,
                           double period) {
  std::vector<long double> x;
  for (std::size_t i = 0; i < rises.size(); ++i) {
    x.push_back(static_cast<long double>(rises[i]) -
                static_cast<long double>(period) * static_cast<long double>(i));
  }
  long double mean = 0.0L, squares = 0.0L;
  for (const long double v : x) mean += v / static_cast<long double>(x.size());
  for (const long double v : x) squares += (v - mean) * (v - mean);
  const auto [low, high] = std::minmax_element(x.begin(), x.end());
  return {static_cast<double>(
              std::sqrt(squares / static_cast<long double>(x.size()))),
          static_cast<double>(*high - *low)};
}

}  // namespace

TEST_CASE("find_nominal_error: a worked example of eight edges") {
  // Edges 0 101 199 302 398 500 603 699 against 100: errors 0 1 -1 2 -2 0 3 -1,
  // range 5; sum 2 and sum of squares 20: 20 - 4/8 about the mean.
  const std::vector<std::int64_t> rises = {0,   101, 199, 302,
                                           398, 500, 603, 699};
  const std::vector<std::int64_t> falls = {50,  151, 249, 352,
                                           448, 550, 653, 749};
  const TestStretch s = stretch_from_edges(rises, falls, 3);
  const EdgeView view(s.stretch);
  const NominalError e = error_of(view, 100.0);
  CHECK(e.peak_to_peak == testing::approx(5.0).epsilon(1e-14));
  CHECK(e.rms == testing::approx(std::sqrt(19.5 / 8.0)).epsilon(1e-13));
}

TEST_CASE("nominal_slope: ticks of the capture's own time") {
  // 12 MHz in ticks of 1/500 MHz: 41 2/3. By a timebase 100 ppm fast a period
  // is seen as that many ticks more, 41 2/3 * 1e-4.
  EdgeFrame frame;
  frame.period = 41;
  const Rational tick = Rational::make(1, 500'000'000).value();
  const Rational f(12'000'000);
  CHECK(nominal_slope({f, {}}, tick, frame) == 2.0 / 3.0);
  CHECK(nominal_slope({f, Ppm(100.0)}, tick, frame) ==
        testing::approx(2.0 / 3.0 + 125.0 / 3.0 * 1e-4).epsilon(1e-14));
}

TEST_CASE("find_nominal_error: as by definition, any period, blocks, threads") {
  constexpr std::uint64_t kSeed = 21;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges e = sample_edges(40.382, 0.47, 0.4, 20000, random);
  // From the fitted one to a wrong clock; also 40, where blocks turn steeply,
  // and offsets so small that many blocks may hold the extreme.
  for (const double period :
       {40.382, 40.382 * (1.0 + 1e-10), 40.382 * (1.0 - 3e-8),
        40.382 * (1.0 + 2e-6), 40.382 * (1.0 - 1e-4), 40.0, 60.0}) {
    CAPTURE(period);
    for (const std::size_t block : {2048u, 100u, 7u}) {
      const TestStretch s = stretch_from_edges(e.rises, e.falls, block);
      const EdgeView view(s.stretch);
      const NominalError expected = by_definition(e.rises, period);
      const NominalError one = error_of(view, period);
      const NominalError two = error_of(view, period, two_threads);
      CHECK(one.rms == two.rms);
      CHECK(one.peak_to_peak == two.peak_to_peak);
      // Roundings: places of up to 20000 * 40 ticks in doubles of 1e-16, and
      // periods of 1e-16 * 60 over 20000 cycles.
      CHECK(std::abs(one.peak_to_peak - expected.peak_to_peak) < 1e-8);
      CHECK(std::abs(one.rms - expected.rms) < 1e-8);
    }
  }
}

TEST_CASE("find_nominal_error: edges all in place leave no block out") {
  // Every period 40: all blocks share one extreme.
  std::vector<std::int64_t> rises, falls;
  for (std::int64_t i = 0; i < 1000; ++i) {
    rises.push_back(40 * i);
    falls.push_back(40 * i + 20);
  }
  const TestStretch s = stretch_from_edges(rises, falls, 10);
  const EdgeView view(s.stretch);
  CHECK(error_of(view, 40.0).peak_to_peak == 0.0);
  CHECK(error_of(view, 40.0).rms == 0.0);
  // 999 periods of 1/8 too much.
  CHECK(error_of(view, 40.125).peak_to_peak == 999.0 / 8.0);
}

TEST_CASE("estimate_clock: the error against a nominal clock, where known") {
  std::vector<std::int64_t> rises, falls;
  for (std::int64_t i = 0; i < 1000; ++i) {
    rises.push_back(40 * i);
    falls.push_back(40 * i + 20);
  }
  const TestStretch s = stretch_from_edges(rises, falls, 100);
  const EdgeView view(s.stretch);
  TickScale scale;
  scale.tick_s = Rational::make(1, 1'000'000'000).value();
  CHECK_FALSE(estimate_clock(view, scale, serial_for)
                  ->jitter.tie_nominal_rms.has_value());
  // 25 MHz expected and a timebase 1000 ppm fast: 40.04 ticks a period, so that
  // the last of 1000 edges is 999 * 0.04 early.
  const NominalClock nominal{Rational(25'000'000), Ppm(1000.0)};
  const Jitter j = estimate_clock(view, scale, serial_for, nominal)->jitter;
  REQUIRE(j.tie_nominal_peak_to_peak);
  CHECK(j.tie_nominal_peak_to_peak->value() ==
        testing::approx(39.96e-9).epsilon(1e-9));
  // Evenly spread places: the range times sqrt((n + 1)/(12 (n - 1))).
  CHECK(j.tie_nominal_rms->value() ==
        testing::approx(39.96e-9 * std::sqrt(1001.0 / 999.0 / 12.0))
            .epsilon(1e-9));
}
