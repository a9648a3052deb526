// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/range_verdict.h"

#include <doctest/doctest.h>

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
  CHECK(pass.worst.error.value == doctest::Approx(-42.875).epsilon(1e-9));
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
  CHECK(assay.hysteresis->offset.value == doctest::Approx(4.0).epsilon(1e-9));
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
