// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/error_distribution.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <random>

#include "support/approx.h"

namespace clockassay {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

double normal_tail(double z) {
  return 0.5 * std::erfc(z / std::numbers::sqrt2);
}

// P(X > x) by Simpson's rule over the rectangle: an independent way, which
// subtracts nothing. With n intervals of width h the error is below
// (2a) h^4/180 max|f''''| / (2a), and the fourth derivative of the normal
// tail is at most 1.4 / s^4 (of z phi(z) (3 - z^2), maximum 1.38).
double tail_by_simpson(double a, double s, double x) {
  constexpr int kIntervals = 20000;
  const double h = 2 * a / kIntervals;
  double sum = 0.0;
  for (int i = 0; i <= kIntervals; ++i) {
    const double weight = (i == 0 || i == kIntervals) ? 1 : i % 2 ? 4 : 2;
    sum += weight * normal_tail((x - a + i * h) / s);
  }
  return sum / (3 * kIntervals);
}

double simpson_error(double a, double s) {
  const double h = 2 * a / 20000;
  return 1.4 * std::pow(h / s, 4) / 180;
}

TEST_CASE("expanded_half_width: without a rectangle it is 1.96 sigma") {
  // 95 % of a normal distribution, to the digits of JCGM 100 Table G.1 and
  // beyond: 1.959963984540054.
  CHECK(expanded_half_width({0.0, 2.0}, 0.95) ==
        testing::approx(2 * 1.959963984540054).epsilon(1e-13));
}

TEST_CASE("expanded_half_width: a rectangle alone gives its share") {
  CHECK(expanded_half_width({100.0, 0.0}, 0.95) == 95.0);
}

TEST_CASE("expanded_half_width: approaches its limits from both ends") {
  // s << a: the rectangle, whose edges s blurs: P(|X| <= U) changes by less
  // than Q(0.05 a/s), zero here.
  CHECK(expanded_half_width({1.0, 1e-9}, 0.95) ==
        testing::approx(0.95).epsilon(1e-13));
  // s >> a: normal with variance s^2 + a^2/3; the relative change is
  // (a/s)^2/6 and below 1e-18.
  CHECK(expanded_half_width({1e-9, 1.0}, 0.95) ==
        testing::approx(1.959963984540054).epsilon(1e-13));
}

TEST_CASE("expanded_half_width: 1.182 a at a deviation of 0.3 a") {
  const ErrorDistribution d{1.0, 0.3};
  const double u = expanded_half_width(d, 0.95);
  CHECK(std::abs(u - 1.182) < 0.0005);
  // The same by quadrature: both tails beyond U hold 5 %.
  CHECK(std::abs(2 * tail_by_simpson(1.0, 0.3, u) - 0.05) <
        2 * simpson_error(1.0, 0.3) + 1e-13);
  // And why a root sum of squares of the two 95 % half-widths will not do:
  // it covers less than 93.5 %.
  const double rss = std::hypot(0.95, 1.959963985 * 0.3);
  CHECK(probability_within(d, 0, -rss, rss) < 0.935);
}

TEST_CASE("cumulative: agrees with quadrature over the rectangle") {
  for (const double ratio : {0.01, 0.3, 0.49, 0.51, 1.0, 3.0, 30.0}) {
    const double a = ratio;
    const double s = 1.0;
    for (double x = 0.0; x <= a + 8 * s; x += 0.37) {
      const double tail = tail_by_simpson(a, s, x);
      CAPTURE(ratio);
      CAPTURE(x);
      // Rounding of 20000 terms, each of 1e-16 relative, on top of the rule.
      const double allowed = simpson_error(a, s) + 1e-12 * tail;
      CHECK(std::abs(cumulative({a, s}, -x) - tail) < allowed + 1e-18);
    }
  }
}

TEST_CASE("cumulative: keeps relative accuracy in far tails") {
  // Far out the tail of the convolution is the mean of exp-like tails;
  // Simpson's rule follows it relatively when z h/s is small: (30 * 1e-4)^4.
  for (const double a : {0.05, 0.2, 0.45, 0.55, 2.0}) {
    for (const double z : {5.0, 12.0, 20.0, 30.0}) {
      CAPTURE(a);
      CAPTURE(z);
      const double tail = tail_by_simpson(a, 1.0, a + z);
      CHECK(cumulative({a, 1.0}, -(a + z)) ==
            testing::approx(tail).epsilon(1e-10));
    }
  }
}

TEST_CASE("cumulative: a narrow rectangle leaves the normal tail exact") {
  // The rectangle adds Q''(z) a^2/6 = z phi(z) a^2/6: relative to Q(z) below
  // z^2 a^2/3, 1e-12 here. A difference of two integrals of the tail would
  // lose all but ten digits.
  for (const double a : {1e-8, 1e-7, 1e-6}) {
    for (const double z : {0.5, 1.0, 1.7}) {
      CAPTURE(a);
      CAPTURE(z);
      CHECK(std::abs(cumulative({a, 1.0}, -z) / normal_tail(z) - 1) < 2e-12);
    }
  }
}

TEST_CASE("cumulative: a steep tail across the rectangle stays accurate") {
  // At 36 deviations the tail falls by exp(36) across a rectangle of a = 0.5;
  // Simpson's step there is z h = 36 * 5e-5, so its error is 1e-13.
  for (const double a : {0.3, 0.5}) {
    const double tail = tail_by_simpson(a, 1.0, 36.0);
    CAPTURE(a);
    CHECK(std::abs(cumulative({a, 1.0}, -36.0) / tail - 1) < 2e-12);
  }
}

TEST_CASE("cumulative: is one half at zero, symmetric, zero and one far out") {
  for (const double ratio : {0.0, 1e-9, 1e-3, 0.5, 1.0, 1e3, 1e9}) {
    const ErrorDistribution d{ratio, 1.0};
    CAPTURE(ratio);
    CHECK(std::abs(cumulative(d, 0.0) - 0.5) < 1e-14);
    CHECK(std::abs(cumulative(d, 0.3) + cumulative(d, -0.3) - 1) < 1e-14);
    CHECK(cumulative(d, kInfinity) == 1.0);
    CHECK(cumulative(d, -kInfinity) == 0.0);
  }
}

TEST_CASE("cumulative: never falls where x rises") {
  for (const double ratio : {0.0, 1e-6, 0.2, 0.5, 0.500001, 2.0, 1e4, 1e9}) {
    const ErrorDistribution d{ratio, 1.0};
    const double step = (ratio + 10.0) / 500;
    double before = 0.0;
    for (int i = -500; i <= 500; ++i) {
      const double now = cumulative(d, i * step);
      CAPTURE(ratio);
      CAPTURE(i);
      CHECK(now >= before - 1e-15);  // rounding of values near one
      before = now;
    }
  }
}

TEST_CASE("expanded_half_width: U covers what was asked, for any shape") {
  for (const double ratio :
       {0.0, 1e-9, 1e-3, 0.3, 0.5, 0.7, 1.0, 5.0, 1e3, 1e6, 1e9}) {
    for (const double p : {0.01, 0.5, 0.6827, 0.95, 0.99, 0.9973, 1 - 1e-9}) {
      for (const double unit : {1e-200, 1.0, 1e200}) {
        const ErrorDistribution d{ratio * unit, unit};
        const double u = expanded_half_width(d, p);
        CAPTURE(ratio);
        CAPTURE(p);
        CAPTURE(unit);
        // Relative to what stays outside, so that 1 - 1e-9 means something;
        // there, of a wide rectangle, one unit in the last place of U is 1e-7
        // of it, so that the neighbours of U enclose what was asked.
        const auto outside = [&](double at) { return 2 * cumulative(d, -at); };
        CHECK(outside(std::nextafter(u, 0.0)) > (1 - p) * (1 - 1e-9));
        CHECK(outside(std::nextafter(u, 2 * u)) < (1 - p) * (1 + 1e-9));
        CHECK(probability_within(d, 0, -u, u) ==
              testing::approx(p).epsilon(1e-12));
      }
    }
  }
}

TEST_CASE("expanded_half_width: grows with either part and with coverage") {
  double before = 0.0;
  for (double a = 0.0; a < 4.0; a += 0.05) {
    const double u = expanded_half_width({a, 1.0}, 0.95);
    CHECK(u > before);
    before = u;
  }
  before = 0.0;
  for (double s = 0.0; s < 4.0; s += 0.05) {
    const double u = expanded_half_width({1.0, s}, 0.95);
    CHECK(u > before);
    before = u;
  }
  before = 0.0;
  for (double p = 0.02; p < 1.0; p += 0.02) {
    const double u = expanded_half_width({1.0, 0.4}, p);
    CHECK(u > before);
    before = u;
  }
}

TEST_CASE("expanded_half_width: a simulation covers as promised, not more") {
  // Each of n trials is inside with probability p: the count is binomial,
  // standard deviation sqrt(n p (1 - p)); 4.5 of them bound it to 7 in a
  // million for each of the cases.
  constexpr int kTrials = 200000;
  constexpr unsigned kSeed = 20240611;
  std::mt19937_64 random(kSeed);
  CAPTURE(kSeed);
  for (const double ratio : {0.1, 1.0, 3.3, 10.0}) {
    for (const double p : {0.6827, 0.95, 0.99}) {
      const double u = expanded_half_width({ratio, 1.0}, p);
      std::uniform_real_distribution<double> rectangle(-ratio, ratio);
      std::normal_distribution<double> normal(0.0, 1.0);
      int inside = 0;
      for (int i = 0; i < kTrials; ++i) {
        const double x = rectangle(random) + normal(random);
        inside += std::abs(x) <= u ? 1 : 0;
      }
      const double band = 4.5 * std::sqrt(kTrials * p * (1 - p));
      CAPTURE(ratio);
      CAPTURE(p);
      CHECK(std::abs(inside - kTrials * p) < band);
    }
  }
}

// JCGM 106:2012, the conformance probabilities of 7.3 and 7.4. Values and
// clause numbers are quoted from memory; the arithmetic is redone here from
// the error function, so the check does not rest on them.
double normal_cdf(double z) {
  return normal_tail(-z);
}

TEST_CASE("probability_within: JCGM 106 7.3, an upper limit") {
  // Zener diode: breakdown -5.47 V, u = 0.05 V, upper limit -5.40 V; 0.92.
  const double p = probability_within({0.0, 0.05}, -5.47, -kInfinity, -5.40);
  CHECK(std::abs(p - 0.92) < 0.005);
  CHECK(p == testing::approx(normal_cdf(0.07 / 0.05)).epsilon(1e-12));
}

TEST_CASE("probability_within: JCGM 106 7.3, a lower limit") {
  // Burst pressure 509.7 kPa, u = 8.6 kPa, lower limit 490 kPa; 0.99.
  const double p = probability_within({0.0, 8.6}, 509.7, 490, kInfinity);
  CHECK(std::abs(p - 0.99) < 0.005);
  CHECK(p == testing::approx(normal_cdf(19.7 / 8.6)).epsilon(1e-12));
}

TEST_CASE("probability_within: JCGM 106 7.4, two limits") {
  // Oil viscosity 13.6, u = 1.8, limits 12.5 and 16.3; 0.66.
  const double p = probability_within({0.0, 1.8}, 13.6, 12.5, 16.3);
  CHECK(std::abs(p - 0.66) < 0.005);
  CHECK(p == testing::approx(normal_cdf(2.7 / 1.8) - normal_cdf(-1.1 / 1.8))
                 .epsilon(1e-12));
}

TEST_CASE("probability_within: far outside it is small, not zero or negative") {
  // 20 deviations from the nearer limit: Q(20) - Q(21), about 2.75e-89.
  const double p = probability_within({0.0, 1.0}, 0.0, 20, 21);
  CHECK(p == testing::approx(normal_tail(20) - normal_tail(21)).epsilon(1e-10));
  CHECK(p > 0.0);
  CHECK(probability_within({0.0, 1.0}, 41.0, 20, 21) ==
        testing::approx(p).epsilon(1e-10));
}

TEST_CASE("probability_within: a rectangle gives the share inside") {
  // y = 20 in limits +-30 with +-25 around it: from -5 to 45, 35 of 50 inside.
  CHECK(probability_within({25.0, 0.0}, 20, -30, 30) ==
        testing::approx(0.7).epsilon(1e-14));
}

TEST_CASE("standard_uncertainty: a rectangle counts as a over root three") {
  // A timebase of +-50 ppm: 28.8675 ppm.
  CHECK(std::abs(standard_uncertainty({50.0, 0.0}) - 28.8675) < 5e-5);
  CHECK(standard_uncertainty({3.0 * std::numbers::sqrt3, 4.0}) ==
        testing::approx(5.0).epsilon(1e-15));
}

TEST_CASE("is_proper: refuses nothing at all, negatives and the unbounded") {
  CHECK(is_proper({0.0, 1.0}));
  CHECK(is_proper({1.0, 0.0}));
  CHECK_FALSE(is_proper({0.0, 0.0}));
  CHECK_FALSE(is_proper({-1.0, 1.0}));
  CHECK_FALSE(is_proper({1.0, kInfinity}));
  CHECK_FALSE(is_proper({std::nan(""), 1.0}));
}

}  // namespace
}  // namespace clockassay
