// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/decimal_text.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <string>

#include "clockassay/base/units.h"

namespace clockassay {
namespace {

TEST_CASE("scan_decimal: digits, zeros and places as they were written") {
  const auto number = scan_decimal<std::uint64_t>("-01,2300E-04", ',');
  REQUIRE(number);
  CHECK(number->negative);
  CHECK(number->digits == 123);
  CHECK(number->count == 3);
  CHECK(number->zeros == 2);
  CHECK(number->last_place == -8);
  CHECK(number->last_nonzero_place() == -6);
  CHECK(number->first_place() == -4);
  const auto zero = scan_decimal<std::uint64_t>("0.00", '.');
  REQUIRE(zero);
  CHECK(zero->digits == 0);
  CHECK(zero->count == 0);
  CHECK(zero->last_place == -2);
  CHECK_FALSE(scan_decimal<std::uint64_t>("0.5", ','));
}

TEST_CASE("scan_decimal: what does not fit is refused, zeros always fit") {
  // 2^64 - 1 and 2^64.
  CHECK(scan_decimal<std::uint64_t>("18446744073709551615", '.')->digits ==
        UINT64_MAX);
  CHECK_FALSE(scan_decimal<std::uint64_t>("18446744073709551616", '.'));
  CHECK(scan_decimal<Int128>("18446744073709551616", '.')->digits == Int128{1}
                                                                         << 64);
  const auto many = scan_decimal<std::uint64_t>(
      "1" + std::string(500, '0') + "." + std::string(400, '0'), '.');
  REQUIRE(many);
  CHECK(many->digits == 1);
  CHECK(many->last_nonzero_place() == 500);
  CHECK_FALSE(scan_decimal<Int128>(std::string(1001, '0'), '.'));
  CHECK_FALSE(scan_decimal<Int128>("1e10000", '.'));
}

}  // namespace
}  // namespace clockassay
