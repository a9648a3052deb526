// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/exact_seconds.h"

#include <doctest/doctest.h>

#include <limits>

namespace clockassay {
namespace {

TEST_CASE("exact_seconds: decimal where it ends, a fraction where not") {
  const Rational ns = *Rational::make(1, 1'000'000'000);
  CHECK(exact_seconds(Ticks(0), ns) == "0");
  CHECK(exact_seconds(Ticks(5'000'000'000), ns) == "5");
  CHECK(exact_seconds(Ticks(125'000), ns) == "0.000125");
  CHECK(exact_seconds(Ticks(-1'500'000'000), ns) == "-1.5");
  CHECK(exact_seconds(Ticks(7), *Rational::make(1, 3)) == "7/3");
}

TEST_CASE("exact_seconds: the largest stamp in femtoseconds keeps all digits") {
  CHECK(exact_seconds(Ticks(std::numeric_limits<std::int64_t>::max()),
                      *Rational::make(1, 1'000'000'000'000'000)) ==
        "9223.372036854775807");
}

}  // namespace
}  // namespace clockassay
