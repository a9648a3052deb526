// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/extremes.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

TEST_CASE("curve_turnovers: where a fork turns, as far as its points tell") {
  const auto points =
      points_on([](double t) { return 2.0 - 0.035 * (t - 23) * (t - 23); }, -20,
                70, 6, Ppm(0.2));
  const DriftAssay assay = assay_of(points);
  REQUIRE(assay.turnovers.size() == 1);
  const Turnover& t = assay.turnovers[0];
  CHECK(t.temperature_c == testing::approx(23.0).epsilon(1e-12));
  CHECK(t.error.value == testing::approx(2.0).epsilon(1e-12));
  CHECK(t.maximum);
  CHECK(t.measured);
  REQUIRE(t.low_c);
  REQUIRE(t.high_c);
  // By hand, of the parabola alone: six points 18 K apart about 25, so
  // sum x^2 = 5670 and u(c1) = 0.2/sqrt(5670); sum of the squares of what x^2
  // has beside a constant is 3919104, u(c2) = 0.2/sqrt(3919104). The slope at 2
  // K from the centre has u = hypot(u(c1), 2*2*u(c2)); over 0.07 ppm/K^2, times
  // 1.96. The ends are where the slope is U: the same to a percent or so. The
  // band also holds the cubic and the curve of fourth order, by their weights:
  // without noise BIC has each at exp(-ln(6)/2) of the one before, 0.365 of the
  // three. The slope in the middle of a cubic has 7.89 times the variance
  // (m6 m2/(m2 m6 - m4^2) of these six), and a fourth order adds nothing to it
  // there, so the whole is sqrt(0.635 + 0.365*7.89) = 1.875 times as wide.
  const double u1 = 0.2 / std::sqrt(5670.0);
  const double u2 = 0.2 / std::sqrt(3919104.0);
  const double by_hand = 1.96 * std::hypot(u1, 4.0 * u2) / 0.07;
  CHECK(*t.high_c - 23.0 >= 0.98 * 1.875 * by_hand);
  CHECK(*t.high_c - 23.0 <= 1.02 * 1.875 * by_hand);
  CHECK(23.0 - *t.low_c >= 0.98 * 1.875 * by_hand);
  CHECK(23.0 - *t.low_c <= 1.02 * 1.875 * by_hand);
}

TEST_CASE("curve_turnovers: both of an AT cut, none of a line") {
  // a < 0: turning points -b/(3c) ± sqrt(b^2 - 3ac)/(3c); with b = 0 and
  // a = -0.3, c = 1e-4 they are 25 ± sqrt(1000).
  const auto cubic = [](double t) {
    return (t - 25) * (-0.3 + 1e-4 * (t - 25) * (t - 25));
  };
  const DriftAssay at = assay_of(points_on(cubic, -40, 85, 14, Ppm(0.1)));
  REQUIRE(at.turnovers.size() == 2);
  CHECK(at.turnovers[0].temperature_c ==
        testing::approx(25.0 - std::sqrt(1000.0)).epsilon(1e-11));
  CHECK(at.turnovers[1].temperature_c ==
        testing::approx(25.0 + std::sqrt(1000.0)).epsilon(1e-11));
  CHECK(at.turnovers[0].maximum);
  CHECK_FALSE(at.turnovers[1].maximum);
  const auto line = [](double t) { return 3.0 * t; };
  CHECK(assay_of(points_on(line, 0, 60, 9, Ppm(0.1))).turnovers.empty());
}

TEST_CASE("curve_turnovers: one that the points do not hold has an open end") {
  // A fork measured from 40 to 60 only: the turnover is outside and hardly
  // known.
  const auto points =
      points_on([](double t) { return -0.035 * (t - 25) * (t - 25); }, 40, 60,
                6, Ppm(0.5));
  const DriftAssay assay = assay_of(points);
  for (const Turnover& t : assay.turnovers) {
    CHECK_FALSE(t.measured);
    CHECK_FALSE(t.low_c);
  }
}

TEST_CASE("band_over: the worst case is found where it is") {
  const auto points =
      points_on([](double t) { return 4.0 - 0.04 * (t - 25) * (t - 25); }, 0,
                60, 9, Ppm(0.1));
  const DriftAssay assay = assay_of(points);
  // 4 at the turnover, 4 - 0.04*35^2 = -45 at 60, 4 - 25 = -21 at 0.
  const auto whole = band_over(assay.choice, {0.0, 60.0}, {});
  CHECK(worst_of(whole).temperature_c == 60.0);
  CHECK(worst_of(whole).error.value == testing::approx(-45.0).epsilon(1e-12));
  const auto near = band_over(assay.choice, {20.0, 29.0}, {});
  CHECK(worst_of(near).temperature_c == testing::approx(25.0).epsilon(1e-12));
  // Relative to 25 degrees the turnover is zero, and certain.
  const auto relative = band_over(assay.choice, {0.0, 60.0}, 25.0);
  CHECK(worst_of(relative).error.value ==
        testing::approx(-49.0).epsilon(1e-12));
  // 1 ppm is 86 400 s / 10^6 a day.
  CHECK(seconds_per_day(Ppm(20.0)) == testing::approx(1.728).epsilon(1e-12));
}

TEST_CASE("worst_of: U holds that the clock is worse elsewhere") {
  const auto place = [](double t, double value, double expanded) {
    BandPlace p;
    p.temperature_c = t;
    p.error.value = value;
    p.error.expanded = expanded;
    return p;
  };
  // -4 ± 3 comes to 7, 5 ± 1 to 6 only.
  const BandPlace worst = worst_of({place(0, 5, 1), place(60, -4, 3)});
  CHECK(worst.temperature_c == 0.0);
  CHECK(worst.error.value == 5.0);
  CHECK(worst.error.expanded == 2.0);
  CHECK(worst_of({place(0, 5, 1), place(60, -4, 1)}).error.expanded == 1.0);
}
