// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "clockassay/drift/part.h"
#include "clockassay/drift/range_verdict.h"
#include "drift/measured_fail.h"
#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

// What a compensation leaves: 0.6 ppm at most. Of 26 points a cubic is beyond
// that by 0.15 ppm and its own U at an end of the range.
double wave(double t) {
  return 0.6 * std::sin(t / 14.5 + 4.2);
}

std::vector<DriftPoint> wave_points() {
  return points_on(wave, -40, 85, 26, Ppm(0.02));
}

}  // namespace

TEST_CASE("judge_range: a curve that does not fit fails nothing by itself") {
  const RangeLimits kept{{-40.0, 85.0}, Ppm(-5.0), Ppm(0.65), {}};
  const DriftAssay assay = assay_of(wave_points());
  REQUIRE(chosen_fit(assay).scatter == Scatter::kTooLarge);
  CHECK(judge_range(assay, kept).decision == Decision::kUndecided);
  // Nor where nothing is stated of the points.
  CHECK(
      judge_range(assay_of(points_on(wave, -40, 85, 26, {})), kept).decision ==
      Decision::kUndecided);
  // What is printed holds the clock wherever it is.
  for (const BandPlace& place : band_over(assay.choice, kept.range, {})) {
    CHECK(std::abs(place.error.value - wave(place.temperature_c)) <=
          place.error.expanded);
  }
}

TEST_CASE("judge_range: a reading beyond a limit fails, whatever the curve") {
  const RangeLimits broken{{-40.0, 85.0}, Ppm(-5.0), Ppm(0.3), {}};
  const RangeVerdict verdict = judge_range(assay_of(wave_points()), broken);
  CHECK(verdict.decision == Decision::kFail);
  CHECK(verdict.by_reading);
  // Beyond the range it is no matter: up to 7 degrees the wave is below 0.3.
  const RangeLimits beside{{-5.0, 7.0}, Ppm(-5.0), Ppm(0.3), {}};
  CHECK(judge_range(assay_of(wave_points()), beside).decision !=
        Decision::kFail);
}

TEST_CASE("measured_fail: readings beyond a limit by chance are none") {
  // All at the limit, u a third of what it is: scatter shows that. One of so
  // many is far beyond by chance; one-sided at 2.5 % in all.
  constexpr int kTrials = 400;
  constexpr std::uint64_t kSeed = 5;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> noise(0.0, 0.3);
  const RangeLimits limits{{-40.0, 85.0}, Ppm(-5.0), Ppm(0.0), {}};
  int fails = 0;
  for (int i = 0; i < kTrials; ++i) {
    auto points = points_on([](double) { return 0.0; }, -40, 85, 13, Ppm(0.1));
    for (DriftPoint& p : points) p.error = Ppm(noise(random));
    fails += measured_fail(assay_of(points), limits).has_value();
  }
  // 10, and five standard deviations of that count.
  CHECK(fails <= 10 + 16);
  // 3 ppm beyond shows all the same.
  auto off = points_on([](double) { return 3.0; }, -40, 85, 13, Ppm(0.1));
  CHECK(measured_fail(assay_of(off), limits).has_value());
}

TEST_CASE("local_scatter: a bend is none, what differs point by point is") {
  constexpr std::uint64_t kSeed = 9;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> noise(0.0, 0.02);
  auto points = points_on(wave, -40, 85, 101, Ppm(0.02));
  for (DriftPoint& p : points) p.error = p.error + Ppm(noise(random));
  const auto fit =
      fit_curve(points, CurveModel::kCubic, {}, kPerfectInstrument, 0.95);
  REQUIRE(fit);
  CHECK(*fit->birge_ratio > 5.0);
  const LocalScatter local = local_scatter(*fit);
  // 99 differences, a third of them independent or so: 1 within 5/sqrt(2 50).
  CHECK(local.ratio > 0.5);
  CHECK(local.ratio < 1.5);
  CHECK(local.dof == 50);
}

TEST_CASE("judge_range: pairs of readings are no more temperatures") {
  // Three pairs 2 K apart: the truth comes to -21.5 at 72 degrees.
  std::vector<DriftPoint> points;
  for (const double t : {-40.0, -38.0, 22.0, 24.0, 83.0, 85.0}) {
    DriftPoint p;
    p.temperature_c = t;
    p.error = at_cut_error(at_laws()[0], 8.0, t);
    p.u = Ppm(0.05);
    points.push_back(p);
  }
  const DriftAssay assay = assay_of(points);
  CHECK(assay.distinct == 3);
  const RangeLimits wide{{-40.0, 85.0}, Ppm(-100.0), Ppm(100.0), {}};
  CHECK(judge_range(assay, wide).decision == Decision::kUndecided);
  // Five, six or seven evenly spread ones are enough.
  for (const int count : {5, 6, 7}) {
    const auto at = [](double t) {
      return at_cut_error(at_laws()[0], 8.0, t).value();
    };
    CHECK(judge_range(assay_of(points_on(at, -40, 85, count, Ppm(0.05))), wide)
              .decision == Decision::kPass);
  }
}

TEST_CASE("judge_range: what may be ageing is no fail by the curve") {
  // 0.3 ppm/K that may be ageing of 1.5 ppm an hour: time rises with
  // temperature.
  auto points =
      points_on([](double t) { return 0.3 * t; }, 0, 60, 13, Ppm(0.1));
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].time_s = 3600.0 * static_cast<double>(i);
  }
  // 18 ppm were read at 60 degrees: by a wide range of U.
  RangeLimits limits{{0.0, 60.0}, Ppm(-5.0), Ppm(17.0), {}};
  const RangeVerdict seen = judge_range(assay_of(points), limits);
  CHECK(seen.decision == Decision::kFail);
  CHECK(seen.by_reading);
  // 0.2 ppm is beyond the curve's U, and within that of a reading among many.
  limits.high = Ppm(17.8);
  const RangeVerdict verdict = judge_range(assay_of(points), limits);
  CHECK(verdict.decision == Decision::kUndecided);
  CHECK(std::any_of(verdict.reasons.begin(), verdict.reasons.end(),
                    [](const std::string& r) {
                      return r.starts_with("Ageing cannot be told");
                    }));
}

TEST_CASE("assay_drift: ageing told from temperature is in every band") {
  // No ageing at all, in an order of no trend: still a parameter.
  constexpr int kOrder[] = {5, 12, 2, 9, 0, 7, 11, 3, 8, 1, 10, 4, 6};
  auto points =
      points_on([](double t) { return 0.3 * t; }, 0, 60, 13, Ppm(0.1));
  const DriftAssay without = assay_of(points);
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].time_s = 86400.0 * kOrder[i];
  }
  const DriftAssay assay = assay_of(points);
  REQUIRE(assay.ageing);
  CHECK_FALSE(assay.ageing->evident);
  CHECK(chosen_fit(assay).terms.ageing.has_value());
  const CurvePlace middle{30.0, 0, Sweep::kNotStated, {}};
  CHECK(curve_at(assay.choice, middle).expanded >
        1.2 * curve_at(without.choice, middle).expanded);
}

TEST_CASE("judge_range: a stated bound of ageing stands for what is not told") {
  auto points =
      points_on([](double t) { return 0.3 * t; }, 0, 60, 13, Ppm(0.1));
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].time_s = 600.0 * static_cast<double>(i);
  }
  const RangeLimits wide{{0.0, 60.0}, Ppm(-5.0), Ppm(20.0), {}};
  CHECK(judge_range(assay_of(points), wide).decision == Decision::kUndecided);
  InstrumentTerms bounded = kPerfectInstrument;
  bounded.ageing = Ppm(0.0);
  const DriftAssay none = assay_of(points, bounded);
  CHECK(judge_range(none, wide).decision == Decision::kPass);
  // A bound is in U, in any pattern: at 60 degrees the shares of the points sum
  // to 1 and their magnitudes to more, so U grows by that much at least.
  bounded.ageing = Ppm(1.0);
  const DriftAssay some = assay_of(points, bounded);
  const CurvePlace end{60.0, 0, Sweep::kNotStated, {}};
  CHECK(curve_at(some.choice, end).expanded >
        curve_at(none.choice, end).expanded + 0.9);
  bounded.ageing = Ppm(3.0);
  CHECK(judge_range(assay_of(points, bounded), wide).decision ==
        Decision::kUndecided);
}

TEST_CASE("judge_range: readings that age beyond the stated bound") {
  // 2 ppm in an order of no trend of the temperature.
  constexpr int kOrder[] = {5, 12, 2, 9, 0, 7, 11, 3, 8, 1, 10, 4, 6};
  auto points =
      points_on([](double t) { return 0.3 * t; }, 0, 60, 13, Ppm(0.05));
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].time_s = 86400.0 * kOrder[i];
    points[i].error = points[i].error + Ppm(kOrder[i] / 6.0);
  }
  InstrumentTerms bounded = kPerfectInstrument;
  bounded.ageing = Ppm(0.5);
  const RangeLimits wide{{0.0, 60.0}, Ppm(-50.0), Ppm(50.0), {}};
  const DriftAssay assay = assay_of(points, bounded);
  REQUIRE(assay.ageing);
  CHECK(assay.ageing->change_ppm == testing::approx(2.0).epsilon(1e-3));
  CHECK(ages_beyond_bound(assay));
  CHECK(judge_range(assay, wide).decision == Decision::kUndecided);
  bounded.ageing = Ppm(2.5);
  CHECK_FALSE(ages_beyond_bound(assay_of(points, bounded)));
}

TEST_CASE("judge_range: residuals that grow with the cold are no scatter") {
  // What a table of steps of 4 K leaves of a fork: a saw, small about 25
  // degrees, up to 11 ppm at -40.
  const auto saw = [](double t) {
    const double step = 4.0 * std::floor(t / 4.0 + 0.3) - 1.2 + 2.0;
    return -0.035 * ((t - 25) * (t - 25) - (step - 25) * (step - 25));
  };
  const auto points = points_on(saw, -40, 85, 40, std::nullopt);
  double worst = 0.0;
  for (double t = -40.0; t <= 85.0; t += 0.01) {
    worst = std::max(worst, std::abs(saw(t)));
  }
  const DriftAssay assay = assay_of(points);
  REQUIRE(chosen_fit(assay).scatter == Scatter::kEstimated);
  CHECK(assay.choice.misfit_ppm > 0.5 * worst);
  const RangeLimits limits{
      {-40.0, 85.0}, Ppm(-(worst - 0.01)), Ppm(worst - 0.01), {}};
  CHECK(judge_range(assay, limits).decision != Decision::kPass);
}

TEST_CASE("curve_at: a loop that closes at the ends is in both branches") {
  // 1 ppm wide in the middle, none at the ends, no noise at all.
  const auto loop = [](double t, Sweep way) {
    const double x = (t + 20.0) / 90.0;
    const double half = 2.0 * x * (1.0 - x);
    return -0.035 * (t - 25) * (t - 25) + (way == Sweep::kUp ? half : -half);
  };
  std::vector<DriftPoint> points;
  for (const Sweep way : {Sweep::kUp, Sweep::kDown}) {
    for (int i = 0; i < 7; ++i) {
      DriftPoint p;
      p.temperature_c = -20.0 + 15.0 * i;
      p.error = Ppm(loop(p.temperature_c, way));
      p.u = Ppm(0.1);
      p.sweep = way;
      points.push_back(p);
    }
  }
  const DriftAssay assay = assay_of(points);
  for (const Sweep way : {Sweep::kUp, Sweep::kDown}) {
    for (double t = -20.0; t <= 70.0; t += 2.5) {
      CAPTURE(t);
      const CurvePlace place{t, 0, way, {}};
      const Stated at = curve_at(assay.choice, place);
      CHECK(std::abs(at.value - loop(t, way)) <= at.expanded);
    }
  }
}
