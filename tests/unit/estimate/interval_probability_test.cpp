// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/interval_probability.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <boost/multiprecision/cpp_bin_float.hpp>
#include <cmath>

#include "support/approx.h"

using namespace clockassay;

namespace {

using Precise = boost::multiprecision::cpp_bin_float_100;

/// By Boost.Math's normal distribution with 100 digits.
Precise probability(double low, double high) {
  const boost::math::normal_distribution<Precise> normal;
  return low + high < 0.0
             ? cdf(normal, Precise(high)) - cdf(normal, Precise(low))
             : cdf(complement(normal, Precise(low))) -
                   cdf(complement(normal, Precise(high)));
}

}  // namespace

TEST_CASE("interval_probability: agrees with Boost.Math in 100 digits") {
  // The cubic between tabulated ratios is off by less than 3 (1/64)^4 / 384 =
  // 5e-10 of m <= 1.26; the difference of two ratios as near as 1e-3 loses a
  // factor of 1e3, which the logarithm shows as 5e-7.
  const double ends[][2] = {
      {-1.0, 1.0},     {0.0, 1.0},       {-0.5, 9.0},    {5.0, 6.0},
      {-6.0, -5.0},    {15.9, 16.1},     {20.0, 21.0},   {-30.0, -29.0},
      {40.0, 41.0},    {-300.0, -200.0}, {-8.0, 8.0},    {-1e3, 1e3},
      {-0.001, 0.001}, {2.0, 2.001},     {-3.001, -3.0}, {30.0, 30.5},
      {-0.2, 12.0},    {-12.0, 0.2},     {0.0, 1000.0},  {1e-9, 3.0},
  };
  for (const auto& end : ends) {
    const double low = end[0], high = end[1];
    CAPTURE(low);
    CAPTURE(high);
    const Precise p = probability(low, high);
    const IntervalProbability mine = interval_probability(low, high);
    CHECK(std::abs(mine.log - static_cast<double>(log(p))) <=
          5e-7 + 1e-9 * std::abs(mine.log));
    const boost::math::normal_distribution<Precise> normal;
    const auto low_ratio = static_cast<double>(pdf(normal, Precise(low)) / p);
    const auto high_ratio = static_cast<double>(pdf(normal, Precise(high)) / p);
    // Of the far end, less than e^-60 of the near one is taken for nothing.
    const double nothing = std::exp(-60.0) * std::max(low_ratio, high_ratio);
    CHECK(testing::within(mine.low, low_ratio, 1e-6 * low_ratio + nothing));
    CHECK(testing::within(mine.high, high_ratio, 1e-6 * high_ratio + nothing));
  }
}

TEST_CASE("interval_probability: mirrored ends give the mirrored answer") {
  for (const double low : {-9.0, -2.0, -0.3, 0.0, 0.7, 12.0, 35.0}) {
    for (const double width : {1e-4, 0.1, 1.0, 7.0}) {
      const IntervalProbability a = interval_probability(low, low + width);
      const IntervalProbability b = interval_probability(-low - width, -low);
      // The same operations on the same numbers.
      CHECK(a.log == b.log);
      CHECK(a.low == b.high);
      CHECK(a.high == b.low);
    }
  }
}

TEST_CASE(
    "interval_probability: a chance of another's adds to every interval") {
  // (P + a)/(1 + a) and its derivatives by the ends, from the difference
  // quotient of the function itself: off by h²/6 of the third derivative, which
  // is below 10 here, and 5e-7 of the tables over h.
  constexpr double kAlien = 0.01, kStep = 1e-3;
  for (const double low : {-6.0, -2.0, -0.5, 0.3, 3.0}) {
    CAPTURE(low);
    const double high = low + 1.5;
    const double own = std::exp(interval_probability(low, high).log);
    const IntervalProbability p = interval_probability(low, high, kAlien);
    CHECK(p.log == testing::approx(std::log((own + kAlien) / (1.0 + kAlien))));
    CHECK(p.own == testing::approx(own / (own + kAlien)));
    const auto log_at = [&](double l, double h) {
      return interval_probability(l, h, kAlien).log;
    };
    const double by_high =
        (log_at(low, high + kStep) - log_at(low, high - kStep)) / 2 / kStep;
    const double by_low =
        (log_at(low + kStep, high) - log_at(low - kStep, high)) / 2 / kStep;
    CHECK(std::abs(p.high - by_high) < 1e-3);
    CHECK(std::abs(p.low + by_low) < 1e-3);
  }
}
