// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_word.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <string>

using clockassay::Level;
using clockassay::parse_word;
using clockassay::word_prefix_radix;

namespace {

std::optional<std::uint64_t> bits(std::string_view cell, int radix) {
  const auto word = parse_word(cell, radix);
  return word ? std::optional(word->bits) : std::nullopt;
}

}  // namespace

TEST_CASE("parse_word: the base decides what the digits say") {
  CHECK(bits("01010010", 2) == 0x52);
  CHECK(bits("52", 16) == 0x52);
  CHECK(bits("52", 10) == 52);
  CHECK(bits("01010010", 10) == 1'010'010);
  CHECK(bits("01010010", 16) == 0x01010010);
  CHECK(bits("fF", 16) == 255);
  CHECK(bits("0", 10) == 0);
}

TEST_CASE("parse_word: a prefix states the base whatever the option says") {
  for (const int radix : {2, 10, 16}) CHECK(bits("0xA5", radix) == 0xA5);
  CHECK(bits("0b101", 2) == 5);
  CHECK(bits("0B101", 10) == 5);
  // In base 16 these are digits.
  CHECK(bits("0b101", 16) == 0x0b101);
  CHECK(word_prefix_radix("0x1") == 16);
  CHECK(word_prefix_radix("0b1") == 2);
  CHECK_FALSE(word_prefix_radix("0x").has_value());
  CHECK_FALSE(word_prefix_radix("10").has_value());
}

TEST_CASE("parse_word: the width is that of the digits written") {
  CHECK(parse_word("01010010", 2)->width == 8);
  CHECK(parse_word("0x052", 16)->width == 12);
  CHECK(parse_word("7", 10)->width == 8);
  CHECK(parse_word("255", 10)->width == 8);
  CHECK(parse_word("256", 10)->width == 16);
  CHECK(parse_word("65536", 10)->width == 32);
  CHECK(parse_word("4294967296", 10)->width == 64);
}

TEST_CASE("parse_word: 64 bits and no more") {
  CHECK(bits("FFFFFFFFFFFFFFFF", 16) == UINT64_MAX);
  CHECK(bits("18446744073709551615", 10) == UINT64_MAX);
  CHECK(bits(std::string(64, '1'), 2) == UINT64_MAX);
  // Zeros in front are no bits.
  CHECK(bits("0000FFFFFFFFFFFFFFFF", 16) == UINT64_MAX);
  CHECK(parse_word("0000FFFFFFFFFFFFFFFF", 16)->width == 64);
  CHECK_FALSE(bits("1FFFFFFFFFFFFFFFF", 16).has_value());
  CHECK_FALSE(bits("10000000000000000", 16).has_value());
  CHECK_FALSE(bits("18446744073709551616", 10).has_value());
  CHECK_FALSE(bits("1" + std::string(64, '0'), 2).has_value());
}

TEST_CASE("parse_word: digits x and z are unknown bits") {
  const auto hex = parse_word("Fx", 16);
  REQUIRE(hex.has_value());
  CHECK(hex->level(7) == Level::kHigh);
  CHECK(hex->level(3) == Level::kUnknown);
  const auto binary = parse_word("1z0", 2);
  REQUIRE(binary.has_value());
  CHECK(binary->level(2) == Level::kHigh);
  CHECK(binary->level(1) == Level::kUnknown);
  CHECK(binary->level(0) == Level::kLow);
  CHECK(parse_word("X", 10)->level(9) == Level::kUnknown);
}

TEST_CASE("parse_word: a first digit x or z says nothing of the bits above") {
  // As a value of a vector begins with x or z for all bits left of it (IEEE
  // Std 1364-2005, 18.2.1); a column of 8 bits may print "x" for all of them.
  struct Case {
    const char* cell;
    int radix;
    Level at_0;
    Level at_7;
  };
  for (const Case& c : {Case{"x", 16, Level::kUnknown, Level::kUnknown},
                        Case{"xF", 16, Level::kHigh, Level::kUnknown},
                        Case{"0xx", 16, Level::kUnknown, Level::kUnknown},
                        Case{"0xZ1", 16, Level::kHigh, Level::kUnknown},
                        Case{"z", 2, Level::kUnknown, Level::kUnknown},
                        Case{"x0", 2, Level::kLow, Level::kUnknown},
                        Case{"0bx1", 10, Level::kHigh, Level::kUnknown},
                        Case{"01x", 2, Level::kUnknown, Level::kLow}}) {
    CAPTURE(std::string(c.cell));
    const auto word = parse_word(c.cell, c.radix);
    REQUIRE(word.has_value());
    CHECK(word->level(0) == c.at_0);
    CHECK(word->level(7) == c.at_7);
  }
  CHECK(parse_word("xF", 16)->level(63) == Level::kUnknown);
  CHECK(parse_word(std::string(16, 'x'), 16)->level(63) == Level::kUnknown);
  CHECK_FALSE(parse_word(std::string(17, 'x'), 16).has_value());
}

TEST_CASE("parse_word: anything else is refused") {
  for (const char* cell :
       {"", "2", "12", "0b", "-1", "1.0", "1_0", "1 0", "b1", "h"}) {
    CAPTURE(std::string(cell));
    CHECK_FALSE(parse_word(cell, 2).has_value());
  }
  for (const char* cell : {"", "g", "0x", "52h", "-1", "5.2", "+5"}) {
    CAPTURE(std::string(cell));
    CHECK_FALSE(parse_word(cell, 16).has_value());
  }
  for (const char* cell : {"", "A", "1x", "-1", "1e3", "1.0"}) {
    CAPTURE(std::string(cell));
    CHECK_FALSE(parse_word(cell, 10).has_value());
  }
}

TEST_CASE("unread_word_hint: says which form is not read") {
  const auto hint = [](const char* cell) {
    return clockassay::unread_word_hint(cell);
  };
  const std::string sized =
      "words with their size and base in front, such as 8'b, are not read; "
      "write 0b or 0x in front instead";
  const std::string gaps =
      "words with a blank or _ between their digits are not read; write the "
      "digits without a gap";
  CHECK(hint("8'b0010") == sized);
  CHECK(hint("'h5A") == "");
  CHECK(hint("24h") ==
        "words with an h behind are not read; write 0x in front instead");
  CHECK(hint("$24") ==
        "words with $ in front are not read; write 0x in front instead");
  CHECK(hint("0010 1100") == gaps);
  CHECK(hint("0010_1100") == gaps);
  for (const char* cell : {"h", "high", "bach", "52", "a b", "$", "open"}) {
    CAPTURE(std::string(cell));
    CHECK(hint(cell).empty());
  }
}
