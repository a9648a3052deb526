// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/set_points.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "clockassay/drift/range_verdict.h"
#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

constexpr int kReadings = 3;

double fork_curve(double t) {
  return -0.035 * (t - 25) * (t - 25);
}

// Seven set points, three readings of 0.05 ppm at each, the crystal 0.2 K off
// the thermometer, alike for those of one set point.
std::vector<DriftPoint> readings(std::mt19937_64& random, bool stated) {
  std::normal_distribution<double> normal;
  std::vector<DriftPoint> points;
  for (int s = 0; s < 7; ++s) {
    const double t = -20.0 + 15.0 * s;
    const double off = 0.2 * normal(random);
    for (int k = 0; k < kReadings; ++k) {
      DriftPoint p;
      p.temperature_c = t;
      p.error = Ppm(fork_curve(t + off) + 0.05 * normal(random));
      if (stated) p.u = Ppm(0.05);
      if (stated) p.u_temperature_c = 0.2;
      points.push_back(p);
    }
  }
  return points;
}

}  // namespace

TEST_CASE("set_points: within a kelvin, on one way, on one visit") {
  auto points = points_on(fork_curve, -20, 70, 4, Ppm(0.1));
  points[1].temperature_c = -19.2;
  points[2].temperature_c = -18.9;
  CHECK(set_points(points).of == std::vector<std::size_t>{0, 0, 1, 2});
  points[1].sweep = Sweep::kUp;
  CHECK(set_points(points).size.size() == 4);
  points[1].sweep = Sweep::kNotStated;
  // It came back later: another visit.
  for (DriftPoint& p : points) p.time_s = 0.0;
  points[1].time_s = 10.0;
  points[2].time_s = 5.0;
  CHECK(set_points(points).size.size() == 4);
  // A sixteenth of a span of 8 K is less.
  auto narrow = points_on(fork_curve, 20, 28, 3, Ppm(0.1));
  narrow[1].temperature_c = 20.6;
  CHECK(set_points(narrow).size.size() == 3);
}

TEST_CASE("fit_set_points: as their means, with a reading's own figures") {
  std::mt19937_64 random(3);
  for (const bool stated : {false, true}) {
    CAPTURE(stated);
    const auto points = readings(random, stated);
    const auto means = set_point_means(points);
    REQUIRE(means.size() == 7);
    const auto all = fit_set_points(points, CurveModel::kParabola, {},
                                    kPerfectInstrument, 0.95);
    const auto few =
        fit_curve(means, CurveModel::kParabola, {}, kPerfectInstrument, 0.95);
    REQUIRE(all);
    REQUIRE(few);
    CHECK(all->dof == 4);
    CHECK(all->residual.size() == points.size());
    for (const double t : {-20.0, 3.0, 70.0}) {
      CurvePlace place;
      place.temperature_c = t;
      const Stated a = curve_at(*all, place);
      const Stated b = curve_at(*few, place);
      CHECK(a.value == testing::approx(b.value).epsilon(1e-12));
      CHECK(a.expanded == testing::approx(b.expanded).epsilon(1e-9));
    }
    // Only their own u averages out.
    if (stated) {
      CHECK(means[0].u->value() ==
            testing::approx(0.05 / std::sqrt(3.0)).epsilon(1e-12));
      CHECK(means[0].u_temperature_c == 0.2);
    }
  }
}

TEST_CASE("judge_range: readings of one set point count as one") {
  constexpr int kTrials = 100;
  constexpr std::uint64_t kSeed = 11;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  // -70.875 ppm at both ends: a hundredth beyond it, and a hundredth within.
  const RangeLimits beyond{{-20.0, 70.0}, Ppm(-70.865), Ppm(100.0), {}};
  const RangeLimits within{{-20.0, 70.0}, Ppm(-70.885), Ppm(100.0), {}};
  for (const bool stated : {false, true}) {
    CAPTURE(stated);
    int passes = 0;
    int fails = 0;
    for (int i = 0; i < kTrials; ++i) {
      const DriftAssay assay = assay_of(readings(random, stated));
      passes += judge_range(assay, beyond).decision == Decision::kPass;
      fails += judge_range(assay, within).decision == Decision::kFail;
    }
    CAPTURE(passes);
    CAPTURE(fails);
    // One-sided 2.5 % at each of two ends at most: 5, and five standard
    // deviations of that count.
    CHECK(passes <= 5 + 11);
    CHECK(fails <= 5 + 11);
  }
  const DriftAssay assay = assay_of(readings(random, false));
  CHECK(std::any_of(assay.caveats.begin(), assay.caveats.end(),
                    [](const std::string& said) {
                      return said.find(
                                 "readings of one set point count as "
                                 "one") != std::string::npos;
                    }));
}
