// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/next_temperature.h"

#include <doctest/doctest.h>

#include <cmath>

#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

TEST_CASE("next_temperature: a line's far end is best known from there") {
  const auto points =
      points_on([](double t) { return 0.3 * t; }, 0, 40, 5, Ppm(0.1));
  const RangeLimits limits{{0.0, 60.0}, Ppm(-100), Ppm(100), {}};
  const auto next = next_temperature(assay_of(points), limits);
  REQUIRE(next);
  // The worst case is at 60: another point there does the most, because the
  // uncertainty at a place falls most by measuring it itself unless the span
  // helps more. By hand: five points 10 K apart about 20, sum x^2 = 1000; at
  // x = 40, u^2 = 0.01 (1/5 + 1600/1000) = 0.018. With a point of variance 0.01
  // there: 1/(1/0.018 + 1/0.01).
  CHECK(next->temperature_c == 60.0);
  CHECK(next->expanded_before_ppm ==
        doctest::Approx(1.959964 * std::sqrt(0.018)).epsilon(1e-6));
  CHECK(
      next->expanded_after_ppm ==
      doctest::Approx(1.959964 / std::sqrt(1.0 / 0.018 + 100.0)).epsilon(1e-6));
}

TEST_CASE("next_temperature: none of all that were tried does more") {
  const auto points =
      points_on([](double t) { return -0.035 * (t - 25) * (t - 25); }, -20, 70,
                10, Ppm(0.2));
  const RangeLimits limits{{-20.0, 70.0}, Ppm(-100), Ppm(100), 25.0};
  const DriftAssay assay = assay_of(points);
  const auto next = next_temperature(assay, limits);
  REQUIRE(next);
  const BandPlace worst =
      worst_of(band_over(assay.choice, limits.range, limits.relative_to_c));
  for (double t = -20.0; t <= 70.0; t += 5.0) {
    auto more = points;
    more.push_back(points[0]);
    more.back().temperature_c = t;
    more.back().error = Ppm(-0.035 * (t - 25) * (t - 25));
    const auto fit =
        fit_curve(more, CurveModel::kParabola, {}, kPerfectInstrument, 0.95);
    REQUIRE(fit);
    CurvePlace place;
    place.temperature_c = worst.temperature_c;
    place.relative_to_c = 25.0;
    CHECK(curve_at(*fit, place).expanded >=
          next->expanded_after_ppm * (1.0 - 1e-3));
  }
}
