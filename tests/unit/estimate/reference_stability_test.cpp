// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/reference_stability.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include "support/approx.h"
#include "support/common_timebase.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"
#include "unit/estimate/phase_series.h"

using namespace clockassay;

namespace {

using TimeError = std::function<double(double)>;

double none(double) {
  return 0.0;
}

/// A clock and a reference of those periods [ticks] through one time that is
/// off by `error`, each edge moved by white jitter [ticks], sampled to ticks.
struct Seen {
  TestStretch clock;
  TestStretch reference;
};
Seen see(const SeenClock& clock, const SeenClock& reference, double length,
         const TimeError& error, std::mt19937_64& random) {
  const auto stretch = [&](const SeenClock& c) {
    const SampledEdges e = see_clock(c, length, error, random);
    return stretch_from_edges(e.rises, e.falls, 2048);
  };
  return {stretch(clock), stretch(reference)};
}

struct Described {
  Stability against;  ///< the reference
  Stability alone;    ///< in the capture's own time
};

Described describe(const Seen& seen, const StabilityOptions& options = {},
                   const ParallelFor& parallel_for = serial_for) {
  const TickScale ticks{Rational::make(1, 1'000'000'000).value(), Rational(1),
                        Rational(1)};
  const CommonViews views{{EdgeView(seen.clock.stretch), ticks, Ticks(0)},
                          {EdgeView(seen.reference.stretch), ticks, Ticks(0)}};
  const EdgeSums sums = sum_edges(views.clock.view, parallel_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  const PhaseScale scale{static_cast<double>(sums.frame.period) + line.slope,
                         1e-9, 1.0};
  const TimeIntervalErrors errors(views.clock.view, sums, line.slope,
                                  line.rise_intercept);
  return {describe_stability_against(views, sums, line, scale, options,
                                     parallel_for),
          describe_stability(errors, scale, options, parallel_for)};
}

/// Of a deviation, five standard deviations.
double allowed(const StabilityPoint& p) {
  return 0.5 * spread(*p.edf);
}

bool is_same(const StabilityPoint& a, const StabilityPoint& b) {
  return a.tau == b.tau && a.adev == b.adev && a.adev_low == b.adev_low &&
         a.mdev == b.mdev && a.hdev == b.hdev && a.mtie == b.mtie &&
         a.n_period_rms == b.n_period_rms && a.noise == b.noise &&
         a.floor_adev == b.floor_adev &&
         a.against_reference == b.against_reference;
}

}  // namespace

TEST_CASE("describe_stability_against: the instrument's clock is taken off") {
  // The time drifts by 400 ticks in 4e6, 200 ppm from end to end, and the clock
  // jitters by 3 ticks; of the reference, 2.5 periods of the clock apart and
  // without jitter, sampling remains: sigma^2 = 9 + 1/12 + (2/3)/12.
  constexpr std::uint64_t kSeed = 501;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  constexpr double kLength = 4e6;
  const TimeError drift =
      time_error(TimebaseCourse::kLinear, kLength, 400.0, random);
  const Described d = describe(
      see({80.37, 0.5, 3.0}, {200.91, 0.5, 0.0}, kLength, drift, random));
  REQUIRE(d.against.reference);
  // Two knots of 200.91 ticks.
  CHECK(d.against.reference->from.value() ==
        testing::approx(401.82e-9).epsilon(1e-3));
  const double sigma = std::sqrt(9.0 + 5.0 / 36.0);
  REQUIRE(d.against.points.size() == 14);  // 1 ... 8192 of 49769/4
  for (std::size_t i = 0; i < d.against.points.size(); ++i) {
    const StabilityPoint& p = d.against.points[i];
    const double m = std::ldexp(1.0, static_cast<int>(i));
    CAPTURE(m);
    CHECK(p.against_reference == (m >= 8.0));  // 5 cycles
    if (!p.against_reference) {
      CHECK(is_same(p, d.alone.points[i]));
      continue;
    }
    REQUIRE(p.edf);
    CHECK(*p.adev == testing::approx(std::sqrt(3.0) * sigma / (m * 80.37))
                         .epsilon(allowed(p)));
    CHECK(*p.mtie < Seconds(1e-9 * 12.0 * sigma));  // no normal one of 5e4
  }
  // In the capture's own time the drift of D = 2 400/4e6^2 a tick shows as
  // D tau / sqrt(2), and MTIE runs up to ticks by the hundred.
  const StabilityPoint& last = d.alone.points.back();
  const double tau = 8192 * 80.37;
  CHECK(*last.adev ==
        testing::approx(800.0 / (kLength * kLength) * tau / std::sqrt(2.0))
            .epsilon(0.1));
  // 3.1 times what jitter makes there.
  CHECK(*last.adev > 2.5 * *d.against.points.back().adev);
  // tie_rms: white jitter of 49 769 edges, 1/sqrt(2 n).
  CHECK(d.against.reference->tie_rms->value() ==
        testing::approx(sigma * 1e-9).epsilon(5.0 / std::sqrt(2 * 49'769.0)));
}

TEST_CASE("describe_stability_against: sampling of both makes the floor") {
  // Knots of one edge, and of eight where the reference is the faster one.
  // Jitter of 0.4 samples makes sampling as good as white: from edge to edge it
  // leaves exp(-4 pi^2 0.16) = 0.2 % of the variance of its first harmonic. It
  // adds to each 1/12, as if the window were sqrt(1 + 12 0.16) as wide.
  constexpr std::uint64_t kSeed = 502;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  struct Case {
    double clock, reference, window;
  };
  for (const Case& c :
       {Case{40.123456, 1001.6180339, std::sqrt(5.0 / 3.0)},
        Case{400.2718281, 50.06180339, std::sqrt(1.0 + 2.0 / 3.0 / 8.0)}}) {
    CAPTURE(c.clock);
    const Described d = describe(
        see({c.clock, 0.5, 0.4}, {c.reference, 0.5, 0.4}, 4e6, none, random));
    REQUIRE(d.against.reference);
    CHECK(d.against.reference->window.value() ==
          testing::approx(c.window * 1e-9).epsilon(1e-9));
    int checked = 0;
    for (const StabilityPoint& p : d.against.points) {
      CAPTURE(p.tau.value());
      if (!p.against_reference) continue;
      CHECK(*p.floor_adev ==
            testing::approx(c.window * 1e-9 / (2.0 * p.tau.value()))
                .epsilon(1e-9));
      CHECK(p.sampling_limited);
      if (!p.edf) continue;
      CHECK(*p.adev ==
            testing::approx(std::sqrt(1.0 + 12.0 * 0.16) * *p.floor_adev)
                .epsilon(allowed(p)));
      ++checked;
    }
    CHECK(checked >= 5);
  }
}

TEST_CASE("describe_stability_against: intervals where knots make the noise") {
  // Of jitter of 20 ticks of a reference that is 20 times as slow, each of 20
  // phases has its share of the same two knots: AVAR = 3 (2/3) 20^2 / tau^2,
  // and the clock and sampling next to nothing, (1 + 2/3)/12. How often the
  // interval has the true value is binomial; limits of one in ten thousand.
  constexpr std::uint64_t kSeed = 503;
  constexpr int kTrials = 300;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const boost::math::binomial covered(kTrials, 0.95);
  const int fewest = static_cast<int>(quantile(covered, 1e-4));
  const int most = static_cast<int>(quantile(complement(covered, 1e-4)));
  CHECK(most < kTrials);
  std::vector<int> hits;
  std::vector<double> taus;
  for (int t = 0; t < kTrials; ++t) {
    const Described d = describe(see({50.1234, 0.5, 0.0}, {1003.77, 0.5, 20.0},
                                     1003.77 * 400, none, random));
    hits.resize(d.against.points.size());
    taus.resize(hits.size());
    for (std::size_t i = 0; i < hits.size(); ++i) {
      const StabilityPoint& p = d.against.points[i];
      if (!p.against_reference || !p.adev_low) continue;
      taus[i] = p.tau.value() * 1e9;
      const double truth = std::sqrt(2.0 * 400.0 + 3.0 * 5.0 / 36.0) / taus[i];
      hits[i] += *p.adev_low <= truth && truth <= *p.adev_high;
    }
  }
  int looked_at = 0;
  for (std::size_t i = 0; i < hits.size(); ++i) {
    if (taus[i] == 0.0) continue;
    ++looked_at;
    CAPTURE(taus[i]);
    CAPTURE(hits[i]);
    CHECK(hits[i] >= fewest);
    CHECK(hits[i] <= most);
  }
  CHECK(looked_at == 5);  // 64 ... 1024 of 8011/4
}

TEST_CASE("describe_stability_against: between two edges nothing is known") {
  // The phase of the time walks: white noise of its rate, q ticks^2 a tick,
  // AVAR q/tau. Interpolated between knots L apart a bridge is left, of mean
  // square q L/6 and independent from tau to tau: 3 q L/6 / tau^2, L/(2 tau) of
  // it.
  constexpr std::uint64_t kSeed = 504;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  constexpr double kLength = 4e6, kSize = 40'000.0, kKnot = 4000.123;
  const double q = kSize * kSize / kLength;
  const TimeError walk =
      time_error(TimebaseCourse::kWalk, kLength, kSize, random);
  const Described d = describe(
      see({1500.37, 0.5, 0.0}, {kKnot, 0.5, 0.0}, kLength, walk, random));
  int checked = 0;
  for (std::size_t i = 0; i < d.against.points.size(); ++i) {
    const StabilityPoint& p = d.against.points[i];
    if (!p.against_reference || !p.edf) continue;
    const double tau = p.tau.value() * 1e9;
    CAPTURE(tau);
    CHECK(*p.adev ==
          testing::approx(std::sqrt(0.5 * q * kKnot) / tau)
              .epsilon(allowed(p) + 0.05));  // the walk has steps of 200 ticks
    CHECK(*d.alone.points[i].adev > *p.adev);
    ++checked;
  }
  CHECK(checked >= 4);
}

TEST_CASE("describe_stability_against: a reference too slow for any tau") {
  constexpr std::uint64_t kSeed = 505;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const Described d = describe(
      see({40.1, 0.5, 2.0}, {10'000.3, 0.5, 0.0}, 70'000.0, none, random));
  REQUIRE(d.against.reference);
  CHECK(d.against.reference->from > d.against.longest);
  CHECK_FALSE(d.against.reference->tie_rms);
  REQUIRE(d.against.points.size() == d.alone.points.size());
  for (std::size_t i = 0; i < d.alone.points.size(); ++i) {
    CHECK(is_same(d.against.points[i], d.alone.points[i]));
  }
}

TEST_CASE("describe_stability_against: chosen tau, and threads") {
  constexpr std::uint64_t kSeed = 506;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const TimeError walk = time_error(TimebaseCourse::kWalk, 4e6, 100.0, random);
  const Seen seen =
      see({41.07, 0.5, 1.0}, {73.13, 0.5, 0.5}, 4e6, walk, random);
  const StabilityOptions options{{Seconds(50e-9), Seconds(3e-6), Seconds(1.0)}};
  const Stability one = describe(seen, options).against;
  const Stability two = describe(seen, options, two_threads).against;
  REQUIRE(one.points.size() == 2);
  CHECK_FALSE(one.points[0].against_reference);
  CHECK(one.points[1].against_reference);
  CHECK(one.left_out == std::vector<Seconds>{Seconds(1.0)});
  CHECK(one.octaves.back().against_reference);
  CHECK(one.reference->tie_rms == two.reference->tie_rms);
  REQUIRE(one.octaves.size() == two.octaves.size());
  for (std::size_t i = 0; i < one.octaves.size(); ++i) {
    CHECK(is_same(one.octaves[i], two.octaves[i]));
  }
  CHECK(is_same(one.points[1], two.points[1]));
}
