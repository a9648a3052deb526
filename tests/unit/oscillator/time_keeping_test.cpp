// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/time_keeping.h"

#include <doctest/doctest.h>

#include <string>

#include "clockassay/base/quantity_text.h"

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

TEST_CASE("time_keeping_tolerance: what a ppm is in a day, a month, a year") {
  // Plain arithmetic, known everywhere: 1 ppm is 0.0864 s a day, 20 ppm 1.728 s
  // a day, 51.84 s in 30 days and 10.512 minutes in 365.
  struct Row {
    std::int64_t ppm;
    Rational per_day;
    Rational per_month;
    Rational per_year;
  };
  const Row rows[] = {
      {1, ratio(864, 10000), ratio(2592, 1000), ratio(31536, 1000)},
      {10, ratio(864, 1000), ratio(2592, 100), ratio(31536, 100)},
      {20, ratio(1728, 1000), ratio(5184, 100), ratio(63072, 100)},
      {50, ratio(432, 100), ratio(1296, 10), ratio(15768, 10)},
      {100, ratio(864, 100), ratio(2592, 10), ratio(31536, 10)},
  };
  for (const Row& row : rows) {
    CAPTURE(row.ppm);
    CHECK(time_keeping_tolerance(row.per_day, 1) == Rational(row.ppm));
    CHECK(time_keeping_tolerance(row.per_month, 30) == Rational(row.ppm));
    CHECK(time_keeping_tolerance(row.per_year, 365) == Rational(row.ppm));
  }
}

TEST_CASE("time_keeping_tolerance: misprints seen in public texts") {
  // "32.736 to 32.800 kHz, ±1 ppm" is ±32 Hz of 32768, 976.5625 ppm, which is
  // 84.375 s a day.
  CHECK(time_keeping_tolerance(ratio(84375, 1000), 1) == ratio(9765625, 10000));
  // "20 ppm (0.00002 %)" and "0.05 % (50 ppm)" are 0.002 % and 500 ppm.
  CHECK(parse_fraction("0.002%") == Rational(20));
  CHECK(parse_fraction("0.05%") == Rational(500));
}

TEST_CASE("time_keeping_tolerance: nothing and everything are refused") {
  for (const std::int64_t seconds : {0, 86400, 100000}) {
    const auto result = time_keeping_tolerance(seconds, 1);
    REQUIRE_FALSE(result.has_value());
    CHECK(
        result.error().message ==
        "time keeping: found " + std::to_string(seconds) +
            " s to gain or lose in 86400 s, expected more than 0 and less than "
            "all of it");
  }
}

}  // namespace
}  // namespace clockassay
