// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/decimal.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <cstdlib>
#include <random>
#include <string>

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

TEST_CASE("parse_decimal: the value is exact and the last place is known") {
  struct Row {
    const char* text;
    Rational value;
    int last_place;
  };
  const Row rows[] = {
      {"0", 0, 0},
      {"-0", 0, 0},
      {"12", 12, 0},
      {"+12", 12, 0},
      {"-12.50", ratio(-25, 2), -2},
      {"1.", 1, 0},
      {".5", ratio(1, 2), -1},
      {"1.250e-3", ratio(1, 800), -6},
      {"1E3", 1000, 3},
      {"1e+03", 1000, 3},
      {"0.1", ratio(1, 10), -1},
      {"007", 7, 0},
      {"0e5", 0, 5},
      {"0.000", 0, -3},
      // 19 digits, as a capture at epoch time has.
      {"1700000000.123456789", ratio(1700000000123456789, 1000000000), -9},
  };
  for (const Row& row : rows) {
    CAPTURE(row.text);
    const auto read = parse_decimal(row.text);
    REQUIRE(read.has_value());
    CHECK(read->value == row.value);
    CHECK(read->last_place == row.last_place);
  }
}

TEST_CASE("parse_decimal: anything but one whole number is refused") {
  for (const char* text :
       {"", ".", "+", "-", "-.", "e5", ".e5", "1e", "1e+", "1e1.0", "1.2.3",
        "--1", "+-1", " 1", "1 ", "1,5", "0x10", "1_000", "inf", "nan", "1f",
        "1e5e5", "\xD9\xA1" /* an Arabic-Indic one */}) {
    CAPTURE(text);
    CHECK_FALSE(parse_decimal(text).has_value());
  }
}

TEST_CASE("parse_decimal: an embedded zero byte is not the end") {
  CHECK_FALSE(parse_decimal(std::string_view("1\0", 2)).has_value());
}

TEST_CASE("parse_decimal: out of range is refused, extra zeros are not") {
  CHECK_FALSE(parse_decimal("1e400").has_value());
  CHECK_FALSE(parse_decimal("1e-400").has_value());
  CHECK_FALSE(parse_decimal("1e99999999999999999999").has_value());
  CHECK_FALSE(parse_decimal("0e99999999999999999999").has_value());
  // 2^126 is the first whole number that does not fit.
  CHECK(parse_decimal("85070591730234615865843651857942052863").has_value());
  CHECK_FALSE(
      parse_decimal("85070591730234615865843651857942052864").has_value());
  CHECK_FALSE(parse_decimal(std::string(60, '9')).has_value());
  const std::string zeros(60, '0');
  CHECK(parse_decimal("1." + zeros)->value == Rational(1));
  CHECK(parse_decimal("1." + zeros)->last_place == -60);
  CHECK(parse_decimal("1" + zeros + "e-60")->value == Rational(1));
  CHECK(parse_decimal(zeros + "1")->value == Rational(1));
  CHECK_FALSE(parse_decimal(std::string(2000, '0')).has_value());
}

TEST_CASE("parse_decimal: to_double agrees with strtod") {
  // strtod is correctly rounded (IEEE 754 requires it, glibc does it).
  constexpr std::uint64_t kSeed = 99;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (int i = 0; i < 5000; ++i) {
    std::string text = std::to_string(random() >> (random() % 50));
    text.insert(random() % text.size(), ".");
    text += "e" + std::to_string(static_cast<int>(random() % 31) - 15);
    CAPTURE(text);
    const auto read = parse_decimal(text);
    REQUIRE(read.has_value());
    CHECK(read->value.to_double() == std::strtod(text.c_str(), nullptr));
  }
}

}  // namespace
}  // namespace clockassay
