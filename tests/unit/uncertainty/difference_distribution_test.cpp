// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/difference_distribution.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>

#include "clockassay/uncertainty/error_distribution.h"
#include "support/approx.h"

namespace clockassay {
namespace {

// The definition itself: the mean of the tail over the second rectangle, by
// Simpson's rule, of the distribution of one rectangle and a normal part.
double tail_by_quadrature(const DifferenceDistribution& d, double x) {
  constexpr int kParts = 20000;
  const ErrorDistribution one{d.rectangle_a, d.normal_sigma};
  double sum = 0.0;
  for (int i = 0; i <= kParts; ++i) {
    const double r =
        d.rectangle_b * (2.0 * static_cast<double>(i) / kParts - 1.0);
    const double weight = i == 0 || i == kParts ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
    sum += weight * (cumulative(one, r - x) + cumulative(one, -r - x));
  }
  return sum / (3.0 * kParts);
}

}  // namespace

TEST_CASE("expanded_half_width: two equal rectangles make a triangle") {
  // JCGM 100:2008, 4.3.9, note 2: two equal rectangular errors make a
  // triangular one. P(|X| <= w) = 1 - (1 - w/2a)^2.
  const DifferenceDistribution d{3.0, 3.0, 0.0};
  CHECK(expanded_half_width(d, 0.95) ==
        testing::approx(6.0 * (1.0 - std::sqrt(0.05))).epsilon(1e-9));
  CHECK(standard_uncertainty(d) == testing::approx(6.0 / std::sqrt(6.0)));
  CHECK(two_sided_tail(d, 6.0) == 0.0);
  CHECK(two_sided_tail(d, 0.0) == testing::approx(1.0));
}

TEST_CASE("expanded_half_width: two unequal rectangles make a trapezium") {
  // JCGM 101:2008, 6.4.3: base a + b, top |a - b|. Its tail from the top on is
  // (a + b - x)^2 / (8 a b) to either side.
  const DifferenceDistribution d{4.0, 1.0, 0.0};
  const double x = 4.5;
  CHECK(two_sided_tail(d, x) ==
        testing::approx(2.0 * (5.0 - x) * (5.0 - x) / 32.0).epsilon(1e-9));
}

TEST_CASE("expanded_half_width: without one rectangle it is the error's own") {
  for (const ErrorDistribution& e :
       {ErrorDistribution{2.0, 0.0}, ErrorDistribution{0.0, 2.0},
        ErrorDistribution{2.0, 0.7}}) {
    const double U = expanded_half_width(e, 0.95);
    CHECK(expanded_half_width(DifferenceDistribution{e.rectangle_half_width,
                                                     0.0, e.normal_sigma},
                              0.95) == testing::approx(U).epsilon(1e-9));
    CHECK(
        expanded_half_width(
            DifferenceDistribution{0.0, e.rectangle_half_width, e.normal_sigma},
            0.95) == testing::approx(U).epsilon(1e-9));
  }
}

TEST_CASE("two_sided_tail: is the mean over both rectangles") {
  for (const double a : {1.0, 10.0}) {
    for (const double b : {1e-4, 0.01, 0.5, 1.0, 30.0}) {
      for (const double s : {0.01, 0.3, 1.0, 20.0}) {
        const DifferenceDistribution d{a, b, s};
        CAPTURE(a);
        CAPTURE(b);
        CAPTURE(s);
        for (const double share : {0.1, 0.5, 0.9, 1.1}) {
          const double x = share * (a + b + s);
          CHECK(std::abs(two_sided_tail(d, x) - tail_by_quadrature(d, x)) <=
                1e-8);
        }
        const double U = expanded_half_width(d, 0.95);
        CHECK(tail_by_quadrature(d, U) == testing::approx(0.05).epsilon(1e-5));
      }
    }
  }
}

}  // namespace clockassay
