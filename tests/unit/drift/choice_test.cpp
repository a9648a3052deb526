// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/choice.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

CurveChoice choice_of(const std::vector<DriftPoint>& points) {
  auto choice = choose_curve(points, {}, kPerfectInstrument, 0.95);
  REQUIRE(choice);
  return *choice;
}

CurveModel chosen_model(const CurveChoice& choice) {
  return choice.fits[choice.chosen].model;
}

}  // namespace

TEST_CASE("choose_curve: each curve is known by its evidence") {
  const auto line = [](double t) { return 0.5 * t; };
  const auto parabola = [](double t) { return -0.035 * (t - 25) * (t - 25); };
  const auto cubic = [](double t) { return 108.6e-6 * std::pow(t - 25, 3); };
  const Ppm u(0.1);
  CHECK(chosen_model(choice_of(points_on(line, -20, 70, 10, u))) ==
        CurveModel::kLine);
  CHECK(chosen_model(choice_of(points_on(parabola, -20, 70, 10, u))) ==
        CurveModel::kParabola);
  // About the middle of the span a cubic has no square to go by: down from the
  // cubic its own term is asked first.
  CHECK(chosen_model(choice_of(points_on(cubic, -20, 70, 10, u))) ==
        CurveModel::kCubic);
}

TEST_CASE("choose_curve: a term counts from its hundredth on") {
  // On five evenly spaced points, x = -2 … 2, the square is 2 -1 -2 -1 2 beside
  // constant and slope: of c times that, chi-squared gains 14 c^2/u^2. One in a
  // hundred is 6.635 (chi-squared of one degree of freedom).
  const double pattern[] = {2, -1, -2, -1, 2};
  const auto with_square = [&](double gain) {
    std::vector<DriftPoint> points(5);
    for (std::size_t i = 0; i < 5; ++i) {
      points[i].temperature_c = 20.0 + 5.0 * static_cast<double>(i);
      points[i].error = Ppm(std::sqrt(gain / 14.0) * pattern[i]);
      points[i].u = Ppm(1.0);
    }
    return points;
  };
  const CurveChoice below = choice_of(with_square(6.62));
  CHECK(chosen_model(below) == CurveModel::kLine);
  const CurveChoice above = choice_of(with_square(6.65));
  CHECK(chosen_model(above) == CurveModel::kParabola);
  REQUIRE(below.significance[1]);
  CHECK(*below.significance[1] == testing::approx(0.0101).epsilon(0.01));
  // What is not chosen is still in the band: the parabola by its weight, by how
  // far it stands off. BIC: chi-squared and ln 5 for each parameter.
  const double ratio = std::exp(-0.5 * (6.62 - std::log(5.0)));
  CHECK(below.weights[0] / below.weights[1] ==
        testing::approx(ratio).epsilon(1e-9));
  CurvePlace end;
  end.temperature_c = 40.0;
  CHECK(curve_at(below, end).expanded >
        1.5 * curve_at(below.fits[0], end).expanded);
}

TEST_CASE("choose_curve: few points allow small models only") {
  const auto parabola = [](double t) { return -0.035 * (t - 25) * (t - 25); };
  // Three temperatures know no cubic; without u, a parabola through three
  // leaves no scatter to judge by.
  CHECK(choice_of(points_on(parabola, 0, 50, 3, Ppm(0.1))).fits.size() == 2);
  CHECK(choice_of(points_on(parabola, 0, 50, 3, {})).fits.size() == 1);
  CHECK(choice_of(points_on(parabola, 0, 50, 4, {})).fits.size() == 2);
  CHECK(choice_of(points_on(parabola, 0, 50, 5, {})).fits.size() == 3);
}

TEST_CASE("distinct_temperatures: what is apart by a share of the span") {
  std::vector<DriftPoint> points(6);
  const double at[] = {0.0, 64.0, 3.5, 59.5, 32.0, 36.5};
  for (std::size_t i = 0; i < 6; ++i) points[i].temperature_c = at[i];
  // A sixteenth is 4 K: 0 and 3.5 are one, 59.5 and 64 are two.
  CHECK(distinct_temperatures(points) == 5);
}

TEST_CASE("choose_curve: curves that bend more are in the band") {
  // Noise of none, so that BIC alone has their weights: each parameter more
  // halves it and more, exp(-ln(13)/2).
  const auto cubic = [](double t) { return 108.6e-6 * std::pow(t - 25, 3); };
  const CurveChoice choice = choice_of(points_on(cubic, -40, 85, 13, Ppm(0.1)));
  CHECK(chosen_model(choice) == CurveModel::kCubic);
  REQUIRE(choice.others.size() >= 2);
  CHECK(static_cast<int>(choice.others[0].model) == 4);
  CHECK(choice.other_weights[0] / choice.weights[2] ==
        testing::approx(1.0 / std::sqrt(13.0)).epsilon(1e-6));
  // With six temperatures one is left over to test a fourth order, with five
  // none.
  CHECK(choice_of(points_on(cubic, -40, 85, 6, Ppm(0.1))).others.size() == 1);
  CHECK(choice_of(points_on(cubic, -40, 85, 5, Ppm(0.1))).others.empty());
}

TEST_CASE("choose_curve: of an untested curve the band holds every bend") {
  // Three pairs of a cubic, u of 1 ppm: evidence asks for a line or a parabola,
  // which is far from it between the pairs.
  const auto cubic = [](double t) {
    const double x = t - 25.0;
    return x * (-0.5 + x * x * 108.6e-6);
  };
  std::vector<DriftPoint> points;
  for (const double t : {-40.0, -38.0, 22.0, 24.0, 83.0, 85.0}) {
    DriftPoint p;
    p.temperature_c = t;
    p.error = Ppm(cubic(t));
    p.u = Ppm(1.0);
    points.push_back(p);
  }
  const CurveChoice choice = choice_of(points);
  CHECK(chosen_model(choice) != CurveModel::kCubic);
  CHECK(choice.weights.back() == 1.0);
  for (int i = 0; i <= 50; ++i) {
    CurvePlace place;
    place.temperature_c = -40.0 + 2.5 * i;
    const Stated there = curve_at(choice, place);
    CHECK(std::abs(there.value - cubic(place.temperature_c)) <= there.expanded);
  }
}
