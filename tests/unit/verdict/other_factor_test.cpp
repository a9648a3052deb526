// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/other_factor.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

std::vector<OtherFactor> found(std::string_view path, double ratio,
                               double reach = 1e-5) {
  return find_other_factors(clock_of(path, "10ppm").expect, ratio, reach);
}

TEST_CASE("find_other_factors: what each factor would have to be") {
  // 16 / 3: the divider of 16 is 3; of the multiplier of 6 it would be 32.
  const auto one = found("24MHz * 6 / 16", 16.0 / 3.0);
  REQUIRE(one.size() == 2);
  CHECK(one[0].words == "multiplier 6 is 32");
  CHECK(*one[0].factor == 0);
  CHECK(one[1].words == "divider 16 is 3");
  CHECK(*one[1].factor == 1);
  for (const OtherFactor& o : one) CHECK(o.ratio == *Rational::make(16, 3));
  // Of the two factors the smaller number is the likelier.
  CHECK(one[1].share > one[0].share);
}

TEST_CASE("find_other_factors: a ratio of no single factor is the simplest") {
  // 5 / 7 of 24 MHz / 4: 4 * 7 / 5 is no whole number.
  const auto none = found("24MHz / 4", 5.0 / 7.0);
  REQUIRE(none.size() == 1);
  CHECK_FALSE(none[0].factor);
  CHECK(none[0].ratio == *Rational::make(5, 7));
  CHECK(none[0].words.empty());
  // One in 1.2 * 7 * 49.
  CHECK(none[0].share == testing::approx(1.0 / 411.6));
}

TEST_CASE("find_other_factors: the intended factors are none") {
  for (const OtherFactor& o : found("24MHz * 6 / 16", 1.0)) {
    CHECK(o.ratio != Rational(1));
  }
  CHECK(found("24MHz / 4", 1.0).empty());
  CHECK(found("24MHz / 4", 0.5, 0.6).empty());  // anything would fit
}

}  // namespace
}  // namespace clockassay
