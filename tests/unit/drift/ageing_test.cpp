// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/ageing.h"

#include <doctest/doctest.h>

#include <cmath>

#include "drift/ageing_profile.h"
#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

constexpr double kDay = 86400.0;

}  // namespace

// Nine readings of a crystal oscillator, day and ppb, posted to the time-nuts
// list in 2016. Worked out beside them: B → ∞ fits best, 0.575 + 2.132 ln t
// with a sum of squares of 0.1236, so B is not identifiable. Printed digits.
TEST_CASE("profile_ageing: a rate that cannot be told is said to be open") {
  const double readings[][2] = {{2, 2},     {4, 3.5},   {7, 4.65},
                                {8, 5.05},  {9, 5.22},  {12, 6.11},
                                {13, 6.19}, {25, 7.26}, {32, 7.92}};
  AgeingProblem problem;
  problem.base.resize(1);
  for (const auto& [day, ppb] : readings) {
    problem.base[0].push_back(1.0L);
    problem.response.push_back(ppb);
    problem.variance.push_back(1.0L);
    problem.time_s.push_back(day * kDay);
  }
  const auto ageing = profile_ageing(problem);
  REQUIRE(ageing);
  CHECK(ageing->evident);
  CHECK(std::isinf(ageing->rate.per_day));
  CHECK(std::abs(ageing->slope_ppm - 2.132) <= 0.5e-3);
  CHECK(ageing->low_per_day.has_value());
  CHECK_FALSE(ageing->high_per_day.has_value());
  CHECK_FALSE(rate_identified(*ageing));
}

TEST_CASE("find_ageing: ageing apart from temperature, and its rate") {
  // 2 ln(0.5 t + 1) beside a fork; temperatures go up and down three times, so
  // no curve looks like it.
  std::vector<DriftPoint> points;
  for (int day = 0; day < 60; ++day) {
    DriftPoint p;
    p.temperature_c = 25.0 + 20.0 * std::sin(day / 3.0);
    p.time_s = day * kDay;
    p.error = Ppm(-0.035 * std::pow(p.temperature_c - 24.0, 2) +
                  2.0 * std::log(0.5 * day + 1.0));
    p.u = Ppm(0.02);
    points.push_back(p);
  }
  const auto ageing = find_ageing(points, {}, kPerfectInstrument, 0.95);
  REQUIRE(ageing);
  CHECK(ageing->evident);
  CHECK(rate_identified(*ageing));
  // No noise: what is left is where the golden section stops, at the root of
  // rounding, 1e-10 with long doubles, 1e-8 with doubles.
  CHECK(ageing->rate.per_day == testing::approx(0.5).epsilon(1e-6));
  CHECK(ageing->slope_ppm == testing::approx(2.0).epsilon(1e-6));
  CHECK(ageing->separable > 0.8);
  // Separated: the curve is that of the last day.
  const DriftAssay assay = assay_of(points);
  const auto c = curve_coefficients(chosen_fit(assay), 24.0);
  CHECK(chosen_fit(assay).model == CurveModel::kParabola);
  // Where it turns two days are one set point, their time the mean: between
  // days 4 and 5, where it does so first, 2 ln(0.5 t + 1) bends by
  // 2/6.5^2/8 = 0.006 ppm.
  CHECK(std::abs(c[0].value - 2.0 * std::log(0.5 * 59 + 1.0)) < 0.006);
}

TEST_CASE("find_ageing: time that goes with temperature is not told apart") {
  auto points =
      points_on([](double t) { return 0.2 * t; }, 0, 60, 13, Ppm(0.1));
  for (std::size_t i = 0; i < points.size(); ++i) {
    points[i].time_s = 600.0 * static_cast<double>(i + 1);
  }
  const auto ageing = find_ageing(points, {}, kPerfectInstrument, 0.95);
  REQUIRE(ageing);
  CHECK_FALSE(ageing->evident);
  CHECK(ageing->separable < 0.1);
  const DriftAssay assay = assay_of(points);
  REQUIRE_FALSE(assay.caveats.empty());
  CHECK(assay.caveats[0].find("Time and temperature went together") == 0);
}

TEST_CASE("find_ageing: no times, no ageing") {
  auto points = points_on([](double t) { return t; }, 0, 60, 13, Ppm(0.1));
  CHECK_FALSE(find_ageing(points, {}, kPerfectInstrument, 0.95));
  for (DriftPoint& p : points) p.time_s = 5.0;
  CHECK_FALSE(find_ageing(points, {}, kPerfectInstrument, 0.95));
  points.back().time_s = 6.0;
  points.front().time_s = -1.0;
  CHECK_FALSE(find_ageing(points, {}, kPerfectInstrument, 0.95));
}
