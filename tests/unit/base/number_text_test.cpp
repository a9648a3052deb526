// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/number_text.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

namespace clockassay {
namespace {

TEST_CASE("shown_limit: what somebody states stays as it is") {
  for (const double limit :
       {30.0, 2.5, 0.05, 0.0, 20.48125, 104089.6, 1234.56789}) {
    CAPTURE(limit);
    CHECK(shown_limit(limit, LimitSide::kHigh) == limit);
    CHECK(shown_limit(-limit, LimitSide::kLow) == -limit);
  }
}

TEST_CASE("shown_limit: what was worked out is rounded to six digits inwards") {
  // 30 s in 365 days: 0.951 293 759 5… ppm.
  const double limit = 30e6 / (365 * 86400.0);
  CHECK(number_text(shown_limit(limit, LimitSide::kHigh), 12) == "0.951293");
  CHECK(number_text(shown_limit(-limit, LimitSide::kLow), 12) == "-0.951293");
  // Of limits to one side of zero the nearer end grows.
  CHECK(number_text(shown_limit(limit, LimitSide::kLow), 12) == "0.951294");
  CHECK(number_text(shown_limit(-limit, LimitSide::kHigh), 12) == "-0.951294");
}

TEST_CASE("shown_limit: nothing beyond a limit is within what is shown") {
  constexpr unsigned kSeed = 12;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> exponent(-6.0, 6.0);
  for (int i = 0; i < 20000; ++i) {
    const double size = std::pow(10.0, exponent(random));
    const double limit = i % 2 == 0 ? size : -size;
    const double high = shown_limit(limit, LimitSide::kHigh);
    const double low = shown_limit(limit, LimitSide::kLow);
    CAPTURE(limit);
    CHECK(high <= limit);
    CHECK(low >= limit);
    // A unit of the sixth digit, 1e-5 of it at most.
    CHECK(low - high <= 2.1e-5 * size);
  }
}

}  // namespace
}  // namespace clockassay
