// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/curve.h"

#include <doctest/doctest.h>

#include <cmath>

#include "clockassay/drift/choice.h"
#include "support/approx.h"
#include "unit/drift/series.h"
#include "unit/drift/table.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

constexpr InstrumentTerms kPerfect{Ppm(0.0), Ppm(0.0)};

CurveFit fit_of(const std::vector<DriftPoint>& points, CurveModel model,
                const InstrumentTerms& instrument = kPerfect,
                const CurveTerms& terms = {}) {
  auto fit = fit_curve(points, model, terms, instrument, 0.95);
  REQUIRE(fit);
  CHECK(fit->converged);
  return *fit;
}

DriftPoint plain_point(double temperature_c, double error_ppm) {
  DriftPoint p;
  p.temperature_c = temperature_c;
  p.error = Ppm(error_ppm);
  return p;
}

bool agrees_to(double value, double expected, double digits) {
  return std::abs(value - expected) <=
         std::pow(10.0, -digits) * std::abs(expected);
}

// As printed: half a unit of the last of so many decimals.
bool prints_as(double value, double printed, double unit) {
  return std::abs(value - printed) <= 0.5 * unit;
}

}  // namespace

// NIST Statistical Reference Datasets, linear regression, "Pontius" (40
// observations, quadratic): data and certified values of
// https://www.itl.nist.gov/div898/strd/. The responses are no doubles: exact
// arithmetic on their nearest doubles gives the certified coefficients to 13.5
// digits. The model itself is exact here: the temperatures are whole numbers.
TEST_CASE("fit_curve: NIST StRD Pontius to what double inputs permit") {
  std::vector<DriftPoint> points;
  for (const auto& row : testing::drift_table("pontius.csv")) {
    points.push_back(plain_point(row[1], row[0]));
  }
  const CurveFit fit = fit_of(points, CurveModel::kParabola);
  REQUIRE(fit.dof == 37);
  const auto b = curve_coefficients(fit, 0.0);
  CHECK(agrees_to(b[0].value, 0.673565789473684e-03, 13.3));
  CHECK(agrees_to(b[1].value, 0.732059160401003e-06, 13.3));
  CHECK(agrees_to(b[2].value, -0.316081871345029e-14, 13.3));
  // Residuals are a thousandth of the responses, so three digits fewer.
  CHECK(agrees_to(b[0].standard, 0.107938612033077e-03, 10.5));
  CHECK(agrees_to(b[1].standard, 0.157817399981659e-09, 10.5));
  CHECK(agrees_to(b[2].standard, 0.486652849992036e-16, 10.5));
  CHECK(agrees_to(*fit.birge_ratio, 0.205177424076185e-03, 10.5));
  CHECK(agrees_to(fit.chi_squared, 0.155761768796992e-05, 10.5));
}

// JCGM 100:2008, H.3: a thermometer's correction against its reading, about
// 20 degrees. Data from memory of the document; that all results come out as
// printed is what speaks for them.
TEST_CASE("fit_curve: GUM H.3 to every printed digit") {
  std::vector<DriftPoint> points;
  for (const auto& row : testing::drift_table("gum_h3.csv")) {
    points.push_back(plain_point(row[0], row[1]));
  }
  const CurveFit fit = fit_of(points, CurveModel::kLine);
  const auto y = curve_coefficients(fit, 20.0);
  CHECK(prints_as(y[0].value, -0.1712, 1e-4));
  CHECK(prints_as(y[0].standard, 0.0029, 1e-4));
  CHECK(prints_as(y[1].value, 0.00218, 1e-5));
  CHECK(prints_as(y[1].standard, 0.00067, 1e-5));
  CHECK(prints_as(*fit.birge_ratio, 0.0035, 1e-4));
  CHECK(fit.dof == 9);
  CurvePlace at;
  at.temperature_c = 30.0;
  const Stated b30 = curve_at(fit, at);
  CHECK(prints_as(b30.value, -0.1494, 1e-4));
  CHECK(prints_as(b30.standard, 0.0041, 1e-4));
  // r = -0.930, by the variance at 30: u^2 = s1^2 + 100 s2^2 + 20 r s1 s2.
  const double s1 = y[0].standard;
  const double s2 = y[1].standard;
  const double r = (b30.standard * b30.standard - s1 * s1 - 100.0 * s2 * s2) /
                   (20.0 * s1 * s2);
  CHECK(prints_as(r, -0.930, 1e-3));
  // Student's t for nine degrees of freedom, JCGM 100 Table G.2: 2.26.
  CHECK(prints_as(b30.expanded / b30.standard, 2.26, 1e-2));
}

TEST_CASE(
    "fit_curve: a common term shifts the curve and cancels in its shape") {
  std::vector<DriftPoint> points;
  for (int i = 0; i < 9; ++i) {
    points.push_back(plain_point(-40.0 + 15.0 * i, 0.01 * i * i));
    points.back().u = Ppm(0.1);
  }
  const CurveFit alone = fit_of(points, CurveModel::kParabola);
  const CurveFit shared =
      fit_of(points, CurveModel::kParabola, {Ppm(20.0), Ppm(0.0)});
  CurvePlace at;
  at.temperature_c = 60.0;
  CHECK(curve_at(alone, at).error.rectangle_half_width == 0.0);
  CHECK(curve_at(shared, at).error.rectangle_half_width ==
        testing::approx(20.0).epsilon(1e-12));
  CHECK(curve_at(shared, at).value == curve_at(alone, at).value);
  at.relative_to_c = 25.0;
  CHECK(curve_at(shared, at).expanded ==
        testing::approx(curve_at(alone, at).expanded).epsilon(1e-12));
  CHECK(curve_coefficients(shared, 25.0)[2].expanded ==
        testing::approx(curve_coefficients(alone, 25.0)[2].expanded)
            .epsilon(1e-12));
}

TEST_CASE("fit_curve: the stability bounds what any pattern of it can do") {
  std::vector<DriftPoint> points;
  for (int i = 0; i < 8; ++i) {
    points.push_back(plain_point(10.0 * i, 0.3 * i));
    points.back().u = Ppm(0.01);
  }
  const InstrumentTerms instrument{Ppm(0.0), Ppm(1.0)};
  const CurveFit fit = fit_of(points, CurveModel::kLine, instrument);
  CurvePlace at;
  at.temperature_c = 80.0;
  const Stated there = curve_at(fit, at);
  // All 2^8 patterns of plus and minus one: the curve is linear in them, so no
  // pattern between them does more.
  double worst = 0.0;
  for (unsigned pattern = 0; pattern < 256; ++pattern) {
    std::vector<DriftPoint> moved = points;
    for (std::size_t i = 0; i < moved.size(); ++i) {
      moved[i].error = moved[i].error + Ppm((pattern >> i & 1u) ? 1.0 : -1.0);
    }
    const Stated s = curve_at(fit_of(moved, CurveModel::kLine, instrument), at);
    worst = std::max(worst, std::abs(s.value - there.value));
  }
  CHECK(there.error.rectangle_half_width ==
        testing::approx(worst).epsilon(1e-9));
}

TEST_CASE(
    "fit_curve: stated uncertainties that the scatter belies are widened") {
  // A line with residuals +1 -1 -1 +1 about it at -3 -1 1 3: orthogonal to both
  // constant and slope, so the fit is the line and chi-squared is 4 u^-2.
  std::vector<DriftPoint> points = {plain_point(-3, 1.0), plain_point(-1, -1.0),
                                    plain_point(1, -1.0), plain_point(3, 1.0)};
  for (DriftPoint& p : points) p.u = Ppm(1.0);
  const CurveFit honest = fit_of(points, CurveModel::kLine);
  // chi-squared 4 of 2: probability 0.14.
  CHECK(honest.scatter == Scatter::kAsStated);
  CHECK(honest.chi_squared == testing::approx(4.0).epsilon(1e-12));
  CurvePlace at;
  at.temperature_c = 0.0;
  CHECK(curve_at(honest, at).standard == testing::approx(0.5).epsilon(1e-12));
  for (DriftPoint& p : points) p.u = Ppm(0.5);
  // Now 16 of 2: Birge's ratio is the root of 8, the scatter is 2 by two
  // degrees of freedom, t = 4.303 (JCGM 100, Table G.2).
  const CurveFit widened = fit_of(points, CurveModel::kLine);
  CHECK(widened.scatter == Scatter::kTooLarge);
  CHECK(*widened.birge_ratio == testing::approx(std::sqrt(8.0)).epsilon(1e-12));
  CHECK(curve_at(widened, at).standard ==
        testing::approx(std::sqrt(0.5)).epsilon(1e-12));
  CHECK(
      prints_as(curve_at(widened, at).expanded / std::sqrt(0.5), 4.303, 1e-3));
}

TEST_CASE("fit_curve: without u no point is better than all on the whole") {
  // A steep line with temperatures known to 0.2 K, and residuals of both: the
  // variance beside that of the temperatures is estimated, and what is reckoned
  // with is never below the mean square of the residuals.
  std::vector<DriftPoint> points;
  for (int i = 0; i < 9; ++i) {
    const double off = 0.05 * ((i * 7) % 5 - 2);
    points.push_back(plain_point(5.0 * i, -0.04 * 25.0 * i * i + off));
    points.back().u_temperature_c = 0.2;
  }
  const CurveFit fit = fit_of(points, CurveModel::kParabola);
  CHECK(fit.scatter == Scatter::kEstimated);
  REQUIRE(fit.dof == 6);
  double squares = 0.0;
  for (const double r : fit.residual) squares += r * r;
  for (const double v : fit.variance) {
    CHECK(v >= squares / fit.dof * (1.0 - 1e-12));
  }
  // A level point is not as good as its residual, a steep one not as bad.
  CHECK(fit.variance.back() > fit.variance.front());
}

TEST_CASE("fit_curve: sweeps are half their offset from the mean curve") {
  std::vector<DriftPoint> points;
  for (const double t : {0.0, 10.0, 20.0, 30.0}) {
    for (const Sweep sweep : {Sweep::kUp, Sweep::kDown}) {
      DriftPoint p =
          plain_point(t, 0.1 * t + (sweep == Sweep::kUp ? 0.7 : -0.3));
      p.u = Ppm(0.2);
      p.sweep = sweep;
      points.push_back(p);
    }
  }
  const CurveFit fit =
      fit_of(points, CurveModel::kLine, kPerfect, {true, {}, {}});
  const auto offset = sweep_offset(fit);
  REQUIRE(offset);
  CHECK(offset->value == testing::approx(1.0).epsilon(1e-12));
  // Mean of four less mean of four.
  CHECK(offset->standard ==
        testing::approx(0.2 * std::sqrt(0.5)).epsilon(1e-12));
  CurvePlace at;
  at.temperature_c = 15.0;
  CHECK(curve_at(fit, at).value == testing::approx(1.7).epsilon(1e-12));
  at.branch = Sweep::kUp;
  CHECK(curve_at(fit, at).value == testing::approx(2.2).epsilon(1e-12));
  at.branch = Sweep::kDown;
  CHECK(curve_at(fit, at).value == testing::approx(1.2).epsilon(1e-12));
}

TEST_CASE("fit_curve: what is no series is refused, and where") {
  std::vector<DriftPoint> points = {plain_point(0, 1), plain_point(10, 2),
                                    plain_point(20, 2)};
  const auto message = [&](CurveModel model) {
    const auto fit = fit_curve(points, model, {}, kPerfect, 0.95);
    REQUIRE_FALSE(fit);
    CHECK(fit.error().code == ErrorCode::kBadData);
    CHECK_FALSE(fit.error().hint.empty());
    return fit.error().message;
  };
  CHECK(message(CurveModel::kCubic) ==
        "the temperatures do not tell a cubic apart from other curves");
  points[1].u = Ppm(0.1);
  CHECK(message(CurveModel::kLine) ==
        "point 2: an uncertainty is stated of some points only");
  points[1].u.reset();
  points[2].board = "other";
  CHECK(message(CurveModel::kLine) ==
        "points of boards \"\" and \"other\" in one curve");
  points[2].board.clear();
  points[0].error = Ppm(std::nan(""));
  CHECK(message(CurveModel::kLine) ==
        "point 1: temperature or error is no number");
  points[0].error = Ppm(0.0);
  for (DriftPoint& p : points) p.u = Ppm(0.0);
  CHECK(message(CurveModel::kLine) == "a point with no uncertainty at all");
  points.clear();
  CHECK(message(CurveModel::kLine) == "no points");
}

TEST_CASE("curve_at: a thermometer that reads wrong moves the curve") {
  const auto points =
      points_on([](double t) { return -0.035 * (t - 25) * (t - 25); }, -20, 70,
                11, Ppm(1e-6));
  InstrumentTerms instrument = kPerfectInstrument;
  instrument.thermometer_k = 0.5;
  const auto fit =
      fit_curve(points, CurveModel::kParabola, {}, instrument, 0.95);
  REQUIRE(fit);
  const auto bound = [&](double t, int derivative,
                         std::optional<double> relative_to_c = {}) {
    return curve_at(*fit, {t, derivative, Sweep::kNotStated, relative_to_c})
        .error.rectangle_half_width;
  };
  // By 0.5 K at most: slope 3.15 ppm/K at -20, and 0.035 * 0.5^2 of the bend.
  CHECK(bound(-20.0, 0) == testing::approx(1.575 + 0.00875).epsilon(1e-9));
  CHECK(bound(25.0, 0) == testing::approx(0.00875).epsilon(1e-9));
  // The slope moves by 0.07 ppm/K^2 * 0.5 K everywhere: the turnover by 0.5 K.
  CHECK(bound(-20.0, 1) == testing::approx(0.035).epsilon(1e-9));
  // Relative to 25 degrees the bend is in both.
  CHECK(bound(-20.0, 0, 25.0) == testing::approx(1.575).epsilon(1e-9));
  CHECK(bound(25.0, 0, 25.0) == 0.0);
  const auto c = curve_coefficients(*fit, 25.0);
  CHECK(c[1].error.rectangle_half_width == testing::approx(0.035));
  CHECK(c[2].error.rectangle_half_width == 0.0);
}

TEST_CASE("reading_at: one more reading, by Student's t where it scatters") {
  std::vector<DriftPoint> points(3);
  for (std::size_t i = 0; i < 3; ++i) {
    points[i].temperature_c = 20.0 + static_cast<double>(i);
    points[i].error = Ppm(i == 1 ? 3.0 : 0.0);
  }
  // A line of residuals -1, 2, -1: s^2 = 6 with one degree of freedom, of which
  // t is 12.7062; s sqrt(1 + 1/3) in the middle.
  auto choice = choose_curve(points, {}, kPerfectInstrument, 0.95);
  REQUIRE(choice);
  REQUIRE(choice->fits.size() == 1);
  CHECK(reading_at(*choice, {21.0, 0, Sweep::kNotStated, {}}).expanded ==
        testing::approx(12.7062 * std::sqrt(8.0)).epsilon(1e-5));
  // Stated and sound: u^2 and (slope u(T))^2 beside what the line leaves open.
  for (DriftPoint& p : points) {
    p.u = Ppm(1.0);
    p.u_temperature_c = 0.5;
    p.error = Ppm(4.0 * (p.temperature_c - 21.0));
  }
  const auto line =
      fit_curve(points, CurveModel::kLine, {}, kPerfectInstrument, 0.95);
  REQUIRE(line);
  CurveChoice only;
  only.fits = {*line};
  only.weights = {1.0};
  // Each of variance 1 + 4 = 5: 5 (1 + 1/3) in the middle.
  CHECK(reading_at(only, {21.0, 0, Sweep::kNotStated, {}}).standard ==
        testing::approx(std::sqrt(5.0 * 4.0 / 3.0)).epsilon(1e-9));
}
