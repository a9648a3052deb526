// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/range_verdict.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "clockassay/drift/part.h"
#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

double fork_curve(double t) {
  return -0.035 * (t - 25) * (t - 25);
}

RangeVerdict judged(const std::vector<DriftPoint>& points,
                    const RangeLimits& limits,
                    const InstrumentTerms& instrument = kPerfectInstrument) {
  return judge_range(assay_of(points, instrument), limits);
}

}  // namespace

TEST_CASE("judge_range: pass only with the whole band within the limits") {
  const auto points = points_on(fork_curve, -10, 60, 11, Ppm(0.1));
  // At 60 and -10 degrees it is -42.875 ppm.
  const RangeLimits wide{{-10.0, 60.0}, Ppm(-44.0), Ppm(1.0), {}};
  CHECK(judged(points, wide).decision == Decision::kPass);
  const RangeVerdict pass = judged(points, wide);
  CHECK(pass.worst.error.value == testing::approx(-42.875).epsilon(1e-9));
  const double edge = pass.worst.error.value - pass.worst.error.expanded;
  // A hair within and a hair beyond the edge of the band.
  RangeLimits close = wide;
  close.low = Ppm(edge - 1e-6);
  CHECK(judged(points, close).decision == Decision::kPass);
  close.low = Ppm(edge + 1e-6);
  CHECK(judged(points, close).decision == Decision::kUndecided);
  close.low = Ppm(pass.worst.error.value + pass.worst.error.expanded + 1e-3);
  CHECK(judged(points, close).decision == Decision::kFail);
}

TEST_CASE("judge_range: the common term of the instrument counts") {
  const auto points = points_on(fork_curve, -10, 60, 11, Ppm(0.1));
  const RangeLimits limits{{-10.0, 60.0}, Ppm(-60.0), Ppm(15.0), {}};
  CHECK(judged(points, limits, {Ppm(10.0), Ppm(0.0)}).decision ==
        Decision::kPass);
  CHECK(judged(points, limits, {Ppm(20.0), Ppm(0.0)}).decision ==
        Decision::kUndecided);
  // Relative to 25 degrees it cancels.
  RangeLimits relative = limits;
  relative.relative_to_c = 25.0;
  CHECK(judged(points, relative, {Ppm(20.0), Ppm(0.0)}).decision ==
        Decision::kPass);
}

TEST_CASE(
    "judge_range: beyond what was measured there is no pass and no fail") {
  const auto points = points_on(fork_curve, 0, 50, 11, Ppm(0.1));
  const RangeLimits beyond{{0.0, 50.5}, Ppm(-100.0), Ppm(100.0), {}};
  const RangeVerdict verdict = judged(points, beyond);
  CHECK(verdict.extrapolated);
  CHECK(verdict.decision == Decision::kUndecided);
  // It would fail at 80 degrees, -106 ppm; what was measured would not.
  const RangeLimits far{{0.0, 80.0}, Ppm(-50.0), Ppm(50.0), {}};
  CHECK(judged(points, far).decision == Decision::kUndecided);
  // What fails where it was measured fails.
  const RangeLimits narrow{{0.0, 80.0}, Ppm(-10.0), Ppm(10.0), {}};
  CHECK(judged(points, narrow).decision == Decision::kFail);
}

TEST_CASE("judge_range: both branches of a hysteresis are judged") {
  auto points = points_on(fork_curve, -10, 60, 11, Ppm(0.1));
  auto down = points;
  for (DriftPoint& p : points) p.sweep = Sweep::kUp;
  for (DriftPoint& p : down) {
    p.sweep = Sweep::kDown;
    p.error = p.error + Ppm(-4.0);
  }
  points.insert(points.end(), down.begin(), down.end());
  const DriftAssay assay = assay_of(points);
  REQUIRE(assay.hysteresis);
  CHECK(assay.hysteresis->offset.value == testing::approx(4.0).epsilon(1e-9));
  CHECK(assay.hysteresis->significant);
  const RangeLimits limits{{-10.0, 60.0}, Ppm(-45.0), Ppm(1.0), {}};
  const RangeVerdict verdict = judge_range(assay, limits);
  // Up -42.9, down -46.9 ppm at the ends.
  CHECK(verdict.decision == Decision::kFail);
  CHECK(verdict.worst.branch == Sweep::kDown);
}

TEST_CASE("judge_range: a curve that no point tests does not pass") {
  const RangeLimits limits{{0.0, 50.0}, Ppm(-100.0), Ppm(100.0), {}};
  const DriftAssay assay = assay_of(points_on(fork_curve, 0, 50, 3, Ppm(0.1)));
  CHECK(chosen_fit(assay).model == CurveModel::kParabola);
  CHECK(judge_range(assay, limits).decision == Decision::kUndecided);
  REQUIRE_FALSE(assay.caveats.empty());
  CHECK(assay.caveats[0] ==
        "A parabola goes through any 3 points: nothing tells whether it is the "
        "right curve, nor whether the stated uncertainties are true.");
}

namespace {

double at_8_minutes(double t) {
  return at_cut_error(at_laws()[0], 8.0, t).value();
}

std::vector<DriftPoint> repeated(const std::function<double(double)>& curve,
                                 const std::vector<double>& temperatures,
                                 int times, double u) {
  std::vector<DriftPoint> points;
  for (int i = 0; i < times; ++i) {
    for (const double t : temperatures) {
      DriftPoint p;
      p.temperature_c = t;
      // Readings apart by u, about the curve: they do not scatter too far.
      p.error = Ppm(curve(t) + u * (i - 0.5 * (times - 1)));
      p.u = Ppm(u);
      points.push_back(p);
    }
  }
  return points;
}

}  // namespace

TEST_CASE("judge_range: repeats at few temperatures test no curve") {
  // The truth comes to -21.55 at 72 degrees and 19.68 at -19.2.
  const RangeLimits limits{{-40.0, 85.0}, Ppm(-20.0), Ppm(20.0), {}};
  const DriftAssay three =
      assay_of(repeated(at_8_minutes, {-40, 25, 85}, 3, 0.05));
  CHECK(chosen_fit(three).dof == 0);  // of set points, not of readings
  CHECK_FALSE(tested_between(three));
  CHECK(judge_range(three, limits).decision == Decision::kUndecided);
  CHECK(judge_range(three, limits).held_back);
  // 30 ppm at 25 degrees, 16 at both temperatures.
  const auto fork = [](double t) { return 30.0 + fork_curve(t); };
  const RangeLimits middle{{5.0, 45.0}, Ppm(-20.0), Ppm(20.0), {}};
  CHECK(judged(repeated(fork, {5, 45}, 3, 0.1), middle).decision ==
        Decision::kUndecided);
  // A cubic through four is not tested either, one through five is.
  const RangeLimits wide{{-40.0, 85.0}, Ppm(-30.0), Ppm(30.0), {}};
  CHECK(judged(repeated(at_8_minutes, {-40, 0, 45, 85}, 3, 0.05), wide)
            .decision == Decision::kUndecided);
  CHECK(judged(repeated(at_8_minutes, {-40, -5, 25, 55, 85}, 3, 0.05), wide)
            .decision == Decision::kPass);
}

TEST_CASE("judge_range: an untested curve fails only where it was measured") {
  // A parabola through 0, 14 and 0 at -40, 10 and 85: 14 (x + 40)(85 - x)/3750
  // comes to 14.58 at 22.5.
  const auto points =
      repeated([](double t) { return 14.0 * (t + 40.0) * (85.0 - t) / 3750.0; },
               {-40, 10, 85}, 3, 0.01);
  RangeLimits limits{{-40.0, 85.0}, Ppm(-20.0), Ppm(14.3), {}};
  CHECK(judged(points, limits).decision == Decision::kUndecided);
  limits.high = Ppm(13.7);
  CHECK(judged(points, limits).decision == Decision::kFail);
}

TEST_CASE("judge_range: scatter beyond what is stated counts as the clock's") {
  constexpr std::uint64_t kSeed = 2;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> scatter(0.0, 5.0);
  auto points = points_on([](double) { return 0.0; }, -20, 70, 200, Ppm(0.1));
  for (DriftPoint& p : points) p.error = Ppm(scatter(random));
  const RangeLimits narrow{{-20.0, 70.0}, Ppm(-8.0), Ppm(8.0), {}};
  const RangeVerdict verdict = judged(points, narrow);
  CHECK(verdict.decision == Decision::kUndecided);
  // The farthest of 200 is at three sigma or so: 15 beyond the curve, which is
  // known to a ppm or so. That is what is told, too.
  CHECK(verdict.closest.error.expanded > 12.0);
  CHECK(verdict.closest.error.expanded < 18.0);
  const RangeLimits wide{{-20.0, 70.0}, Ppm(-25.0), Ppm(25.0), {}};
  CHECK(judged(points, wide).decision == Decision::kPass);
  // A curve beyond a limit by more than that fails all the same.
  const RangeLimits off{{-20.0, 70.0}, Ppm(20.0), Ppm(60.0), {}};
  CHECK(judged(points, off).decision == Decision::kFail);
}

TEST_CASE("judge_range: a curve that is none of the models counts as it is") {
  // Waves of 0.6 ppm measured to 0.02: no model fits, and 26 points are no
  // chance by which they would average out.
  const auto wave = [](double t) { return 0.6 * std::sin(t / 9.0); };
  const auto points = points_on(wave, -40, 85, 26, Ppm(0.02));
  const RangeLimits close{{-40.0, 85.0}, Ppm(-1.0), Ppm(0.55), {}};
  CHECK(judged(points, close).decision == Decision::kUndecided);
  // 0.6 beyond the curve, and what it leaves open itself.
  const RangeLimits wide{{-40.0, 85.0}, Ppm(-3.0), Ppm(3.0), {}};
  CHECK(judged(points, wide).decision == Decision::kPass);
}

TEST_CASE("judge_range: no pass where ageing may be what temperature does") {
  auto points = points_on(fork_curve, -10, 60, 11, Ppm(0.1));
  const RangeLimits wide{{-10.0, 60.0}, Ppm(-60.0), Ppm(20.0), {}};
  CHECK(judged(points, wide).decision == Decision::kPass);
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].time_s = 86400.0 * static_cast<double>(i);
  }
  CHECK(judged(points, wide).decision == Decision::kUndecided);
  // Up and down the two are apart, and nothing ages.
  auto back = points;
  for (std::size_t i = 0; i < back.size(); ++i) {
    back[i].time_s = 86400.0 * static_cast<double>(21 - i);
  }
  points.insert(points.end(), back.begin(), back.end());
  CHECK(judged(points, wide).decision == Decision::kPass);
}

TEST_CASE("judge_range: ways apart along the temperatures are in U") {
  // A thermometer 2 K behind: up it shows less than the crystal has.
  auto points = points_on([](double t) { return fork_curve(t + 2.0); }, -15, 65,
                          11, Ppm(0.1));
  auto down = points_on([](double t) { return fork_curve(t - 2.0); }, -15, 65,
                        11, Ppm(0.1));
  for (DriftPoint& p : points) p.sweep = Sweep::kUp;
  for (DriftPoint& p : down) p.sweep = Sweep::kDown;
  points.insert(points.end(), down.begin(), down.end());
  const DriftAssay assay = assay_of(points);
  REQUIRE(assay.hysteresis);
  // Symmetrical about the turnover: no offset, all of it a lag.
  CHECK_FALSE(assay.hysteresis->significant);
  REQUIRE(assay.hysteresis->lag);
  CHECK(assay.hysteresis->lag->value == testing::approx(4.0).epsilon(1e-3));
  CHECK(assay.hysteresis->lag_significant);
  // Half of it: 2 K of 2.8 ppm/K at the steep end, which the curve itself is
  // off there.
  const RangeLimits wide{{-15.0, 65.0}, Ppm(-200.0), Ppm(100.0), {}};
  const RangeVerdict judged = judge_range(assay, wide);
  CHECK(judged.decision == Decision::kPass);
  const double truth = fork_curve(65.0);
  CHECK(std::abs(judged.worst.error.value - truth) <=
        judged.worst.error.expanded);
  CHECK(judged.worst.error.expanded > 2.0 * 0.07 * (65.0 - 25.0));
}

TEST_CASE("judge_range: a range that ends a hundredth beyond is measured") {
  const auto points = points_on(fork_curve, -9.9, 59.9, 11, Ppm(0.1));
  const RangeLimits limits{{-10.0, 60.0}, Ppm(-46.0), Ppm(1.0), {}};
  const RangeVerdict pass = judged(points, limits);
  CHECK(pass.decision == Decision::kPass);
  CHECK_FALSE(pass.extrapolated);
  CHECK(pass.reasons.back().find("taken as measured") != std::string::npos);
  // A 256th of 69.8 K is 0.27 K.
  const RangeLimits beyond{{-10.2, 60.0}, Ppm(-46.0), Ppm(1.0), {}};
  CHECK(judged(points, beyond).decision == Decision::kUndecided);
  CHECK(judged(points, beyond).extrapolated);
}

TEST_CASE(
    "judge_range: without u the largest residual stands beside the band") {
  auto points = points_on([](double t) { return 0.1 * t; }, 0, 60, 16, Ppm(1));
  constexpr unsigned kSeed = 3;
  INFO("seed " << kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  for (DriftPoint& p : points) {
    p.u.reset();
    p.error = p.error + Ppm(normal(random));
  }
  const DriftAssay assay = assay_of(points);
  RangeLimits limits{{0.0, 60.0}, Ppm(-100.0), Ppm(100.0), {}};
  const BandPlace top = band_at(assay.choice, 60.0, {}, true).front();
  double farthest = 0.0;
  for (const double r : chosen_fit(assay).residual) {
    farthest = std::max(farthest, std::abs(r));
  }
  CHECK(assay.choice.misfit_ppm == farthest);
  CHECK(top.error.expanded >=
        curve_at(chosen_fit(assay), {60.0, 0, Sweep::kNotStated, {}}).expanded +
            farthest);
  const double needed =
      top.error.value + std::max(top.reading_expanded, top.error.expanded);
  limits.high = Ppm(needed + 0.01);
  CHECK(judge_range(assay, limits).decision == Decision::kPass);
  limits.high = Ppm(needed - 0.01);
  CHECK(judge_range(assay, limits).decision == Decision::kUndecided);
}

TEST_CASE("judge_range: five temperatures tell nothing of a wide gap") {
  const auto at = [](std::vector<double> temperatures) {
    std::vector<DriftPoint> points;
    for (const double t : temperatures) {
      DriftPoint p;
      p.temperature_c = t;
      p.error = Ppm(fork_curve(t));
      p.u = Ppm(0.1);
      points.push_back(p);
    }
    return points;
  };
  const RangeLimits wide{{-40.0, 80.0}, Ppm(-300.0), Ppm(100.0), {}};
  CHECK(judged(at({-40, -10, 20, 50, 80}), wide).decision == Decision::kPass);
  // 61 of 120 K lie between two.
  const auto gap = at({-40, -20, 0, 19, 80});
  CHECK(judged(gap, wide).decision == Decision::kUndecided);
  CHECK(judged(at({-40, -20, 0, 19, 60, 80}), wide).decision ==
        Decision::kPass);
  // Where it was read it may fail.
  const RangeLimits narrow{{-40.0, 80.0}, Ppm(-100.0), Ppm(100.0), {}};
  CHECK(judged(gap, narrow).decision == Decision::kFail);
}

TEST_CASE("judge_range: a way is known where it was read") {
  // Up from -40 to 80, down in the hot half only.
  auto points = points_on(fork_curve, -40, 80, 13, Ppm(0.1));
  auto down = points_on(fork_curve, 20, 80, 7, Ppm(0.1));
  for (DriftPoint& p : points) p.sweep = Sweep::kUp;
  for (DriftPoint& p : down) p.sweep = Sweep::kDown;
  points.insert(points.end(), down.begin(), down.end());
  const RangeLimits all{{-40.0, 80.0}, Ppm(-200.0), Ppm(10.0), {}};
  const RangeVerdict left = judged(points, all);
  CHECK(left.decision == Decision::kUndecided);
  CHECK(left.extrapolated);
  CHECK(left.reasons.back().find("the way down 19.53 to 80.47 degC") !=
        std::string::npos);
  const RangeLimits hot{{20.0, 80.0}, Ppm(-200.0), Ppm(10.0), {}};
  CHECK(judged(points, hot).decision == Decision::kPass);
  // The way up was read in the cold, where it is -148 ppm: that fails.
  const RangeLimits cold{{-40.0, 80.0}, Ppm(-140.0), Ppm(10.0), {}};
  CHECK(judged(points, cold).decision == Decision::kFail);
}

TEST_CASE("judge_range: a way that is read at its ends tells no loop") {
  const auto swept = [](int down_count) {
    auto points = points_on(fork_curve, -40, 80, 13, Ppm(0.1));
    auto down = points_on(fork_curve, -40, 80, down_count, Ppm(0.1));
    for (DriftPoint& p : points) p.sweep = Sweep::kUp;
    for (DriftPoint& p : down) p.sweep = Sweep::kDown;
    points.insert(points.end(), down.begin(), down.end());
    return points;
  };
  const RangeLimits wide{{-40.0, 80.0}, Ppm(-300.0), Ppm(100.0), {}};
  CHECK(judged(swept(2), wide).decision == Decision::kUndecided);
  CHECK(judged(swept(3), wide).decision == Decision::kPass);
}

TEST_CASE("judge_range: marked points make no pass and no fail") {
  const auto line = [](double t) { return 0.3 * t; };
  auto points = points_on(line, 0, 60, 16, Ppm(0.1));
  const RangeLimits limits{{0.0, 60.0}, Ppm(-5.0), Ppm(25.0), {}};
  CHECK(judged(points, limits).decision == Decision::kPass);
  // One wild point at the end lifts or widens the band there over the limit:
  // with it no pass, without it one.
  points.back().error = points.back().error + Ppm(30.0);
  const DriftAssay assay = assay_of(points);
  REQUIRE(assay.outliers.size() == 1);
  const RangeVerdict verdict = judge_range(assay, limits);
  CHECK(verdict.decision == Decision::kUndecided);
  CHECK(verdict.without_outliers == Decision::kPass);
  // The other way: without it the curve would fail, with it nothing is known.
  const RangeLimits low{{0.0, 60.0}, Ppm(-5.0), Ppm(17.0), {}};
  const RangeVerdict other = judge_range(assay, low);
  CHECK(other.without_outliers == Decision::kFail);
  CHECK(other.decision == Decision::kUndecided);
}

TEST_CASE(
    "judge_range: relative to a temperature that was not measured nothing is "
    "decided") {
  const auto points = points_on(fork_curve, 30, 60, 11, Ppm(0.1));
  RangeLimits limits{{30.0, 60.0}, Ppm(-100.0), Ppm(100.0), 25.0};
  CHECK(judged(points, limits).decision == Decision::kUndecided);
  CHECK(judged(points, limits).extrapolated);
  // Far beyond at 60 degrees, were 25 known.
  limits.low = Ppm(-1.0);
  CHECK(judged(points, limits).decision == Decision::kUndecided);
  limits.relative_to_c = 30.0;
  CHECK(judged(points, limits).decision == Decision::kFail);
}
