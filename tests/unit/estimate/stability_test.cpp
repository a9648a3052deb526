// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/stability.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/phase_deviation.h"
#include "estimate/deviation_confidence.h"
#include "estimate/phase_stability.h"
#include "support/approx.h"
#include "support/power_law_noise.h"
#include "support/test_channel.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"
#include "unit/estimate/phase_series.h"

using namespace clockassay;

TEST_CASE("describe_stability: the interval contains the true value in 95 %") {
  // 300 series of 1000 phases, white of the phase and of the frequency: the
  // true Allan variances as above. How often is binomial; limits of one in ten
  // thousand on either side.
  constexpr std::uint64_t kSeed = 435;
  constexpr int kTrials = 300;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const boost::math::binomial covered(kTrials, kHalfWidthCoverage);
  const int fewest = static_cast<int>(quantile(covered, 1e-4));
  const int most = static_cast<int>(quantile(complement(covered, 1e-4)));
  CHECK(most < kTrials);
  for (const bool walks : {false, true}) {
    std::vector<int> hits;
    for (int s = 0; s < kTrials; ++s) {
      auto x = white(1000, random);
      if (walks) accumulate(x);
      const Stability stability = describe(x);
      hits.resize(stability.points.size());
      for (std::size_t i = 0; i < hits.size(); ++i) {
        const StabilityPoint& p = stability.points[i];
        const double n = p.tau.value();
        const double truth = walks ? std::sqrt(1.0 / n) : std::sqrt(3.0) / n;
        hits[i] += *p.adev_low <= truth && truth <= *p.adev_high;
      }
    }
    for (std::size_t i = 0; i < hits.size(); ++i) {
      CAPTURE(walks);
      CAPTURE(i);
      CAPTURE(hits[i]);
      CHECK(hits[i] >= fewest);
      CHECK(hits[i] <= most);
    }
  }
}

TEST_CASE("describe_stability: flicker of the phase is not taken for white") {
  // 300 series of 4000 phases; the true Allan variances are the means of 1000
  // others, which are off by less than a twelfth. At long tau few values are
  // left, and often look white.
  constexpr std::uint64_t kSeed = 436;
  constexpr int kTrials = 300, kOthers = 1000;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::vector<double> variance;
  for (int s = 0; s < kOthers; ++s) {
    const Stability other = describe(discrete_power_law_noise(1, 4000, random));
    variance.resize(other.points.size());
    for (std::size_t i = 0; i < variance.size(); ++i) {
      variance[i] += *other.points[i].adev * *other.points[i].adev / kOthers;
    }
  }
  std::vector<int> hits(variance.size());
  for (int s = 0; s < kTrials; ++s) {
    const Stability found = describe(discrete_power_law_noise(1, 4000, random));
    for (std::size_t i = 0; i < hits.size(); ++i) {
      const StabilityPoint& p = found.points[i];
      const double truth = std::sqrt(variance[i]);
      hits[i] += *p.adev_low <= truth && truth <= *p.adev_high;
    }
  }
  const boost::math::binomial covered(kTrials, kHalfWidthCoverage);
  for (std::size_t i = 0; i < hits.size(); ++i) {
    CAPTURE(i);
    CHECK(hits[i] >= static_cast<int>(quantile(covered, 1e-4)));
  }
}

TEST_CASE("describe_stability: every point is what the plain functions say") {
  constexpr std::uint64_t kSeed = 436;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  auto x = white(777, random);
  x[300] = std::numeric_limits<double>::quiet_NaN();
  const PhaseScale scale{80.0, 1e-9, 2.0};
  const Stability s = describe(x, scale);
  REQUIRE(s.points.size() == 8);  // 1 ... 128 of at most 194
  CHECK(s.longest.value() == testing::approx(194 * 80e-9).epsilon(1e-12));
  for (std::size_t i = 0; i < s.points.size(); ++i) {
    const StabilityPoint& p = s.points[i];
    const std::size_t m = std::size_t{1} << i;
    const double tau = static_cast<double>(m) * 80e-9;
    CAPTURE(m);
    const auto same = [](double a, double b) {
      return a == testing::approx(b).epsilon(1e-12);
    };
    CHECK(same(p.tau.value(), tau));
    CHECK(same(*p.adev, allan_deviation(x, m, 80.0)->value));
    CHECK(p.n == allan_deviation(x, m, 80.0)->n);
    CHECK(same(*p.mdev, modified_allan_deviation(x, m, 80.0)->value));
    CHECK(same(p.tdev->value(), time_deviation(x, m)->value * 1e-9));
    CHECK(same(*p.hdev, hadamard_deviation(x, m, 80.0)->value));
    CHECK(same(p.mtie->value(), *max_time_interval_error(x, m) * 1e-9));
    CHECK(same(*p.floor_adev, 2e-9 / (2.0 * tau)));
    CHECK(p.decimation == 1);
  }
}

TEST_CASE("describe_stability: noise is told at each tau, else beside it") {
  constexpr std::uint64_t kSeed = 437;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const Stability s = describe(white(1000, random));
  REQUIRE(s.points.size() == 8);
  for (const StabilityPoint& p : s.points) {
    CAPTURE(p.tau.value());
    // 1000 / 16 phases are enough, 1000 / 32 are not.
    CHECK(p.noise_tau->value() == std::min(p.tau.value(), 16.0));
    CHECK(p.noise.has_value());
    CHECK(p.edf.has_value());
  }
  CHECK(s.points.front().noise == NoiseKind::kWhitePhase);
  // Of 49 phases nothing can be told.
  const Stability few = describe(white(49, random));
  REQUIRE(few.points.size() == 4);
  CHECK(few.points.front().adev);
  CHECK_FALSE(few.points.front().noise);
  CHECK_FALSE(few.points.front().adev_low);
}

TEST_CASE("describe_stability: chosen tau are rounded to cycles, in order") {
  constexpr std::uint64_t kSeed = 438;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto x = white(1000, random);
  const PhaseScale scale{100.0, 1e-9, {}};
  StabilityOptions options;
  // 5 and 25 cycles, 5 again; too long and too short.
  options.taus = {Seconds(2.54e-6), Seconds(520e-9), Seconds(490e-9),
                  Seconds(30e-6), Seconds(49e-9)};
  const Stability s = describe(x, scale, options);
  REQUIRE(s.points.size() == 2);
  CHECK(s.points[0].tau.value() == testing::approx(500e-9).epsilon(1e-12));
  CHECK(s.points[1].tau.value() == testing::approx(2.5e-6).epsilon(1e-12));
  CHECK(s.left_out == std::vector<Seconds>{Seconds(30e-6), Seconds(49e-9)});
  CHECK_FALSE(s.points[0].floor_adev);
  CHECK_FALSE(s.points[0].sampling_limited);
}

TEST_CASE("describe_stability: the octaves are there whatever was chosen") {
  // With whole phases, and with cells of which a tau is a whole number.
  constexpr std::uint64_t kSeed = 442;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto x = white(5000, random);
  for (const SweepLimits& limits : {SweepLimits{}, SweepLimits{1024, 16, 64}}) {
    const auto of = [&](std::vector<Seconds> taus) {
      return describe_phases(source_of(x), {}, {std::move(taus)}, limits,
                             serial_for);
    };
    const Stability plain = of({});
    const Stability chosen = of({Seconds(3.0), Seconds(64.0), Seconds(777.0)});
    REQUIRE(plain.points.size() == 11);  // 1 ... 1024 of 4999/4
    REQUIRE(plain.octaves.size() == 11);
    REQUIRE(chosen.octaves.size() == 11);
    REQUIRE(chosen.points.size() == 3);
    CHECK(chosen.points[0].tau.value() == 3.0);
    CHECK(chosen.points[2].tau.value() ==
          (limits.most_held == 1024 ? 776.0 : 777.0));
    for (std::size_t i = 0; i < 11; ++i) {
      CAPTURE(i);
      CHECK(plain.octaves[i].adev == plain.points[i].adev);
      // The parts that are summed may be others: roundings.
      CHECK(*chosen.octaves[i].adev ==
            testing::approx(*plain.points[i].adev).epsilon(1e-12));
      CHECK(chosen.octaves[i].noise == plain.points[i].noise);
      CHECK(chosen.octaves[i].decimation == plain.points[i].decimation);
    }
    CHECK(chosen.points[1].adev == chosen.octaves[6].adev);
    // Of the octave below it.
    CHECK(chosen.points[2].noise_tau->value() == 64.0);
    // None that can be formed.
    const Stability none = of({Seconds(1e6)});
    CHECK(none.points.empty());
    CHECK(none.octaves.size() == 11);
  }
}

TEST_CASE("describe_stability: sampling alone makes the floor") {
  // Phases even over a window of one tick: sigma^2 = 1/12 and ADEV = 1/(2 tau).
  constexpr std::uint64_t kSeed = 439;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> even;
  std::vector<double> x(20000);
  for (double& v : x) v = even(random);
  const PhaseScale scale{40.0, 1e-9, 1.0};
  for (const StabilityPoint& p : describe(x, scale).points) {
    CAPTURE(p.tau.value());
    CHECK(p.sampling_limited);
    CHECK(*p.adev ==
          testing::approx(*p.floor_adev).epsilon(0.5 * spread(*p.edf)));
  }
  // Jitter of a window: 3.6 times as much.
  auto jittered = white(20000, random);
  for (const StabilityPoint& p : describe(jittered, scale).points) {
    CAPTURE(p.tau.value());
    CHECK_FALSE(p.sampling_limited);
  }
}

TEST_CASE("describe_stability: without any deviation there is no interval") {
  const PhaseScale scale{40.0, 1e-9, 1.0};
  const Stability s = describe(std::vector<double>(1000, 0.25), scale);
  REQUIRE(s.points.size() == 8);
  for (const StabilityPoint& p : s.points) {
    CHECK(*p.adev == 0.0);
    CHECK(*p.mdev == 0.0);
    CHECK(p.tdev->value() == 0.0);
    CHECK(*p.hdev == 0.0);
    CHECK(p.mtie->value() == 0.0);
    CHECK(p.sampling_limited);
    CHECK_FALSE(p.adev_low);
    CHECK_FALSE(p.adev_high);
    CHECK_FALSE(p.noise);
    CHECK_FALSE(p.edf);
  }
}

TEST_CASE("describe_stability: too few cycles give no points") {
  for (const std::size_t n : {0u, 1u, 2u, 3u, 4u}) {
    CAPTURE(n);
    CHECK(describe(std::vector<double>(n, 1.0)).points.empty());
  }
  const Stability five = describe({0.0, 1.0, 0.0, 2.0, 0.0});
  REQUIRE(five.points.size() == 1);
  CHECK(five.points.front().n == 3);
}

TEST_CASE("describe_stability: terms that are all lost are absent") {
  std::vector<double> x(9, std::numeric_limits<double>::quiet_NaN());
  x.front() = x.back() = 1.0;
  for (const StabilityPoint& p : describe(x).points) {
    CHECK_FALSE(p.adev);
    CHECK_FALSE(p.mdev);
    CHECK_FALSE(p.hdev);
    CHECK(p.n == 0);
    CHECK_FALSE(p.sampling_limited);
  }
}

TEST_CASE("describe_stability: decimated agrees with the whole") {
  // With terms at every D-th phase alone, and with all: the same statistic of
  // the same phases, so they are apart by less than the interval of either,
  // which contains both.
  constexpr std::uint64_t kSeed = 440;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const bool walks : {false, true}) {
    auto x = white(40000, random);
    if (walks) accumulate(x);
    const Stability whole = describe(x);
    const Stability part =
        describe_phases(source_of(x), {}, {}, {2048, 16, 64}, serial_for);
    REQUIRE(whole.points.size() == part.points.size());
    for (std::size_t i = 0; i < whole.points.size(); ++i) {
      const StabilityPoint& w = whole.points[i];
      const StabilityPoint& p = part.points[i];
      CAPTURE(walks);
      CAPTURE(w.tau.value());
      CHECK(w.decimation == 1);
      CHECK(p.decimation ==
            std::clamp<std::int64_t>(
                static_cast<std::int64_t>(w.tau.value()) / 16, 1, 32));
      CHECK(*p.adev >= *p.adev_low);
      CHECK(*w.adev >= *p.adev_low);
      CHECK(*w.adev <= *p.adev_high);
      CHECK(*p.edf <= *w.edf * (1.0 + 1e-12));
      if (p.decimation > 1) continue;
      CHECK(*p.adev == testing::approx(*w.adev).epsilon(1e-12));
      CHECK(*p.mdev == testing::approx(*w.mdev).epsilon(1e-9));
      CHECK(*p.hdev == testing::approx(*w.hdev).epsilon(1e-12));
      CHECK(*p.mtie == *w.mtie);
    }
  }
}

TEST_CASE(
    "describe_stability: edges of a sampled clock, lost cycles, threads") {
  // 80.3 ticks a period and normal jitter of 3 ticks: ADEV = sqrt(3 (9 + 1/12))
  // over tau. Every 1000th cycle is lost.
  constexpr std::uint64_t kSeed = 441;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges edges = sample_edges(80.3, 0.5, 3.0, 20000, random);
  std::vector<std::int64_t> changes;
  for (std::size_t k = 0; k < edges.rises.size(); ++k) {
    if (k % 1000 == 500 || k >= edges.falls.size()) continue;
    changes.push_back(edges.rises[k]);
    changes.push_back(edges.falls[k]);
  }
  const TestChannel channel =
      channel_from_changes(changes, changes.front() - 10, changes.back() + 10);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  REQUIRE(store.stretches.size() == 1);
  const EdgeView view(store.stretches.front());
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  const TimeIntervalErrors errors(view, sums, line.slope, line.rise_intercept);
  const PhaseScale scale{80.3, 1e-9, 1.0};
  const Stability s = describe_stability(errors, scale, {}, serial_for);
  const Stability threads = describe_stability(errors, scale, {}, two_threads);
  REQUIRE(s.points.size() == threads.points.size());
  for (std::size_t i = 0; i < s.points.size(); ++i) {
    const StabilityPoint& p = s.points[i];
    const auto m = std::int64_t{1} << i;
    CAPTURE(m);
    const double truth =
        std::sqrt(3.0 * (9.0 + 1.0 / 12.0)) / (static_cast<double>(m) * 80.3);
    if (p.edf) {
      CHECK(*p.adev == testing::approx(truth).epsilon(0.5 * spread(*p.edf)));
    }
    // Each of 20 lost cycles takes three terms at most.
    CHECK(p.n <= 20000 - 2 * m);
    CHECK(p.n >= 20000 - 2 * m - 3 * 20);
    CHECK_FALSE(p.sampling_limited);
    CHECK(p.adev == threads.points[i].adev);
    CHECK(p.mdev == threads.points[i].mdev);
    CHECK(p.hdev == threads.points[i].hdev);
    CHECK(p.mtie == threads.points[i].mtie);
    CHECK(p.adev_low == threads.points[i].adev_low);
    CHECK(p.noise == threads.points[i].noise);
  }
  // A window of more than 1000 cycles always has a lost one.
  CHECK(s.points.front().mdev);
  CHECK_FALSE(s.points[9].mdev);
}
